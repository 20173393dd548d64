import type { EquipmentId } from '../model/index.ts';
import { freshAfter } from './evidence.ts';
import type { Key } from './memory.ts';
import { isMover, turns } from './movers.ts';
import { hubIsDown, keyOf, passed, type Run, recallNumber, remember } from './run.ts';
import type { Facts } from './switching.ts';
import type { EngineContext } from './types.ts';

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

const PLACES = [true, false] as const;
const flowKey = (inSump: boolean): Key => keyOf('flow', inSump ? 'sump' : 'display');

/**
 * Since when the water has been proved to move without a break. Looked at before and after what an event brings: what had
 * grown old by then is a break, however good the next report.
 */
export function followFlow(run: Run): void {
  if (run.state.stepIndex < 0 || hubIsDown(run.state)) return;
  for (const inSump of PLACES) {
    const moves = flowSources(run, { inSump }).some((id) => runs(run, id));
    if (!moves) remember(run, flowKey(inSump), null);
    else if (recallNumber(run, flowKey(inSump)) === null) remember(run, flowKey(inSump), run.at);
  }
}

/** What nobody saw proves no flow: counted anew. */
export function forgetFlow(run: Run): void {
  for (const inSump of PLACES) remember(run, flowKey(inSump), null);
}

/** K5. A tank without any mover has nothing that could prove it; its plan asks a person. */
export function flowProved(run: Run, facts: Facts): boolean {
  if (flowSources(run, facts).length === 0) return true;
  const since = recallNumber(run, flowKey(facts.inSump !== false));
  return since !== null && passed(run, since, run.ctx.settings.flowMs);
}
