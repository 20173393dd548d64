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

type Hours = Map<InstantMs, Bounds>;

function addTo(hours: Hours, { hour, add }: Pick<Slice, 'hour' | 'add'>): void {
  const { low, best, high } = hours.get(hour) ?? ZERO;
  hours.set(hour, { low: low + add.low, best: best + add.best, high: high + add.high });
}

/** Hours without a pause of which only the sum is known: what a meter went on by while nobody looked. */
type Stretch = { readonly from: InstantMs; to: InstantMs; readonly hours: Hours; hasProven: boolean };

function stretchesOf(assumed: readonly Slice[]): readonly Stretch[] {
  const stretches: Stretch[] = [];
  for (const slice of [...assumed].sort((a, b) => a.hour - b.hour)) {
    let open = stretches.at(-1);
    if (open === undefined || slice.hour > open.to) {
      open = { from: slice.hour, to: slice.hour, hours: new Map(), hasProven: false };
      stretches.push(open);
    }
    open.to = slice.hour + HOUR_MS;
    open.hasProven ||= slice.add.low > 0;
    addTo(open.hours, slice);
  }
  return stretches;
}

/** Of a stretch cut by a border: all of it may lie on either side, as far as the clock has room. */
function partOfStretch({ hours, from, to }: Stretch, measure: Measure, begin: InstantMs, end: InstantMs): Bounds {
  let sum = ZERO;
  let best = 0;
  for (const [hour, add] of hours) {
    sum = { low: sum.low + add.low, best: sum.best + add.best, high: sum.high + add.high };
    best += partOfHour(add, measure, hour, begin, end).best;
  }
  const insideMs = Math.min(to, end) - Math.max(from, begin);
  const isTime = measure === 'on-hours';
  const low = isTime ? Math.max(0, sum.low - (to - from - insideMs)) : 0;
  const high = isTime ? Math.min(sum.high, insideMs) : sum.high;
  return { low, best: Math.min(high, Math.max(low, best)), high };
}

/**
 * Booked usage between two moments, in units. Slices know the hour, not the minute: of an hour cut by a border low takes
 * what must lie inside, high what may, best its share by time. The same holds of a gap that a meter spans, as long as its
 * slices before the border are given too.
 */
export function usageBetween(slices: readonly Slice[], measure: Measure, from: InstantMs, to: InstantMs): Bounds {
  const wanted = slices.filter((slice) => slice.measure === measure);
  const hours: Hours = new Map();
  for (const slice of wanted) if (slice.origin !== 'assumed') addTo(hours, slice);
  const parts: Bounds[] = [];
  for (const stretch of stretchesOf(wanted.filter(({ origin }) => origin === 'assumed'))) {
    const isCut = [from, to].some((border) => stretch.from < border && border < stretch.to);
    if (isCut && stretch.hasProven) parts.push(partOfStretch(stretch, measure, from, to));
    else for (const [hour, add] of stretch.hours) addTo(hours, { hour, add });
  }
  for (const [hour, add] of hours) parts.push(partOfHour(add, measure, hour, from, to));
  const sum = (pick: (part: Bounds) => number): number => parts.reduce((total, part) => total + pick(part), 0);
  return inUnits(measure, {
    low: sum((part) => part.low),
    best: sum((part) => part.best),
    high: sum((part) => part.high),
  });
}

/** So far before a border slices are wanted, that a gap across it is seen whole. */
export const LOOK_BACK_MS = 31 * DAY_MS;

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
