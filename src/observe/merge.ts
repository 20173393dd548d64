import { ORIGINS } from '../model/index.ts';
import type { Observation } from './types.ts';

/** Of two that claim the same entity and moment: a value before a gap, then the better origin, then the smaller value. */
function rank(a: Observation, b: Observation): number {
  if ((a.value === null) !== (b.value === null)) return a.value === null ? 1 : -1;
  const origins = ORIGINS.indexOf(a.origin) - ORIGINS.indexOf(b.origin);
  return origins !== 0 ? origins : (a.value ?? 0) - (b.value ?? 0);
}

function byTime(a: Observation, b: Observation): number {
  if (a.at !== b.at) return a.at - b.at;
  if (a.entity !== b.entity) return a.entity < b.entity ? -1 : 1;
  return rank(a, b);
}

/**
 * Several streams (live, history, several entities) as one, in order of time, each entity and moment once. The outcome
 * depends on what was delivered, not on how it was cut into streams or in which order they came.
 */
export function mergeByTime(streams: readonly (readonly Observation[])[]): readonly Observation[] {
  const sorted = streams.flat().sort(byTime);
  return sorted.filter((observation, index) => {
    const before = sorted[index - 1];
    return before === undefined || before.at !== observation.at || before.entity !== observation.entity;
  });
}
