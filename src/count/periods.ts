import type { Bounds, CounterDef, Measure } from '../model/index.ts';
import { dayStart, type InstantMs, monthStart, weekStart } from '../units/index.ts';
import { pass, thaw } from './counter.ts';
import { drainSlices } from './ledger.ts';
import type { CounterState, Slice } from './types.ts';
import { usageBetween } from './usage.ts';

/** `lifetime`: since counting began. A moment: since the last service, or any other. */
export type Period = 'today' | 'week' | 'month' | 'lifetime' | { readonly since: InstantMs };

export type PeriodUsage = Bounds & { readonly from: InstantMs };

/**
 * What has passed since the last observation, by hours and without changing the state: to be put beside the slices that are
 * stored, since a lamp that has been lit all day has booked nothing of it yet.
 */
export function passedSlices(def: CounterDef, state: CounterState, now: InstantMs): readonly Slice[] {
  const copy = thaw(def, state);
  pass(copy, Math.max(now, state.lastAt ?? now));
  return copy.ledgers.flatMap((ledger) => drainSlices(ledger, copy.id));
}

/**
 * Usage of a period that ends now, cut in the zone: days of 23, 24.5 or 25 hours are as long as they are. What was booked
 * was observed by the hub's clock, so where ours is behind, the period is that of the newest booked hour: a host that
 * starts in the past does not take a year's usage for today's.
 */
export function periodUsage(
  slices: readonly Slice[],
  measure: Measure,
  period: Period,
  now: InstantMs,
  zone: string,
): PeriodUsage {
  const from = startOf(slices, measure, period, now, zone);
  return { ...usageBetween(slices, measure, from, Number.MAX_SAFE_INTEGER), from };
}

function startOf(slices: readonly Slice[], measure: Measure, period: Period, now: InstantMs, zone: string): InstantMs {
  if (typeof period === 'object') return period.since;
  const hours = slices.filter((slice) => slice.measure === measure).map(({ hour }) => hour);
  const present = hours.reduce((latest, hour) => Math.max(latest, hour), now);
  if (period === 'today') return dayStart(present, zone);
  if (period === 'week') return weekStart(present, zone);
  if (period === 'month') return monthStart(present, zone);
  return hours.reduce((earliest, hour) => Math.min(earliest, hour), present);
}
