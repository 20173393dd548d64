import { checkReady } from './check.ts';
import { handDriver } from './driver.ts';
import { finish } from './finish.ts';
import { highestAllowedCm, levelMark, levelNow, steadyFor } from './level.ts';
import { observe } from './observed.ts';
import { askAfresh, closeStep, hold, openSince, passed, type Run, recordOf } from './run.ts';
import { switchOff } from './switch-off.ts';
import { switchOn } from './switch-on.ts';
import type { Step } from './types.ts';

/** Does what the open step can do now: passes it, waits, or holds. Steps that wait for a person are held at once. */
export function workStep(run: Run, step: Step): void {
  // What a sensor must see is not passed by a word.
  if (step.holdPoint && (step.action !== 'observe' || step.observe === undefined)) {
    hold(run, 'person-needed', step.text);
    return;
  }
  switch (step.action) {
    case 'check':
      checkReady(run, step);
      return;
    case 'take-over':
      handDriver(run, step, 'suspend');
      return;
    case 'hand-back':
      handDriver(run, step, 'resume');
      return;
    case 'switch-off':
      switchOff(run, step);
      return;
    case 'switch-on':
      switchOn(run, step);
      return;
    case 'wait':
      wait(run, step);
      return;
    case 'settle':
      settle(run, step);
      return;
    case 'observe':
      observe(run, step);
      return;
    case 'finish':
      finish(run, step);
      return;
    default:
      // unplug, hands-on, reading, plug-in are always hold points
      hold(run, 'person-needed', step.text);
  }
}

function wait(run: Run, step: Step): void {
  const waitMs = step.waitMs ?? 0;
  const from = recordOf(run, step.waitFrom ?? step.id)?.closedAt ?? recordOf(run, step.id)?.openedAt ?? run.at;
  if (passed(run, from, waitMs)) closeStep(run, step, 'passed', null, `waited ${minutes(waitMs)}`);
}

const minutes = (ms: number): string =>
  ms < 120_000 ? `${Math.round(ms / 1000)} s` : `${Math.round(ms / 60_000)} min`;

function settle(run: Run, step: Step): void {
  const record = recordOf(run, step.id);
  const opened = record?.openedAt ?? run.at;
  const level = levelNow(run);
  const mark = levelMark(run);
  const atRest = steadyFor(run, step.waitMs ?? run.ctx.settings.steadyForMs, opened);
  const off = level === null || mark === null ? null : level - mark;
  const most = step.settle === 'rise' ? highestAllowedCm(run) : null;
  if (level !== null && most !== null && level > most) {
    hold(run, 'limit-exceeded', `The sump stands at ${level.toFixed(1)} cm, over the ${most.toFixed(1)} cm allowed.`);
    return;
  }
  const atMark = off !== null && Math.abs(off) <= run.ctx.settings.markBandCm;
  if (atRest && level !== null && (step.settle !== 'mark' || atMark)) {
    const moved = off === null ? '' : `, ${off >= 0 ? '+' : ''}${off.toFixed(1)} cm from before the session`;
    const limit = most === null ? '' : `, allowed up to ${most.toFixed(1)} cm`;
    closeStep(run, step, 'passed', 4, `level at rest at ${level.toFixed(1)} cm${moved}${limit}`);
    return;
  }
  if (!passed(run, openSince(run, step), step.timeoutMs)) {
    askAfresh(run, [run.ctx.sumpLevelEntity]);
  } else if (level === null) {
    hold(run, 'unknown-reading', 'The sump level is not freshly known. Check the sensor, then resume; or abort.');
  } else if (atRest && off !== null) {
    const side = off < 0 ? 'below' : 'above';
    const text = `The sump rests ${Math.abs(off).toFixed(1)} cm ${side} its level from before the session. ${
      off < 0
        ? 'Salt water is missing: put it back as salt water, the top-off would replace it with fresh.'
        : 'More water is in the sump than before: find out where from.'
    } Then resume; or abort.`;
    hold(run, 'effect-missing', text);
  } else {
    hold(run, 'timed-out', 'The sump level does not come to rest. Look why, then resume; or abort.');
  }
}
