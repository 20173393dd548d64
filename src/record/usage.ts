import {
  type CounterState,
  hasOpenPast,
  LOOK_BACK_MS,
  SHORTEST_ACTUATION_MS,
  SHORTEST_CYCLE_MS,
  SHORTEST_PULSE_MS,
  type Slice,
  usageSince,
} from '../count/index.ts';
import type { Bounds, CounterDef, CounterId, Measure, Part, PartLife, Usage } from '../model/index.ts';
import { ZERO } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { DAY_MS, HOUR_MS } from '../units/index.ts';

/** A counter as it was last folded, and as it stands now with the time since then added (`project`). */
export type CounterView = {
  readonly def: CounterDef;
  readonly folded: CounterState;
  readonly projected: CounterState;
  /** The same time by hours, to be put beside the stored slices. */
  readonly passed?: () => readonly Slice[];
};

export type UsageSources = {
  readonly counters: ReadonlyMap<CounterId, CounterView>;
  /** Asked only for a part fitted while its counter ran but without a baseline. Oldest first, from the hour of `from`. */
  readonly slices: (counter: CounterId, measure: Measure, from: InstantMs) => readonly Slice[];
};

export const plus = (a: Bounds, b: Bounds): Bounds => ({
  low: a.low + b.low,
  best: a.best + b.best,
  high: a.high + b.high,
});
const minus = (a: Bounds, b: Bounds): Bounds => ({ low: a.low - b.low, best: a.best - b.best, high: a.high - b.high });

/** Never below zero and always low ≤ best ≤ high: rounding and crossed baselines may break both by a hair. */
export const ordered = ({ low, best, high }: Bounds): Bounds => {
  const least = Math.max(0, Math.min(low, high));
  const most = Math.max(least, high);
  return { low: least, best: Math.min(most, Math.max(least, best)), high: most };
};

const amountOf = (state: CounterState, measure: Measure): Bounds => state.amounts[measure] ?? ZERO;

/** What has passed since the last observation, by the projection. */
const tailOf = (view: CounterView, measure: Measure): Bounds =>
  minus(amountOf(view.projected, measure), amountOf(view.folded, measure));

const countersOf = (part: Part): readonly (readonly [Measure, CounterId])[] =>
  Object.entries(part.usageFrom).map(([measure, counter]) => [measure as Measure, counter] as const);

/**
 * Baseline for a part fitted at `fittedAt`. Usage of a life is the counters' amounts less this; since every later
 * addition raises all three bounds, the difference bounds what was added since. The stretch between the last observation
 * and the fitting is the delicate part: once the hub's history arrives it may turn out anywhere between the tail's
 * bounds, so they are taken off crosswise (most from low, least from high).
 */
export const baselineOf = (
  part: Part,
  fittedAt: InstantMs,
  now: InstantMs,
  sources: UsageSources,
): NonNullable<PartLife['baseline']> => {
  const baseline: Record<CounterId, Partial<Record<Measure, Bounds>>> = {};
  for (const [measure, counter] of countersOf(part)) {
    const view = sources.counters.get(counter);
    const since = view?.folded.countingSince;
    if (view === undefined || since === null || since === undefined || fittedAt < since) continue;
    const folded = amountOf(view.folded, measure);
    const lastAt = view.folded.lastAt ?? since;
    baseline[counter] ??= {};
    if (fittedAt >= lastAt) {
      // Nothing was observed since, so the tail grows evenly (a held reading that lapses makes these bounds wider only).
      const tail = tailOf(view, measure);
      const share = now > lastAt ? Math.min(1, (fittedAt - lastAt) / (now - lastAt)) : 1;
      // What is not booked yet though it came before belongs to the old part, however early in the tail the new one was fitted.
      const most = hasOpenPast(view.folded) ? 1 : share;
      baseline[counter][measure] = {
        low: folded.low + tail.high * most,
        best: folded.best + tail.best * share,
        high: folded.high + tail.low * share,
      };
    } else {
      const added = usageSince(sources.slices(counter, measure, fittedAt - LOOK_BACK_MS), measure, fittedAt);
      baseline[counter][measure] = minus(folded, added);
    }
  }
  return baseline;
};

/** The most an hour can add by what the source can do at all, in the measure's unit. */
export const mostPerHour = (def: CounterDef, measure: Measure): number => {
  const { source } = def;
  if (measure === 'on-hours') return 1;
  if (measure === 'starts') {
    const cycleMs = source.kind === 'power-threshold' ? source.minOnMs + source.minOffMs : 0;
    return HOUR_MS / (cycleMs > 0 ? cycleMs : SHORTEST_CYCLE_MS);
  }
  if (source.kind === 'total') return source.maxPerHour;
  if (source.kind === 'runtime-rate') return source.litresPerHour;
  if (source.kind === 'held-power') return source.maxPowerW / 1000;
  if (source.kind === 'dissolved') return (source.maxPerHour * source.maxTdsMgPerL) / 1000;
  if (source.kind === 'edges') return HOUR_MS / (source.shortestMs ?? SHORTEST_ACTUATION_MS);
  return source.kind === 'pulses' ? (HOUR_MS / SHORTEST_PULSE_MS) * source.litresPerPulse : 0;
};

/**
 * Before counting began nobody looked, so the bounds rest on habit: the past was at most this many times as busy as the
 * time counted since, and never busier than the source can be. What the source can do alone would call every older part
 * due on the first day. On-hours need no habit: the clock bounds them.
 */
const HABIT_FACTOR = 4;
/** A heater that rests all summer has a past all the same. */
const LEAST_STARTS_PER_HOUR = 1;
/** Less than this shows no habit. */
const HABIT_MS = DAY_MS;

/** What may have been used before counting began: low 0, best by the mean rate seen since. Null while no habit is known. */
const unseenPast = (
  view: CounterView,
  measure: Measure,
  unseenMs: number,
  countedMs: number,
  counted: Bounds,
): Bounds | null => {
  if (unseenMs <= 0) return ZERO;
  if (countedMs < HABIT_MS && unseenMs >= HABIT_MS) return null;
  const unseenHours = unseenMs / HOUR_MS;
  const mean = countedMs > 0 ? counted.best / (countedMs / HOUR_MS) : 0;
  const habit = Math.max(HABIT_FACTOR * mean, measure === 'starts' ? LEAST_STARTS_PER_HOUR : 0);
  const possible = mostPerHour(view.def, measure);
  const most = measure === 'on-hours' ? possible : Math.min(possible, habit);
  return ordered({ low: 0, best: Math.min(mean, most) * unseenHours, high: most * unseenHours });
};

const countedUsage = (
  part: Part,
  life: PartLife | null,
  now: InstantMs,
  measure: Measure,
  sources: UsageSources,
): Usage => {
  const counter = part.usageFrom[measure];
  const view = counter === undefined ? undefined : sources.counters.get(counter);
  const since = view?.projected.countingSince ?? null;
  const carried = life?.carried?.[measure];
  const isFirst = life === null || life.number === 1;
  // What was carried in, or said later, stands over what the configuration says of the first one.
  const before = isFirst && carried === undefined ? part.usedBefore[measure] : undefined;
  const worn = plus(carried ?? ZERO, before === undefined ? ZERO : { low: before, best: before, high: before });
  const countedFrom = carried?.until ?? life?.fittedAt ?? null;
  if (view === undefined || since === null || counter === undefined) return { measure, ...worn, countingSince: null };
  const total = amountOf(view.projected, measure);
  const baseline = life?.baseline?.[counter]?.[measure];
  const usage = (bounds: Bounds, countingSince: InstantMs): Usage => ({
    measure,
    ...ordered(plus(bounds, worn)),
    countingSince,
  });
  if (life !== null && baseline !== undefined) return usage(ordered(minus(total, baseline)), life.fittedAt);
  if (life !== null && countedFrom !== null && countedFrom > since) {
    const added = usageSince(sources.slices(counter, measure, countedFrom - LOOK_BACK_MS), measure, countedFrom);
    return usage(plus(added, tailOf(view, measure)), life.fittedAt);
  }
  // The keeper's word covers the past; without a date there is no past to reckon with, and the standing says so.
  if (life === null || countedFrom === null || before !== undefined) return usage(total, since);
  const past = unseenPast(view, measure, since - countedFrom, now - since, total);
  return past === null ? { measure, ...plus(total, worn), countingSince: null } : usage(plus(total, past), since);
};

/**
 * Usage of a part in one life, for each measure it has a limit on or a counter for. Days run exactly from the fitting.
 * `countingSince` null: nothing was ever seen, or too little to judge a long unseen past by, or, for days, nobody said when
 * the part was fitted.
 */
export const lifeUsage = (
  part: Part,
  life: PartLife | null,
  now: InstantMs,
  sources: UsageSources,
): readonly Usage[] => {
  const measures = new Set<Measure>(part.limits.map((limit) => limit.measure));
  for (const [measure] of countersOf(part)) measures.add(measure);
  return [...measures].map((measure) =>
    measure === 'days' ? ageOf(part, life, now) : countedUsage(part, life, now, measure, sources),
  );
};

const ageOf = (part: Part, life: PartLife | null, now: InstantMs): Usage => {
  if (life === null) return { measure: 'days', ...ZERO, countingSince: null };
  const before = life.number === 1 ? (part.usedBefore.days ?? 0) : 0;
  const worn: Bounds = life.carried?.days ?? { low: before, best: before, high: before };
  const days = Math.max(0, now - life.fittedAt) / DAY_MS;
  return { measure: 'days', ...plus({ low: days, best: days, high: days }, worn), countingSince: life.fittedAt };
};

/** Usage at an earlier fitting: what the old part had when the new one, fitted in the past, took over. */
export const usageBefore = (whole: Usage, since: Usage): Bounds =>
  ordered({ low: whole.low - since.high, best: whole.best - since.best, high: whole.high - since.low });
