import type { DurationMs, InstantMs } from '../units/index.ts';
import { DAY_MS } from '../units/index.ts';
import { bandOf, type Steadiness, steadinessOf } from './calibration.ts';
import { type Outlook, outlook } from './season-model.ts';

/** Weeks looked ahead one by one; beyond, use goes on as in the last year of them. */
const WEEKS_AHEAD = 104;
const YEAR_WEEKS = 52;
const WEEK = 7;
const YEAR_MS = 365.25 * DAY_MS;
/** Weeks from which the shape of a week is taken. */
const SHAPE_WEEKS = 12;
const ALIKE_WEEKS = 4;

export type UseOutlook = {
  /** Time until so much more is used; may be infinite. */
  timeFor(amount: number, which: Which): DurationMs;
  /** Days of use it rests on. */
  readonly days: number;
  readonly total: Outlook;
  readonly steadiness: Steadiness;
};

export type Which = 'early' | 'likely' | 'late';

/**
 * What the coming weeks will use, from daily use (oldest first) that ends at `endsAt`. Null: less than a week was seen, or
 * nothing was used lately.
 */
export function useOutlook(dailyUse: readonly number[], endsAt: InstantMs): UseOutlook | null {
  const count = Math.floor(dailyUse.length / WEEK);
  if (count === 0) return null;
  const days = dailyUse.slice(dailyUse.length - count * WEEK);
  const use = Array.from({ length: count }, (_, week) => sum(days.slice(week * WEEK, (week + 1) * WEEK)));
  const angleOf = (weeksFromNow: number): number => (2 * Math.PI * (endsAt + weeksFromNow * WEEK * DAY_MS)) / YEAR_MS;
  const shape = weekShape(days, count);
  const ahead = Array.from({ length: WEEKS_AHEAD }, (_, week) => angleOf(week + 0.5));
  const angles = use.map((_, week) => angleOf(week - count + 0.5));
  const made = evenly(use) ?? outlook({ use, angles }, WEEK * scatter(days, shape, use), ahead);
  const steadiness = steadinessOf(use);
  const curveAt = (which: Which): Float64Array =>
    curve(made, (week) => bandOf(steadiness, dailyUse.length, week)[which]);
  const curves = { early: curveAt('early'), likely: curveAt('likely'), late: curveAt('late') };
  return {
    timeFor: (amount, which) => timeOn(curves[which], shape, amount),
    days: dailyUse.length,
    total: made,
    steadiness,
  };
}

/** A device that never rests, or keeps to its timer: every week alike foretells the same for all weeks, with nothing to learn. */
function evenly(use: readonly number[]): Outlook | null {
  const [first = 0] = use;
  if (use.length < ALIKE_WEEKS || use.some((week) => Math.abs(week - first) > 1e-9 * first)) return null;
  const mean = Float64Array.from({ length: WEEKS_AHEAD }, (_, week) => (week + 1) * first);
  return { mean, spread: new Float64Array(WEEKS_AHEAD), season: new Float64Array(WEEKS_AHEAD).fill(1), swing: 0 };
}

const sum = (list: readonly number[]): number => list.reduce((total, one) => total + one, 0);

/** Share of a week's use that is gone after 0, 1, … 7 days of it. */
function weekShape(days: readonly number[], count: number): readonly number[] {
  const recent = days.slice(-Math.min(count, SHAPE_WEEKS) * WEEK);
  const total = sum(recent);
  const gone = [0];
  for (let day = 0; day < WEEK; day += 1) {
    const own = total > 0 ? sum(recent.filter((_, index) => index % WEEK === day)) / total : 1 / WEEK;
    gone.push((gone[day] ?? 0) + own);
  }
  gone[WEEK] = 1;
  return gone;
}

/** Variance of a day about the week's shape. */
function scatter(days: readonly number[], shape: readonly number[], use: readonly number[]): number {
  let squares = 0;
  days.forEach((value, index) => {
    const day = index % WEEK;
    const expected = (use[Math.floor(index / WEEK)] ?? 0) * ((shape[day + 1] ?? 0) - (shape[day] ?? 0));
    squares += (value - expected) ** 2;
  });
  return days.length > WEEK ? squares / days.length : varianceOf(days);
}

function varianceOf(list: readonly number[]): number {
  const mean = sum(list) / list.length;
  return sum(list.map((one) => (one - mean) ** 2)) / list.length;
}

/** Totals after each week at one edge of the band; never falling. */
function curve({ mean, spread }: Outlook, edge: (week: number) => number): Float64Array {
  const totals = new Float64Array(mean.length + 1);
  for (let week = 1; week <= mean.length; week += 1) {
    const total = (mean[week - 1] ?? 0) * Math.exp(edge(week) * (spread[week - 1] ?? 0));
    totals[week] = Math.max(total, totals[week - 1] ?? 0);
  }
  return totals;
}

function timeOn(totals: Float64Array, shape: readonly number[], amount: number): DurationMs {
  if (amount <= 0) return 0;
  let low = 0;
  let high = totals.length - 1;
  const most = totals[high] ?? 0;
  if (most < amount) {
    const aWeek = (most - (totals[high - YEAR_WEEKS] ?? 0)) / YEAR_WEEKS;
    return (high + (amount - most) / aWeek) * WEEK * DAY_MS;
  }
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((totals[middle] ?? 0) < amount) low = middle;
    else high = middle;
  }
  const from = totals[low] ?? 0;
  return (low * WEEK + dayInWeek(shape, (amount - from) / ((totals[high] ?? 0) - from))) * DAY_MS;
}

function dayInWeek(shape: readonly number[], share: number): number {
  for (let day = 0; day < WEEK; day += 1) {
    const [before, after] = [shape[day] ?? 0, shape[day + 1] ?? 1];
    if (after >= share && after > before) return day + (share - before) / (after - before);
  }
  return WEEK;
}
