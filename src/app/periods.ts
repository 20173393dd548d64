import { type CounterState, LOOK_BACK_MS, periodUsage } from '../count/index.ts';
import {
  type Bounds,
  type CounterId,
  MEASURE_UNITS,
  type Measure,
  type Part,
  type PartLife,
  ZERO,
} from '../model/index.ts';
import { type CounterView, lifeUsage, mostPerHour, type UsageSources } from '../record/index.ts';
import { dayStart, HOUR_MS, type InstantMs, monthStart, weekStart } from '../units/index.ts';
import type { Period, PeriodUsage } from './keeper-types.ts';

type Cut = Exclude<Period, 'service' | 'lifetime'>;

const START: Readonly<Record<Cut, (at: InstantMs, zone: string) => InstantMs>> = {
  today: dayStart,
  week: weekStart,
  month: monthStart,
};

export type PeriodInput = {
  readonly part: Part;
  readonly life: PartLife | null;
  readonly period: Period;
  readonly now: InstantMs;
  readonly zone: string;
  readonly sources: UsageSources;
};

/** Use of a part's counters in a period that is cut in the tank's own zone. */
export function usageInPeriod(input: PeriodInput): PeriodUsage {
  const { part, life, period, now, zone, sources } = input;
  const told = { part: part.id, name: part.name, period };
  if (period === 'service') {
    const measures = lifeUsage(part, life, now, sources).map((usage) => ({
      ...usage,
      unit: MEASURE_UNITS[usage.measure],
    }));
    return { ...told, from: life?.fittedAt ?? null, measures };
  }
  const counted = (Object.entries(part.usageFrom) as [Measure, CounterId][]).flatMap(([measure, counter]) => {
    const view = sources.counters.get(counter);
    return view === undefined ? [] : [{ measure, counter, view }];
  });
  if (period === 'lifetime') {
    const since = counted.map(({ view }) => view.projected.countingSince).filter((at) => at !== null);
    const measures = counted.map(({ measure, view }) => ({
      measure,
      ...amount(view.projected, measure),
      countingSince: view.projected.countingSince,
      unit: MEASURE_UNITS[measure],
    }));
    return { ...told, from: since.length === 0 ? null : Math.min(...since), measures };
  }
  const measures = counted.map(({ measure, counter, view }) => {
    const start = START[period](now, zone);
    // A gap across the start of the period is seen whole: what it hides may all lie on either side.
    const slices = [...sources.slices(counter, measure, start - LOOK_BACK_MS), ...(view.passed?.() ?? [])];
    const { from, low, best, high } = periodUsage(slices, measure, period, now, zone);
    const since = view.projected.countingSince;
    return {
      from,
      measure,
      low,
      best,
      high: high + unseen(view, measure, since, from, now),
      countingSince: since === null ? null : Math.max(since, from),
      unit: MEASURE_UNITS[measure],
    };
  });
  const starts = measures.map(({ from }) => from);
  return {
    ...told,
    from: starts.length === 0 ? START[period](now, zone) : Math.max(...starts),
    measures: measures.map(({ from: _, ...rest }) => rest),
  };
}

const amount = (state: CounterState, measure: Measure): Bounds => state.amounts[measure] ?? ZERO;

/** A period that began before counting did has hours nobody looked at. */
function unseen(view: CounterView, measure: Measure, since: InstantMs | null, from: InstantMs, now: InstantMs): number {
  const until = since === null ? now : Math.min(now, since);
  return until <= from ? 0 : (mostPerHour(view.def, measure) * (until - from)) / HOUR_MS;
}
