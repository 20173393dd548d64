import type { EquipmentId } from '../model/index.ts';
import { isMover, moversLeft, noneProved } from './movers.ts';
import { hubIsDown, isEnded, nameOf, type Run, say } from './run.ts';

/** Commands that answer other hands name this and the equipment instead of a step of the plan. */
export const OFF_AGAIN_STEP = '#off-again:';

/**
 * Tells what other hands switched on to go off again: once for each time, only the roles that are set to, and never what
 * may be the last water mover. The alarm and the hold stand either way.
 */
export function switchOffAgain(run: Run, id: EquipmentId): void {
  const facts = run.ctx.equipment[id];
  if (facts?.offAgain !== true || facts.switchEntity === undefined) return;
  if (isEnded(run.state) || run.state.status === 'aborting' || hubIsDown(run.state)) return;
  if (isMover(run, id) && noneProved(run, moversLeft(run, id))) return;
  const step = `${OFF_AGAIN_STEP}${id}`;
  run.effects.push({
    kind: 'command',
    command: { session: run.state.id, step, equipment: id, entity: facts.switchEntity, turn: 'off' },
  });
  say(run, `${nameOf(run, id)} is told to go off again.`);
}
