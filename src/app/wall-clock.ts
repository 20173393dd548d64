import type { Clock } from '../ports/index.ts';
import type { DurationMs } from '../units/index.ts';

/** Time that has really passed, by a clock that nobody can set, the machine's sleep included where it can tell. */
export const runningMs = (clock: Clock): DurationMs => clock.sinceBootMs?.() ?? clock.monotonicMs();

/** Less than this between two looks is a clock being trimmed, not set. */
const LEAST_JUMP_MS: DurationMs = 2_000;

/** By how much the wall clock was set since the last look; 0 where it was not. */
export function createJumps(clock: Clock): () => DurationMs {
  let last = { wall: clock.now(), running: runningMs(clock) };
  return () => {
    const next = { wall: clock.now(), running: runningMs(clock) };
    const byMs = Math.round(next.wall - last.wall - (next.running - last.running));
    last = next;
    return Math.abs(byMs) < LEAST_JUMP_MS ? 0 : byMs;
  };
}
