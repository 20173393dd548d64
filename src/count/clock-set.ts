import type { CounterState } from './types.ts';

/** Moments a fold remembers, by the hub's clock; -1 = none. */
const MOMENTS = [
  ...(['bookedTo', 'riseAt', 'fallAt', 'runAt', 'waitFrom', 'waitTo', 'baseAt', 'readAt', 'gapAt', 'jumpAt'] as const),
  ...(['tdsAt', 'tdsTo', 'ownAt', 'companionAt'] as const),
];

/**
 * The clock by which observations are dated was set: everything remembered is moved along with it, so that what lies
 * between two moments is as long as it was. What is booked stays in the hours in which it was booked.
 */
export function moveClock(state: CounterState, byMs: number): CounterState {
  const memory = { ...state.memory };
  for (const name of MOMENTS) {
    const at = memory[name];
    if (typeof at === 'number' && at !== -1) memory[name] = at + byMs;
  }
  // The hour of the week that was being watched is no longer that hour.
  if (memory['hourEnd'] !== undefined) Object.assign(memory, { hourEnd: 0, hourOn: 0, hourWhole: 0 });
  return { ...state, lastAt: state.lastAt === null ? null : state.lastAt + byMs, memory };
}
