import type { EntityId, EquipmentId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import { offLimitW, scaled } from './context.ts';
import { alarmOnce, hold, isEnded, keyOf, nameOf, type Run, recallNumber, remember } from './run.ts';
import type { EngineContext } from './types.ts';

const meters = new WeakMap<EngineContext, ReadonlyMap<EntityId, readonly EquipmentId[]>>();
/** Whose watts an entity tells. */
function behindMeter(ctx: EngineContext, entity: EntityId): readonly EquipmentId[] {
  let known = meters.get(ctx);
  if (known === undefined) {
    const all = Object.entries(ctx.equipment);
    const behind = (meter: EntityId) => all.filter(([, facts]) => facts.powerEntity === meter).map(([id]) => id);
    known = new Map(all.flatMap(([, { powerEntity }]) => (powerEntity ? [[powerEntity, behind(powerEntity)]] : [])));
    meters.set(ctx, known);
  }
  return known.get(entity) ?? [];
}

/** Remembers when a running load lost its watts, so that it can be held against the moment of an unplugging. */
export function noteDeath(run: Run, reading: Reading, before: Reading | undefined): void {
  if (reading.value === null) return;
  for (const id of behindMeter(run.ctx, reading.entity)) {
    const facts = run.ctx.equipment[id];
    if (facts === undefined || facts.cycling) continue;
    const limitW = offLimitW(facts.normalPowerW, run.ctx.settings);
    if (reading.value > limitW) remember(run, keyOf('died', id), null);
    else if (before !== undefined && (before.value ?? 0) > limitW) remember(run, keyOf('died', id), reading.reportedAt);
  }
}

/** K30: another load that died around an unplugging, its own switch still on, asks whether it was the wrong cord. */
export function watchCords(run: Run): void {
  if (run.state.claims.length === 0 || isEnded(run.state)) return;
  const windowMs = scaled(run.ctx.settings.wrongCordMs, run.ctx);
  for (const claim of run.state.claims) {
    if (run.at - claim.since > windowMs) continue;
    for (const id of Object.keys(run.ctx.equipment)) {
      const diedAt = recallNumber(run, keyOf('died', id));
      if (diedAt === null || Math.abs(diedAt - claim.since) > windowMs || !lostItsCord(run, id)) continue;
      const text = `${nameOf(run, id)} went dead just as ${nameOf(run, claim.equipment)} was unplugged: was it the wrong cord? Hands out of the water, follow both cords, put it right, then resume.`;
      if (alarmOnce(run, `cord.${claim.equipment}.${id}`, 'wrong-cord', text)) hold(run, 'contradiction', text);
    }
  }
}

function lostItsCord(run: Run, id: EquipmentId): boolean {
  const entity = run.ctx.equipment[id]?.switchEntity;
  const switchedOff = entity !== undefined && run.state.readings[entity]?.value === 0;
  return !switchedOff && !run.state.offNow.includes(id) && !run.state.claims.some((claim) => claim.equipment === id);
}
