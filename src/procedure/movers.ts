import type { EntityId, EquipmentId } from '../model/index.ts';
import { ROLES } from '../rules/index.ts';
import { offLimitW } from './context.ts';
import { freshReading } from './evidence.ts';
import { keyOf, openStepOf, type Run, recallText } from './run.ts';
import type { EngineContext } from './types.ts';

export const isMover = (run: Run, id: EquipmentId): boolean => {
  const role = run.ctx.equipment[id]?.role;
  return role !== undefined && ROLES[role].waterMover;
};

const moverLists = new WeakMap<EngineContext, readonly EquipmentId[]>();
function allMovers(run: Run): readonly EquipmentId[] {
  let list = moverLists.get(run.ctx);
  if (list === undefined) {
    list = Object.keys(run.ctx.equipment).filter((id) => isMover(run, id));
    moverLists.set(run.ctx, list);
  }
  return list;
}

/** Water movers this session has not stopped, those restarted as agreed among them. */
export const moversLeft = (run: Run, except?: EquipmentId): readonly EquipmentId[] =>
  allMovers(run).filter(
    (id) => id !== except && (!run.state.offNow.includes(id) || recallText(run, keyOf('ls.back', id)) !== null),
  );

/** The session has stopped one of them: from now on it answers for water that moves. */
export const stoppedAMover = (run: Run): boolean =>
  run.state.offNow.some((id) => isMover(run, id) && recallText(run, keyOf('ls.back', id)) !== 'proved');

/** Those that the plan leaves on from beginning to end. */
export const moversOf = (run: Run): readonly EquipmentId[] => run.state.plan.keptMovers ?? [];

export const entitiesOfMovers = (run: Run, ids: readonly EquipmentId[]): readonly EntityId[] =>
  ids.flatMap((id) => {
    const facts = run.ctx.equipment[id];
    return [facts?.switchEntity, facts?.powerEntity].filter((entity) => entity !== undefined);
  });

/** Whether watts of one of these could prove anything at all. */
export const moversTell = (run: Run, ids: readonly EquipmentId[]): boolean =>
  ids.some((id) => run.ctx.equipment[id]?.powerEntity !== undefined);

export const moversHeard = (run: Run, ids: readonly EquipmentId[]): boolean =>
  ids.some((id) => freshReading(run, run.ctx.equipment[id]?.powerEntity) !== null);

/** K16: one of these with fresh watts well above off, and no relay that says off. */
export const runsProved = (run: Run, ids: readonly EquipmentId[]): boolean => ids.some((id) => turns(run, id));

export function turns(run: Run, id: EquipmentId): boolean {
  const facts = run.ctx.equipment[id];
  const power = freshReading(run, facts?.powerEntity);
  return power !== null && power.value > turningW(run, id) && saysOn(run, id);
}

/** Unknown is never on; what has no switch of its own is on as long as it is plugged in. */
function saysOn(run: Run, id: EquipmentId): boolean {
  const entity = run.ctx.equipment[id]?.switchEntity;
  return entity === undefined || (freshReading(run, entity)?.value ?? 0) !== 0;
}

/** A pump that hums without turning sits at a few watts; a pulsing one dips to about a third of its mean. */
export function turningW(run: Run, id: EquipmentId): number {
  const normal = run.ctx.equipment[id]?.normalPowerW;
  return Math.max(offLimitW(normal, run.ctx.settings), (normal ?? 0) * 0.25);
}

/**
 * K16: no water mover is proved to run. Where none of them has watts a person looked, and that word holds as long as
 * their switches freshly say on; where they have not even those, the word is all there is.
 */
export function noneProved(run: Run, ids: readonly EquipmentId[]): boolean {
  if (ids.length === 0) return true;
  if (moversTell(run, ids)) return !runsProved(run, ids);
  return !ids.some((id) => saysOn(run, id));
}

/** A mover that is just being started is not what a limit should interrupt. */
export function startsAMover(run: Run): boolean {
  const step = openStepOf(run.state);
  return step?.action === 'switch-on' && step.equipment !== undefined && isMover(run, step.equipment);
}
