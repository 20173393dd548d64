import type { Reading } from '../observe/index.ts';
import { freshReading, proofFrom, restartProof } from './evidence.ts';
import {
  askAfresh,
  closeStep,
  hold,
  openSince,
  passed,
  type Run,
  recallNumber,
  remember,
  say,
  showEvidence,
} from './run.ts';
import type { Step, StepObservation } from './types.ts';

/** A sensor has to be seen to reach a state, as often as asked, with the opposite seen between. */
export function observe(run: Run, step: Step): void {
  const wanted = step.observe;
  if (wanted === undefined) {
    hold(run, 'person-needed', step.text);
    return;
  }
  if (recallNumber(run, 's.from') === null) {
    restartProof(run);
    say(run, step.text);
  }
  const times = wanted.times ?? 1;
  const seen = recallNumber(run, 's.sights') ?? 0;
  const heard = recallNumber(run, 's.heardAt') !== null;
  const text = `${wanted.entity} seen ${stateText(wanted)} ${seen} of ${times} time${times === 1 ? '' : 's'}`;
  if (heard) showEvidence(run, step, seen > 0 ? 4 : 2, text);
  if (seen >= times) {
    closeStep(run, step, 'passed', 4, text);
    return;
  }
  if (!passed(run, openSince(run, step), step.timeoutMs)) {
    askAfresh(run, [wanted.entity]);
    return;
  }
  const again = 'Then resume, and it is counted anew; or abort.';
  if (!heard || freshReading(run, wanted.entity) === null) {
    hold(run, 'unknown-reading', `${wanted.entity} has not been heard. Check the sensor and its wiring. ${again}`);
  } else {
    hold(run, 'timed-out', `${text}: not enough. ${step.text} Look why it was not seen. ${again}`);
  }
}

/** Only what was reported after the step opened counts; a gap is neither the state nor its opposite. */
export function followObservation(run: Run, step: Step, reading: Reading): void {
  const wanted = step.observe;
  if (wanted?.entity !== reading.entity || recallNumber(run, 's.from') === null) return;
  const last = recallNumber(run, 's.heardAt') ?? proofFrom(run);
  const fresh = freshReading(run, reading.entity);
  if (fresh === null || reading.reportedAt <= last) return;
  remember(run, 's.heardAt', reading.reportedAt);
  const isSo = reaches(wanted, fresh.value);
  if (isSo && recallNumber(run, 's.spent') === null) {
    remember(run, 's.sights', (recallNumber(run, 's.sights') ?? 0) + 1);
    remember(run, 's.spent', 1);
  } else if (!isSo) {
    remember(run, 's.spent', null);
  }
}

/** After a hold what was seen before counts no more. */
export function forgetObservation(run: Run): void {
  for (const key of ['s.from', 's.heardAt', 's.sights', 's.spent']) remember(run, key, null);
}

function reaches(wanted: StepObservation, value: number): boolean {
  switch (wanted.is) {
    case 'on':
      return value !== 0;
    case 'off':
      return value === 0;
    case 'at-least':
      return value >= (wanted.value ?? 0);
    case 'at-most':
      return value <= (wanted.value ?? 0);
  }
}

const stateText = ({ is, value }: StepObservation): string =>
  is === 'on' || is === 'off' ? is : `${is === 'at-least' ? 'at least' : 'at most'} ${value ?? 0}`;
