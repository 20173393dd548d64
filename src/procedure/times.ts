import { type DurationMs, MINUTE_MS, SECOND_MS } from '../units/index.ts';
import type { Step } from './types.ts';

// How long a step usually takes; for rehearsals and the daylight rule, never a limit. From the devices' own pace: three
// reports over ten seconds prove an off, a minute of watts an on (K18, K19), a few minutes bring the sump to rest (K9).
const OFF_MS = 20 * SECOND_MS;
const ON_MS = 75 * SECOND_MS;
const READ_MS = 15 * SECOND_MS;
const HAND_OVER_MS = 5 * SECOND_MS;
const LOOK_MS = MINUTE_MS;

export type TimedStep = { readonly step: Step; readonly startsMs: DurationMs; readonly takesMs: DurationMs };

/** Begin and length of every step, counted from the plan's beginning; waits that count from an earlier step run beside the rest. */
export function timed(steps: readonly Step[]): readonly TimedStep[] {
  const ends = new Map<string, DurationMs>();
  let at = 0;
  return steps.map((step) => {
    const startsMs = at;
    const takesMs = lengthOf(step, at, ends);
    at += takesMs;
    ends.set(step.id, at);
    return { step, startsMs, takesMs };
  });
}

export const predictedMs = (steps: readonly Step[]): DurationMs => {
  const last = timed(steps).at(-1);
  return last === undefined ? 0 : last.startsMs + last.takesMs;
};

function lengthOf(step: Step, at: DurationMs, ends: ReadonlyMap<string, DurationMs>): DurationMs {
  if (step.action === 'wait') {
    const from = step.waitFrom === undefined ? at : (ends.get(step.waitFrom) ?? at);
    return Math.max(0, from + (step.waitMs ?? 0) - at);
  }
  if (step.holdPoint || step.action === 'observe') return step.personMs ?? LOOK_MS;
  switch (step.action) {
    case 'switch-off':
      return OFF_MS;
    case 'switch-on':
      return step.needed >= 3 ? ON_MS : OFF_MS;
    case 'settle':
      // A rise also has to come to an end before it is at rest.
      return (step.waitMs ?? 0) + (step.settle === 'rise' ? 2 * MINUTE_MS : 0);
    case 'take-over':
    case 'hand-back':
      return HAND_OVER_MS;
    default:
      return READ_MS;
  }
}
