import { foldObservations, initialStates, project } from '../count/index.ts';
import type { Bounds, Carried, CounterDef, Measure, Origin } from '../model/index.ts';
import type { Observation } from '../observe/index.ts';
import { HOUR_MS, type InstantMs } from '../units/index.ts';
import { mostPerHour, ordered } from './usage.ts';

export type PastInput = {
  readonly def: CounterDef;
  /** What the hub still has of the source, in order of time. */
  readonly rows: readonly Observation[];
  readonly from: InstantMs;
  /** Where counting took over. */
  readonly to: InstantMs;
};

/**
 * What a counter would have counted between two moments, from what the hub still knows: its rows through the same fold.
 * Before the first of them nobody saw anything: nothing at least, all the source can do at most, best as in the time seen.
 */
export const pastOf = ({ def, rows, from, to }: PastInput): Readonly<Partial<Record<Measure, Carried>>> => {
  const held = rows.findLast((row) => row.at <= from);
  const inside = [
    ...(held === undefined ? [] : [{ ...held, at: from }]),
    ...rows.filter((row) => row.at > from && row.at < to),
  ];
  const state = foldObservations([def], initialStates([def]), inside).states.get(def.id);
  if (state === undefined || state.countingSince === null) return {};
  const since = state.countingSince;
  const origin: Origin = inside.some((row) => row.origin === 'statistics') ? 'statistics' : 'history';
  const past: Partial<Record<Measure, Carried>> = {};
  for (const [measure, seen] of Object.entries(project(def, state, to)) as [Measure, Bounds][]) {
    const unseenHours = (since - from) / HOUR_MS;
    const seenHours = (to - since) / HOUR_MS;
    const most = mostPerHour(def, measure) * unseenHours;
    const likely = seenHours > 0 ? Math.min(most, (seen.best / seenHours) * unseenHours) : 0;
    past[measure] = {
      ...ordered({ low: seen.low, best: seen.best + likely, high: seen.high + most }),
      until: to,
      origin,
    };
  }
  return past;
};
