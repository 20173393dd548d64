import type { EntityId, EquipmentId } from '../model/index.ts';
import { recalled } from './memory.ts';
import { keyOf, nameOf, type Run, recallText } from './run.ts';
import type { EngineContext, SessionPlan, SessionState } from './types.ts';

/** What a session left behind when it ended: off or not proved back, or without its driver. */
export type LeftBehind = {
  readonly equipment: EquipmentId;
  /** Hub entity that is still suspended for it. */
  readonly driver?: EntityId;
};

const touched = new WeakMap<SessionPlan, readonly EquipmentId[]>();
/** Everything that a plan has a step for: what it takes out of service, and what it only tries. */
export function touchedBy(plan: SessionPlan): readonly EquipmentId[] {
  let known = touched.get(plan);
  if (known === undefined) {
    known = [...new Set(plan.steps.flatMap(({ equipment }) => (equipment === undefined ? [] : [equipment])))];
    touched.set(plan, known);
  }
  return known;
}

/** What was off before a session is as it was, unless its driver is missing. */
export function leftBehind(state: SessionState, ctx: EngineContext): readonly LeftBehind[] {
  const suspended = suspendedDrivers(state);
  const without = Object.keys(ctx.equipment).filter((id) => suspended.has(ctx.equipment[id]?.driverEntity ?? ''));
  return [...new Set([...state.offNow, ...touchedBy(state.plan), ...without])].flatMap((equipment) => {
    const isOff = state.offNow.includes(equipment) && recalled(state.memory, keyOf('was', equipment)) !== 'off';
    const taken = recalled(state.memory, keyOf('taken', equipment));
    const driver = typeof taken === 'string' ? taken : ctx.equipment[equipment]?.driverEntity;
    const isWithout = driver !== undefined && suspended.has(driver);
    return isOff || isWithout ? [{ equipment, ...(isWithout ? { driver } : {}) }] : [];
  });
}

const suspendedDrivers = ({ plan, memory }: SessionState): ReadonlySet<EntityId> =>
  new Set(
    touchedBy(plan)
      .map((id) => recalled(memory, keyOf('taken', id)))
      .filter((entity) => typeof entity === 'string'),
  );

/** What a session that ends before its time leaves off, claimed or suspended, for a person to bring back. */
export function leftText(run: Run): string {
  const { offNow, claims } = run.state;
  const off = offNow.map((id) => `${nameOf(run, id)}${howLeft(run, id)}`);
  const suspended = [...suspendedDrivers(run.state)].map((entity) => `${entity}${alsoOver(run, entity)}`);
  const parts = [
    off.length > 0 ? `Off or not proved back: ${off.join(', ')}.` : 'Nothing was left off.',
    ...(claims.length > 0
      ? [`Claimed: ${claims.map((each) => `${nameOf(run, each.equipment)} by ${each.person}`).join(', ')}.`]
      : []),
    ...(suspended.length > 0 ? [`Still suspended in the hub: ${suspended.join(', ')}.`] : []),
    ...(off.length > 0 ? ['Bring these back by hand, in restore order.'] : []),
  ];
  return parts.join(' ');
}

/** Equipment that is not off, and yet has nobody who would switch it. */
function alsoOver(run: Run, entity: EntityId): string {
  const ids = Object.keys(run.ctx.equipment).filter(
    (id) => run.ctx.equipment[id]?.driverEntity === entity && !run.state.offNow.includes(id),
  );
  return ids.length === 0 ? '' : ` (nothing switches ${ids.map((id) => nameOf(run, id)).join(', ')} now)`;
}

function howLeft(run: Run, id: string): string {
  if (recallText(run, keyOf('was', id)) === 'off') return ' (was off before)';
  return recallText(run, keyOf('ls.back', id)) === 'reported' ? ' (restarted, not proven)' : '';
}
