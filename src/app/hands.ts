import type { EquipmentId } from '../model/index.ts';
import type { SessionState } from '../procedure/index.ts';
import { isOver } from './session-runner.ts';

/** Who has what in hand, for all that watches outside sessions. */
export function createHands() {
  let session: readonly EquipmentId[] = [];
  let claimed: readonly EquipmentId[] = [];
  let left: readonly EquipmentId[] = [];
  return {
    /** Gives back what is off by the session or in somebody's hands now. */
    session: (state: SessionState): readonly EquipmentId[] => {
      const { held, busy } = handsOf(state);
      session = busy;
      claimed = claimsOf(state);
      return held;
    },
    leftOut: (equipment: readonly EquipmentId[]): void => {
      left = equipment;
    },
    /** All that a session will touch, until it is over. */
    busy: (): readonly EquipmentId[] => session,
    /** What nobody else may light, and why; the strongest reason last. */
    held: (latched: readonly EquipmentId[]): Readonly<Record<EquipmentId, string>> => ({
      ...named(left, 'a session left it out of service'),
      ...named(latched, 'a guard holds it off'),
      ...named(session, 'a session has it'),
      ...named(claimed, 'it is claimed'),
    }),
  };
}

const named = (ids: readonly EquipmentId[], why: string): Readonly<Record<EquipmentId, string>> =>
  Object.fromEntries(ids.map((id) => [id, why]));

const claimsOf = (state: SessionState): readonly EquipmentId[] => state.claims.map(({ equipment }) => equipment);

/** `held`: off by the session or in somebody's hands now; `busy`: all that it will touch, until it is over. */
function handsOf(state: SessionState): {
  readonly held: readonly EquipmentId[];
  readonly busy: readonly EquipmentId[];
} {
  const claimed = claimsOf(state);
  if (isOver(state) || state.status === 'idle') return { held: claimed, busy: claimed };
  const held = [...new Set([...state.offNow, ...claimed])];
  return { held, busy: [...new Set([...held, ...state.plan.outOfService])] };
}
