import type { EntityId, EquipmentId } from '../model/index.ts';
import { ROLES } from '../rules/index.ts';
import { freshAfter } from './evidence.ts';
import type { Key } from './memory.ts';
import { isMover, turns } from './movers.ts';
import { hubIsDown, keyOf, passed, type Run, recallNumber, remember } from './run.ts';
import type { Facts } from './switching.ts';
import type { EngineContext, SessionPlan } from './types.ts';

/** Who moves the water around a heater: the returns in the sump, every mover elsewhere. */
export function flowSources(run: Run, facts: Pick<Facts, 'inSump'>): readonly EquipmentId[] {
  let known = sources.get(run.ctx);
  if (known === undefined) {
    const all = Object.keys(run.ctx.equipment).filter((id) => isMover(run, id));
    const returns = all.filter((id) => run.ctx.equipment[id]?.role === 'return-pump');
    known = { sump: returns.length > 0 ? returns : all, display: all };
    sources.set(run.ctx, known);
  }
  return facts.inSump !== false ? known.sump : known.display;
}

type Sources = { readonly sump: readonly EquipmentId[]; readonly display: readonly EquipmentId[] };
const sources = new WeakMap<EngineContext, Sources>();

/** Runs by its watts; without a meter its switch must freshly say on, or a person saw it. From before an upset nothing counts. */
function runs(run: Run, id: EquipmentId): boolean {
  const facts = run.ctx.equipment[id];
  if (run.state.offNow.includes(id)) return false;
  const from = recallNumber(run, 'upsetAt') ?? 0;
  if (facts?.powerEntity !== undefined) return turns(run, id) && freshAfter(run, facts.powerEntity, from) !== null;
  return facts?.switchEntity === undefined || freshAfter(run, facts.switchEntity, from)?.value === 1;
}

const flowKey = (source: EquipmentId): Key => keyOf('flow', source);

const followed = new WeakMap<SessionPlan, readonly EquipmentId[]>();
/** What moves the water around the heaters of this plan; of nothing else it has to be known for how long. */
function sourcesOf(run: Run): readonly EquipmentId[] {
  const { plan } = run.state;
  let known = followed.get(plan);
  if (known === undefined) {
    const heated = plan.steps.flatMap(({ equipment }) =>
      equipment !== undefined && needsFlow(run, equipment) ? [equipment] : [],
    );
    known = [...new Set(heated.flatMap((id) => flowSources(run, run.ctx.equipment[id] ?? {})))];
    followed.set(plan, known);
  }
  return known;
}

/** Heats the water of the tank. */
export function needsFlow(run: Run, id: EquipmentId): boolean {
  const role = run.ctx.equipment[id]?.role;
  return role !== undefined && ROLES[role].heats && ROLES[role].onlyInSump;
}

/**
 * Since when each of them has been proved to run without a break: two that take turns in being heard prove no flow. Looked
 * at before and after what an event brings: what had grown old by then is a break, however good the next report.
 */
export function followFlow(run: Run): void {
  if (run.state.stepIndex < 0 || hubIsDown(run.state)) return;
  for (const id of sourcesOf(run)) {
    if (!runs(run, id)) remember(run, flowKey(id), null);
    else if (recallNumber(run, flowKey(id)) === null) remember(run, flowKey(id), run.at);
  }
}

const told = new WeakMap<SessionPlan, ReadonlySet<EntityId>>();
/** Of several reports in one event each counts: a pump that stood still for a moment did not run on. */
export function tellsOfFlow(run: Run, entity: EntityId): boolean {
  const { plan } = run.state;
  let entities = told.get(plan);
  if (entities === undefined) {
    const all = sourcesOf(run).map((id) => run.ctx.equipment[id]);
    entities = new Set(all.flatMap((facts) => [facts?.switchEntity ?? '', facts?.powerEntity ?? '']));
    told.set(plan, entities);
  }
  return entities.has(entity);
}

/** What nobody saw proves no flow: counted anew. */
export function forgetFlow(run: Run): void {
  for (const id of sourcesOf(run)) remember(run, flowKey(id), null);
}

/** K5. A tank without any mover has nothing that could prove it; its plan asks a person. */
export function flowProved(run: Run, facts: Facts): boolean {
  const all = flowSources(run, facts);
  return all.length === 0 || all.some((id) => flowsSince(run, id));
}

function flowsSince(run: Run, id: EquipmentId): boolean {
  const since = recallNumber(run, flowKey(id));
  return since !== null && passed(run, since, run.ctx.settings.flowMs);
}
