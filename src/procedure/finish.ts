import type { EquipmentId } from '../model/index.ts';
import { offLimitW } from './context.ts';
import { freshAfter, proofFrom, restartProof } from './evidence.ts';
import { isMover, turningW } from './movers.ts';
import {
  askAfresh,
  closeStep,
  hold,
  hubIsDown,
  keyOf,
  nameOf,
  openSince,
  passed,
  type Run,
  recallNumber,
  recallText,
  recordOf,
} from './run.ts';
import type { Step } from './types.ts';

/** I8: what came back in its turn may be gone again by now, so everything is read once more before the word "complete". */
export function finish(run: Run, step: Step): void {
  if (recallNumber(run, 's.from') === null) restartProof(run);
  const back = cameBack(run);
  const from = Math.max(proofFrom(run), recallNumber(run, 'resumedAt') ?? 0);
  const silent = back.filter((id) => isSilent(run, id, from));
  const gone = back.filter((id) => !silent.includes(id) && isGone(run, id, from));
  const late = passed(run, openSince(run, step), step.timeoutMs);
  if ((silent.length > 0 || gone.length > 0) && !late) {
    askAfresh(
      run,
      [...silent, ...gone].flatMap((id) => [run.ctx.equipment[id]?.switchEntity, run.ctx.equipment[id]?.powerEntity]),
    );
    return;
  }
  for (const id of [...silent, ...gone])
    if (!run.state.offNow.includes(id)) run.state.offNow = [...run.state.offNow, id];
  const good = back.filter((id) => !silent.includes(id) && !gone.includes(id));
  // Only what this step itself put back on the list is taken off it again.
  run.state.offNow = run.state.offNow.filter((id) => !good.includes(id));
  if (run.state.offNow.length === 0 && run.state.claims.length === 0) {
    closeStep(run, step, 'passed', null, 'nothing is left off or claimed by this session');
    return;
  }
  const names = (ids: readonly EquipmentId[]): string => ids.map((id) => nameOf(run, id)).join(', ');
  const parts = [
    ...(gone.length > 0 ? [`Came back, and is not running any more: ${names(gone)}.`] : []),
    ...(silent.length > 0 ? [`Not heard any more: ${names(silent)}.`] : []),
  ];
  const rest = run.state.offNow.filter((id) => !silent.includes(id) && !gone.includes(id));
  if (rest.length > 0 || parts.length === 0) parts.push(`Not proved back: ${names(rest)}.`);
  const text = `${parts.join(' ')} Put it right, then resume; or abort and it is listed as out of service.`;
  hold(run, silent.length > 0 && gone.length === 0 && rest.length === 0 ? 'unknown-reading' : 'not-proven', text);
}

/** What had come back and does not freshly read so: an abort lists it with the rest, seen off or not seen at all. */
export const notBackNow = (run: Run): readonly EquipmentId[] =>
  cameBack(run).filter((id) => hubIsDown(run.state) || isSilent(run, id, 0) || isGone(run, id, 0));

/** Had come back, and freshly reads off or idle again. */
export const wentAgain = (run: Run, id: EquipmentId): boolean => isGone(run, id, 0);

/** Switched on by the session and proved, or reported on, in its turn or as agreed life support. */
function cameBack(run: Run): readonly EquipmentId[] {
  const ids = run.state.plan.steps.flatMap((step) => {
    const result = step.action === 'switch-on' ? recordOf(run, step.id)?.result : undefined;
    const isBack = result === 'passed' || result === 'passed-unproven';
    return isBack && step.equipment !== undefined ? [step.equipment] : [];
  });
  const agreed = (run.state.plan.lifeSupport ?? []).filter((id) => recallText(run, keyOf('ls.back', id)) === 'proved');
  return [...new Set([...ids, ...agreed])].filter((id) => run.ctx.equipment[id]?.switchEntity !== undefined);
}

function isSilent(run: Run, id: EquipmentId, from: number): boolean {
  const facts = run.ctx.equipment[id];
  if (freshAfter(run, facts?.switchEntity, from) === null) return true;
  return facts?.powerEntity !== undefined && drawsAlways(run, id) && freshAfter(run, facts.powerEntity, from) === null;
}

/** What has a driver may rightly be off again; what decides by itself, or cycles, draws only now and then. */
const drawsAlways = (run: Run, id: EquipmentId): boolean => {
  const facts = run.ctx.equipment[id];
  return facts !== undefined && facts.driven !== true && facts.decidesItself !== true && !facts.cycling;
};

function isGone(run: Run, id: EquipmentId, from: number): boolean {
  const facts = run.ctx.equipment[id];
  if (facts === undefined || facts.driven === true) return false;
  // Its own controller decides what it draws, never whether its plug is on.
  if (freshAfter(run, facts.switchEntity, from)?.value === 0) return true;
  const power = freshAfter(run, facts.powerEntity, from);
  if (power === null || !drawsAlways(run, id)) return false;
  const least = isMover(run, id) ? turningW(run, id) : offLimitW(facts.normalPowerW, run.ctx.settings);
  return power.value <= least;
}
