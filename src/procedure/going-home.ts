import { wentAgain } from './finish.ts';
import { claimOn, closeStep, keyOf, type Run, recallNumber, recallText, recordOf } from './run.ts';
import type { Step } from './types.ts';

/** After a hard limit nothing more is stopped and the job is left: what is out comes back, in the plan's order. */
export const goesHome = (run: Run): boolean => recallNumber(run, 'home') !== null;

/** True where the step has no part in going home; it is then closed as left out. */
export function leftOut(run: Run, step: Step): boolean {
  if (!goesHome(run)) return false;
  const why = whyLeftOut(run, step);
  if (why === null) return false;
  closeStep(run, step, 'skipped', null, why);
  return true;
}

const LEFT = 'left out: the session only brings back what is off';

function whyLeftOut(run: Run, step: Step): string | null {
  const id = step.equipment ?? '';
  switch (step.action) {
    case 'check':
      return guardsAStart(run, step) ? null : LEFT;
    case 'take-over':
    case 'switch-off':
    case 'unplug':
    case 'hands-on':
      return LEFT;
    case 'reading':
    case 'observe':
      // Those of the restore guard what comes after them; those of the work belong to the job.
      return restoreHasBegun(run) ? null : LEFT;
    case 'plug-in':
      return claimOn(run.state, id) ? null : LEFT;
    case 'switch-on':
      if (run.state.offNow.includes(id)) return null;
      if (recallText(run, keyOf('ls.back', id)) !== 'proved') return LEFT;
      return wentAgain(run, id) ? null : 'restarted as agreed, and proved';
    case 'hand-back':
      return recallText(run, keyOf('taken', id)) === null ? LEFT : null;
    case 'wait':
      return comesAfterAStop(run, step) || belongsToTheJob(run, step) ? LEFT : null;
    case 'settle':
      return step.settle === 'rise' ? LEFT : null;
    default:
      return null;
  }
}

/** A look that comes before something is started again is asked for whatever else is left out. */
function guardsAStart(run: Run, step: Step): boolean {
  const { plan, stepIndex, offNow } = run.state;
  if (step.equipment === undefined || !offNow.includes(step.equipment)) return false;
  const next = plan.steps.find(
    (each, at) =>
      at > stepIndex &&
      each.equipment === step.equipment &&
      (each.action === 'switch-on' || each.action === 'switch-off' || each.action === 'unplug'),
  );
  return next?.action === 'switch-on';
}

const restoreHasBegun = (run: Run): boolean =>
  run.state.plan.steps
    .slice(0, run.state.stepIndex)
    .some(
      (each) =>
        each.action === 'switch-on' && (recordOf(run, each.id)?.closedAt ?? 0) >= (recallNumber(run, 'home') ?? 0),
    );

/** Before anything has come back, only what was really worked on needs its time: a heater that was lifted soaks. */
const belongsToTheJob = (run: Run, step: Step): boolean =>
  !restoreHasBegun(run) && (step.waitFrom === undefined || recordOf(run, step.waitFrom)?.result === 'skipped');

const comesAfterAStop = (run: Run, step: Step): boolean =>
  step.waitFrom !== undefined &&
  run.state.plan.steps.some((each) => each.id === step.waitFrom && each.action === 'switch-off');
