import { type CounterState, usageBetween } from '../count/index.ts';
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
  const { part, life, period, now, sources } = input;
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
  const from = START[period](now, input.zone);
  const measures = counted.map(({ measure, counter, view }) => {
    const booked = usageBetween(sources.slices(counter, measure, from), measure, from, now);
    const tail = tailSince(view, measure, from, now);
    const since = view.projected.countingSince;
    return {
      measure,
      low: booked.low + tail.low,
      best: booked.best + tail.best,
      high: booked.high + tail.high + unseen(view, measure, since, from, now),
      countingSince: since === null ? null : Math.max(since, from),
      unit: MEASURE_UNITS[measure],
    };
  });
  return { ...told, from, measures };
}

const amount = (state: CounterState, measure: Measure): Bounds => state.amounts[measure] ?? ZERO;

/** What has passed since the last observation and is not booked yet, as far as it lies in the period. */
function tailSince(view: CounterView, measure: Measure, from: InstantMs, now: InstantMs): Bounds {
  const [folded, projected] = [amount(view.folded, measure), amount(view.projected, measure)];
  const tail = {
    low: projected.low - folded.low,
    best: projected.best - folded.best,
    high: projected.high - folded.high,
  };
  const lastAt = view.folded.lastAt ?? now;
  if (lastAt >= from || now <= lastAt) return tail;
  const before = (from - lastAt) / HOUR_MS;
  const inside = (now - from) / HOUR_MS;
  const most = mostPerHour(view.def, measure);
  return {
    low: Math.max(0, tail.low - most * before),
    best: (tail.best * inside) / (before + inside),
    high: Math.min(tail.high, most * inside),
  };
}

/** A period that began before counting did has hours nobody looked at. */
function unseen(view: CounterView, measure: Measure, since: InstantMs | null, from: InstantMs, now: InstantMs): number {
  const until = since === null ? now : Math.min(now, since);
  return until <= from ? 0 : (mostPerHour(view.def, measure) * (until - from)) / HOUR_MS;
}
