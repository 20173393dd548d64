import { inUnits, type Slice } from '../count/index.ts';
import type { DurationMs, InstantMs } from '../units/index.ts';
import { DAY_MS, HOUR_MS } from '../units/index.ts';

/** Days a rate is taken from: four whole weeks, so that every weekday weighs the same. */
export const RATE_DAYS = 28;
/** Days that seasons are learned from: two years, so that each is seen twice. */
export const SEASON_DAYS = 728;

/**
 * Best-figure use of each of the last `days` whole 24-hour periods before `now`, oldest first. Days before counting began
 * are left out rather than taken as days without use. Rates need equal lengths, so these are not calendar days.
 */
export const dailyUseOf = (
  slices: readonly Pick<Slice, 'hour' | 'measure' | 'add'>[],
  countingSince: InstantMs | null,
  now: InstantMs,
  days: number = RATE_DAYS,
): readonly number[] => {
  if (countingSince === null) return [];
  // An hour still being filled would make the newest day look idle: the window ends at the last full hour.
  const end = now - (now % HOUR_MS);
  const known = Math.min(days, Math.floor((end - countingSince) / DAY_MS));
  if (known <= 0) return [];
  const use = new Array<number>(known).fill(0);
  for (const { hour, measure, add } of slices) {
    const index = known - 1 - Math.floor((end - 1 - hour) / DAY_MS);
    if (hour < end && index >= 0) use[index] = (use[index] ?? 0) + inUnits(measure, add).best;
  }
  return use;
};

/** Amounts a day: `low` and `high` hold eight of ten weeks like those seen. */
export type DailyRate = { readonly low: number; readonly likely: number; readonly high: number };

const WEEK = 7;
/** Fewer days than this say nothing of a rate. */
const LEAST_DAYS = 3;

/** Linear quantile of an ascending list. */
const quantile = (sorted: readonly number[], q: number): number => {
  const place = (sorted.length - 1) * q;
  const below = sorted[Math.floor(place)] ?? 0;
  const above = sorted[Math.ceil(place)] ?? below;
  return below + (above - below) * (place - Math.floor(place));
};

/**
 * Means over seven days smooth the week (a closed Sunday is not a falling rate); their median is little moved by one odd
 * week. Less than a week gives the span of the days themselves. Null: too little seen.
 */
export const dailyRate = (dailyUse: readonly number[]): DailyRate | null => {
  if (dailyUse.length < LEAST_DAYS) return null;
  const mean = (list: readonly number[]): number => list.reduce((sum, n) => sum + n, 0) / list.length;
  if (dailyUse.length < WEEK)
    return { low: Math.min(...dailyUse), likely: mean(dailyUse), high: Math.max(...dailyUse) };
  const weeks: number[] = [];
  for (let i = 0; i + WEEK <= dailyUse.length; i += 1) weeks.push(mean(dailyUse.slice(i, i + WEEK)));
  weeks.sort((a, b) => a - b);
  return { low: quantile(weeks, 0.1), likely: quantile(weeks, 0.5), high: quantile(weeks, 0.9) };
};

/** Beyond this nothing is foretold; dates are cut here. */
export const HORIZON_MS: DurationMs = 10 * 365 * DAY_MS;
