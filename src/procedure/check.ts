import type { EntityId, EquipmentId } from '../model/index.ts';
import { learnedRiseCm } from './context.ts';
import { freshReading } from './evidence.ts';
import { levelIsSure, levelNow } from './level.ts';
import { entitiesOfMovers, moversHeard, moversOf, moversTell, runsProved } from './movers.ts';
import {
  alarm,
  askAfresh,
  closeStep,
  hold,
  keepBaseline,
  keyOf,
  nameOf,
  openSince,
  passed,
  type Run,
  remember,
} from './run.ts';
import type { Step } from './types.ts';
import { wetNow } from './wet.ts';

/** Before anything is switched: fresh readings of all concerned, room in the sump, a mover that stays, nothing wet. */
export function checkReady(run: Run, step: Step): void {
  const wet = wetNow(run);
  // A plan that answers a leak begins with water where it must not be.
  if (wet.length > 0 && run.state.plan.leak !== true) {
    const text = `Wet or too high: ${wet.join(', ')}. Nothing is switched. Find the water first, then resume; or abort.`;
    hold(run, 'limit-exceeded', text);
    return;
  }
  const missing = missingReadings(run);
  const since = openSince(run, step);
  if (missing.length > 0) {
    if (!passed(run, since, step.timeoutMs)) {
      askAfresh(run, missing);
      return;
    }
    const text = `No fresh reading from ${missing.join(', ')}. Nothing is switched. Check these, then resume; or abort.`;
    hold(run, 'unknown-reading', text);
    return;
  }
  const trouble = (returnStops(run) ? roomTrouble(run) : null) ?? noMover(run);
  if (trouble) {
    alarm(run, 'not-ready', trouble);
    hold(run, 'limit-exceeded', trouble);
    return;
  }
  takeBaseline(run);
  closeStep(run, step, 'passed', 2, 'everything concerned has reported, and is as it should be');
}

const stops = (run: Run, id: EquipmentId): boolean => run.state.plan.outOfService.includes(id);
export const returnStops = (run: Run): boolean =>
  run.state.plan.outOfService.some((id) => run.ctx.equipment[id]?.effect !== undefined);
const levelMatters = (run: Run): boolean =>
  run.ctx.sumpLevelEntity !== undefined &&
  run.state.plan.steps.some((step) => step.action === 'settle' || step.needed === 4);

function missingReadings(run: Run): readonly EntityId[] {
  const wanted = [...run.state.plan.outOfService].flatMap((id) => {
    const facts = run.ctx.equipment[id];
    return [facts?.switchEntity, facts?.powerEntity];
  });
  const missing = wanted.filter((entity) => entity !== undefined && freshReading(run, entity) === null);
  if (levelMatters(run) && !levelIsSure(run)) missing.push(run.ctx.sumpLevelEntity);
  // A leak sensor speaks when it gets wet and is silent for hours otherwise: known and dry is enough, its age is not.
  missing.push(...run.ctx.wetEntities.filter((entity) => typeof run.state.readings[entity]?.value !== 'number'));
  const kept = moversOf(run);
  if (returnStops(run) && moversTell(run, kept) && !moversHeard(run, kept))
    missing.push(...entitiesOfMovers(run, kept));
  return missing.filter((entity) => entity !== undefined);
}

/** K10 on the level as it is now, not as it usually is. */
export function roomTrouble(run: Run): string | null {
  const level = levelNow(run);
  const rise = learnedRiseCm(run.ctx.drainDownL, run.ctx.sumpLitresPerCm);
  const rim = run.ctx.sumpRimCm;
  if (level === null || rise === null || rim === undefined) return null;
  const neededCm = rise * run.ctx.settings.headRoomFactor;
  if (level + neededCm <= rim) return null;
  return `The sump stands at ${level.toFixed(1)} cm: what drains down would come to ${(level + neededCm).toFixed(1)} cm with the margin, over the rim at ${rim} cm. Take water out first, then resume; or abort.`;
}

function noMover(run: Run): string | null {
  const kept = moversOf(run);
  if (!returnStops(run) || !moversTell(run, kept) || runsProved(run, kept)) return null;
  const names = kept.map((id) => nameOf(run, id)).join(', ');
  return `No water mover that stays on is proved to run (${names}). Start one, then resume; or abort.`;
}

/** What must come back, and what was off already and stays so. */
function takeBaseline(run: Run): void {
  for (const id of Object.keys(run.ctx.equipment)) {
    const facts = run.ctx.equipment[id];
    // What is off by us already has its figures from when it was stopped.
    if (run.state.offNow.includes(id)) continue;
    const power = freshReading(run, facts?.powerEntity);
    if (facts?.powerEntity !== undefined && power !== null) keepBaseline(run, facts.powerEntity, power.value);
    if (!stops(run, id) || facts?.switchEntity === undefined) continue;
    remember(run, keyOf('was', id), freshReading(run, facts.switchEntity)?.value === 0 ? 'off' : 'on');
  }
  const level = levelNow(run);
  if (run.ctx.sumpLevelEntity !== undefined && level !== null) keepBaseline(run, run.ctx.sumpLevelEntity, level);
}
