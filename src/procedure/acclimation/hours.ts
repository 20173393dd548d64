import { GRAINS_PER_UNIT, type Slice } from '../../count/index.ts';
import { DAY_MS, type DurationMs, dayStart, HOUR_MS, type InstantMs, localDate, MINUTE_MS } from '../../units/index.ts';
import { clockText } from './day.ts';
import type { LitHours } from './types.ts';

/** On-time within one hour of the clock, where all of it is known. */
export type CountedHour = { readonly hour: InstantMs; readonly onMs: DurationMs };

const OPEN_MS = MINUTE_MS;

/** What was seen, hour by hour; hours of which part was out of sight are left out. */
export function countedHours(slices: readonly Slice[]): readonly CountedHour[] {
  const hours = new Map<InstantMs, { onMs: number; openMs: number }>();
  const grains = GRAINS_PER_UNIT['on-hours'] / HOUR_MS;
  for (const { hour, measure, add } of slices) {
    if (measure !== 'on-hours') continue;
    const one = hours.get(hour) ?? { onMs: 0, openMs: 0 };
    hours.set(hour, { onMs: one.onMs + add.best / grains, openMs: one.openMs + (add.high - add.low) / grains });
  }
  return [...hours].flatMap(([hour, { onMs, openMs }]) => (openMs > OPEN_MS ? [] : [{ hour, onMs }]));
}

export const MOST_LIT_MS: DurationMs = 18 * HOUR_MS;

/** So far back ordinary days are looked for. */
export const USUAL_DAYS = 14;
const LEAST_DAYS = 5;
const ALIKE_SHARE = 0.8;
const ALIKE_MS = 10 * MINUTE_MS;
/** A relay takes its time, and a counted minute is rounded. */
const WHOLE_MS = HOUR_MS - 30_000;

type Stretch = { readonly from: InstantMs; readonly to: InstantMs };

/**
 * When the lamp is usually lit, from what was counted: of at least five days in the last fortnight, four in five alike
 * within ten minutes. Null with the reason where that cannot be said; it is then asked for, never guessed.
 */
export function usualHours(
  counted: readonly CountedHour[],
  now: InstantMs,
  zone: string,
): { readonly hours: LitHours; readonly days: number } | { readonly hours: null; readonly why: string } {
  const whole = stretchesOf(counted).filter(({ from, to }) => to <= now - HOUR_MS && from > now - USUAL_DAYS * DAY_MS);
  const byDay = new Map<string, Stretch[]>();
  for (const one of whole) {
    const date = localDate(one.from, zone);
    byDay.set(date, [...(byDay.get(date) ?? []), one]);
  }
  const days = [...byDay.values()].flatMap((list) => (list.length === 1 ? list : []));
  if (days.length < LEAST_DAYS)
    return {
      hours: null,
      why: `of the last ${USUAL_DAYS} days only ${days.length} show one plain stretch of light, and ${LEAST_DAYS} are needed`,
    };
  const begins = days.map(({ from }) => (from - dayStart(from, zone)) / MINUTE_MS);
  const onMinute = Math.round(median(begins));
  const litMs = Math.round(median(days.map(({ from, to }) => to - from)) / MINUTE_MS) * MINUTE_MS;
  const alike = days.filter(
    ({ from, to }, index) =>
      Math.abs((begins[index] ?? 0) - onMinute) * MINUTE_MS <= ALIKE_MS && Math.abs(to - from - litMs) <= ALIKE_MS,
  );
  if (alike.length < ALIKE_SHARE * byDay.size)
    return { hours: null, why: `only ${alike.length} of ${byDay.size} days were lit at the same hours` };
  if (litMs > MOST_LIT_MS) return { hours: null, why: 'it was lit for more than 18 h a day' };
  return { hours: { onMinute, litMs }, days: alike.length };
}

/** Runs of lit hours. The first and the last of a run may be part lit; of a single hour nobody knows which part. */
function stretchesOf(counted: readonly CountedHour[]): readonly Stretch[] {
  const sorted = counted.filter(({ onMs }) => onMs > 0).sort((a, b) => a.hour - b.hour);
  const runs: CountedHour[][] = [];
  for (const one of sorted) {
    const run = runs.at(-1);
    if (run !== undefined && run.at(-1)?.hour === one.hour - HOUR_MS) run.push(one);
    else runs.push([one]);
  }
  return runs.flatMap((run) => {
    const [first, last] = [run[0], run.at(-1)];
    if (first === undefined || last === undefined || first === last) return [];
    if (run.slice(1, -1).some(({ onMs }) => onMs < WHOLE_MS)) return [];
    return [{ from: first.hour + HOUR_MS - first.onMs, to: last.hour + last.onMs }];
  });
}

const median = (values: readonly number[]): number => {
  const sorted = [...values].sort((a, b) => a - b);
  const middle = Math.floor(sorted.length / 2);
  const upper = sorted[middle] ?? 0;
  return sorted.length % 2 === 1 ? upper : ((sorted[middle - 1] ?? upper) + upper) / 2;
};

/** `09:30-18:30`; over midnight is fine. Null where it is not that, or not between one minute and 18 hours. */
export function parseHours(text: string): LitHours | null {
  const match = /^([01]?\d|2[0-3]):([0-5]\d) *[-–] *([01]?\d|2[0-3]):([0-5]\d)$/.exec(text.trim());
  if (match === null) return null;
  const [, onHour, onMinute, offHour, offMinute] = match.map(Number);
  return hoursBetween((onHour ?? 0) * 60 + (onMinute ?? 0), (offHour ?? 0) * 60 + (offMinute ?? 0));
}

export function hoursBetween(onMinute: number, offMinute: number): LitHours | null {
  const litMs = ((offMinute - onMinute + 1440) % 1440) * MINUTE_MS;
  return litMs === 0 || litMs > MOST_LIT_MS ? null : { onMinute, litMs };
}

export const hoursText = ({ onMinute, litMs }: LitHours): string =>
  `${clockText(onMinute)}-${clockText(onMinute + litMs / MINUTE_MS)}`;
