import type { EquipmentId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import { offLimitW, scaled } from './context.ts';
import { levelNow } from './level.ts';
import { keyOf, type Run, recallNumber, remember } from './run.ts';

/**
 * What is going to be handled has to stay proved off until its plug is pulled, not only once: any sign of life, and any
 * gap in what was seen, and its quiet readings are counted anew.
 */
export function followQuiet(run: Run, reading: Reading): void {
  for (const id of run.state.plan.handled) {
    const facts = run.ctx.equipment[id];
    if (facts === undefined || (reading.entity !== facts.switchEntity && reading.entity !== facts.powerEntity))
      continue;
    if (recallNumber(run, keyOf('proved', id)) === null) continue;
    if (reading.entity === facts.switchEntity) {
      if (reading.value !== 0) disturbed(run, id);
      if (reading.value === 1) remember(run, keyOf('revived', id), run.at);
    } else {
      const isQuiet = reading.value !== null && reading.value <= offLimitW(facts.normalPowerW, run.ctx.settings);
      if (!isQuiet) disturbed(run, id);
      if (!isQuiet && reading.value !== null) remember(run, keyOf('revived', id), run.at);
      else if (recallNumber(run, keyOf('disturbed', id)) !== null) countAgain(run, id, reading);
    }
  }
}

/** What came alive since it was proved stopped a second time unwatched: its effect has to show again. */
export function effectStands(run: Run, id: EquipmentId): boolean {
  const effect = run.ctx.equipment[id]?.effect;
  if (effect === undefined || recallNumber(run, keyOf('revived', id)) === null) return true;
  const before = recallNumber(run, keyOf('level', id));
  const level = levelNow(run);
  return before !== null && level !== null && level - before >= effect.atLeast;
}

/** Its proof no longer holds. */
export function disturbed(run: Run, id: EquipmentId): void {
  remember(run, keyOf('disturbed', id), run.at);
  remember(run, keyOf('quiet', id), null);
  remember(run, keyOf('quietFrom', id), null);
  remember(run, keyOf('quietAt', id), null);
}

export function allDisturbed(run: Run): void {
  for (const id of run.state.plan.handled) if (recallNumber(run, keyOf('proved', id)) !== null) disturbed(run, id);
}

function countAgain(run: Run, id: EquipmentId, reading: Reading): void {
  const since = recallNumber(run, keyOf('disturbed', id)) ?? run.at;
  if (reading.reportedAt <= (recallNumber(run, keyOf('quietAt', id)) ?? since)) return;
  const from = recallNumber(run, keyOf('quietFrom', id)) ?? reading.reportedAt;
  const count = (recallNumber(run, keyOf('quiet', id)) ?? 0) + 1;
  remember(run, keyOf('quietAt', id), reading.reportedAt);
  remember(run, keyOf('quietFrom', id), from);
  remember(run, keyOf('quiet', id), count);
  const { proofReadings, proofSpanMs } = run.ctx.settings;
  if (count < proofReadings || reading.reportedAt - from < scaled(proofSpanMs, run.ctx)) return;
  for (const what of ['disturbed', 'quiet', 'quietFrom', 'quietAt']) remember(run, keyOf(what, id), null);
}
