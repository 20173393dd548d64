import type { UsageSources } from '../record/index.ts';
import { formatSpan, type InstantMs } from '../units/index.ts';
import type { createAlarms } from './alarms.ts';
import { ASTRAY_MS } from './hub-clock.ts';
import type { AttentionLine } from './protection-types.ts';

const BEHIND = 'clock_behind';

/**
 * The hub's clock was set back while nobody could see it: what it reports lies before what was counted already, and counts
 * for nothing until its clock has come as far again.
 */
export function createClockBehind(alarms: Pick<ReturnType<typeof createAlarms>, 'raise' | 'over'>) {
  let since: InstantMs | null = null;
  let reached: InstantMs = 0;
  let now: InstantMs = 0;
  const text = (): string =>
    `The hub's clock is ${formatSpan(reached - now)} behind what was counted already: hours and starts stand still until it has come as far`;
  return {
    /** Looked at now and then, while the hub is there. */
    look(to: InstantMs, hubNow: InstantMs): void {
      reached = to;
      now = hubNow;
      const isBehind = to - hubNow > ASTRAY_MS;
      if (!isBehind && since !== null) alarms.over(BEHIND);
      if (isBehind && since === null) alarms.raise(BEHIND, `${text()}. Look at the date and time of the hub.`);
      since = isBehind ? (since ?? hubNow) : null;
    },
    attention: (): readonly AttentionLine[] =>
      since === null
        ? []
        : [{ kind: 'clock-behind', id: BEHIND, since, text: text(), toDo: "Put the hub's date and time right." }],
  };
}

/** The last moment, by the hub's clock, that any counter has taken. */
export const countedTo = ({ counters }: UsageSources): InstantMs =>
  [...counters.values()].reduce((last, { folded }) => Math.max(last, folded.lastAt ?? 0), 0);
