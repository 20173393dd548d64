import type { Bounds, CounterDef, Measure, Origin, Usage } from '../model/index.ts';
import { ZERO } from '../model/index.ts';
import { DAY_MS, HOUR_MS, type InstantMs } from '../units/index.ts';
import { project } from './fold.ts';
import { GRAINS_PER_UNIT, inUnits } from './grains.ts';
import type { CounterState, Slice } from './types.ts';

const minus = (a: Bounds, b: Bounds): Bounds => ({
  low: Math.max(0, a.low - b.low),
  best: Math.max(0, a.best - b.best),
  high: Math.max(0, a.high - b.high),
});

/**
 * Usage at `now`, of the whole life of the counter or since a moment whose amounts (from `project`) were kept as baseline.
 * Bounds are subtracted one by one: what is added after a moment does not depend on what was doubtful before it.
 */
export function usageOf(
  def: CounterDef,
  state: CounterState,
  measure: Measure,
  now: InstantMs,
  baseline: Bounds = ZERO,
): Usage {
  const amount = project(def, state, now)[measure] ?? ZERO;
  return { ...minus(amount, baseline), measure, countingSince: state.countingSince };
}

/** Days by the clock: known exactly as soon as the beginning is. */
export function daysSince(from: InstantMs | null, now: InstantMs): Usage {
  const days = from === null ? 0 : Math.max(0, now - from) / DAY_MS;
  return { low: days, best: days, high: days, measure: 'days', countingSince: from };
}

/** Part of an hour's add that falls into [from, to): proven, likely, possible. Time cannot exceed the clock. */
function partOfHour(add: Bounds, measure: Measure, hour: InstantMs, from: InstantMs, to: InstantMs): Bounds {
  const insideMs = Math.min(to, hour + HOUR_MS) - Math.max(from, hour);
  if (insideMs <= 0) return ZERO;
  if (insideMs >= HOUR_MS) return add;
  const share = insideMs / HOUR_MS;
  if (measure !== 'on-hours') return { low: 0, best: add.best * share, high: add.high };
  const low = Math.max(0, add.low - (HOUR_MS - insideMs));
  const high = Math.min(add.high, insideMs);
  return { low, best: Math.min(high, Math.max(low, add.best * share)), high };
}

function sumByHour(slices: readonly Slice[], measure: Measure): ReadonlyMap<InstantMs, Bounds> {
  const hours = new Map<InstantMs, Bounds>();
  for (const slice of slices) {
    if (slice.measure !== measure) continue;
    const { low, best, high } = hours.get(slice.hour) ?? ZERO;
    hours.set(slice.hour, { low: low + slice.add.low, best: best + slice.add.best, high: high + slice.add.high });
  }
  return hours;
}

/**
 * Booked usage between two moments, in units. Slices know the hour, not the minute: of an hour cut by a border low takes
 * what must lie inside, high what may, best its share by time.
 */
export function usageBetween(slices: readonly Slice[], measure: Measure, from: InstantMs, to: InstantMs): Bounds {
  let low = 0;
  let best = 0;
  let high = 0;
  for (const [hour, add] of sumByHour(slices, measure)) {
    const part = partOfHour(add, measure, hour, from, to);
    low += part.low;
    best += part.best;
    high += part.high;
  }
  return inUnits(measure, { low, best, high });
}

export function usageSince(slices: readonly Slice[], measure: Measure, from: InstantMs): Bounds {
  return usageBetween(slices, measure, from, Number.MAX_SAFE_INTEGER);
}

export type WhyRow = Bounds & { readonly from: InstantMs; readonly to: InstantMs; readonly origin: Origin };

/** Stretches of the same origin without a pause, oldest first, in units: what a usage is made of. */
export function whyRows(slices: readonly Slice[], measure: Measure): readonly WhyRow[] {
  const per = GRAINS_PER_UNIT[measure];
  const rows: { from: number; to: number; origin: Origin; low: number; best: number; high: number }[] = [];
  const open = new Map<Origin, (typeof rows)[number]>();
  const wanted = slices.filter((slice) => slice.measure === measure).sort((a, b) => a.hour - b.hour);
  for (const { hour, origin, add } of wanted) {
    let row = open.get(origin);
    if (row === undefined || hour > row.to) {
      row = { from: hour, to: hour, origin, low: 0, best: 0, high: 0 };
      open.set(origin, row);
      rows.push(row);
    }
    row.to = hour + HOUR_MS;
    row.low += add.low;
    row.best += add.best;
    row.high += add.high;
  }
  return rows.map((row) => ({ ...row, low: row.low / per, best: row.best / per, high: row.high / per }));
}
