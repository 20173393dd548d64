import type { DurationMs, InstantMs } from '../units/index.ts';
import { mapMemory } from './memory.ts';
import type { SessionState, StepRecord } from './types.ts';

/** Every instant in a memory is far larger than any count, wattage or level. */
const LEAST_INSTANT = 1e11;
/** What people typed or sensors read is never an instant, however large. */
const VALUES = new Set(['s.wrong', 's.proposed', 's.sensed']);

/**
 * The session's times, moved along with a clock that was put forward or back: a wait of 15 min then still ends after
 * 15 min. Readings keep the times their devices gave them.
 */
export function shiftTimes(state: SessionState, byMs: DurationMs): SessionState {
  const moved = (at: InstantMs): InstantMs => at + byMs;
  const maybe = (at: InstantMs | null): InstantMs | null => (at === null ? null : moved(at));
  const record = (each: StepRecord): StepRecord =>
    each.openedAt === null ? each : { ...each, openedAt: moved(each.openedAt), closedAt: maybe(each.closedAt) };
  return {
    ...state,
    records: state.records.map(record),
    startedAt: moved(state.startedAt),
    claims: state.claims.map((claim) => ({ ...claim, since: moved(claim.since) })),
    prompt: state.prompt === null ? null : { ...state.prompt, appearedAt: moved(state.prompt.appearedAt) },
    hold: state.hold === null ? null : { ...state.hold, since: moved(state.hold.since) },
    workedAt: moved(state.workedAt),
    memory: mapMemory(state.memory, (name, value) =>
      typeof value === 'number' && value >= LEAST_INSTANT && !VALUES.has(name) ? moved(value) : value,
    ),
  };
}
