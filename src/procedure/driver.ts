import { freshAfter, freshReading, proofFrom, restartProof } from './evidence.ts';
import { mayStart } from './may-start.ts';
import {
  askAfresh,
  closeStep,
  hold,
  keyOf,
  openSince,
  passed,
  type Run,
  recallNumber,
  recallText,
  remember,
  say,
} from './run.ts';
import { type Facts, factsOf, sendCommand, startedAt } from './switching.ts';
import type { Step } from './types.ts';

/** Hub entities that read 0 while they are suspended; of others nothing can be seen. */
const SHOWS_SUSPENDED = /^(automation|switch|input_boolean|schedule)\./;

export function handDriver(run: Run, step: Step, turn: 'suspend' | 'resume'): void {
  const facts = factsOf(run, step);
  const entity = facts.driverEntity;
  if (entity === undefined) {
    closeStep(run, step, 'skipped', null, 'no hub entity to hand over');
    return;
  }
  // Giving something back may energise it: what holds before a start holds here.
  if (turn === 'resume' && facts.switchEntity !== undefined && startedAt(run) === null && !mayStart(run, step, facts))
    return;
  if (turn === 'resume' && !putBackOff(run, step, facts)) return;
  if (startedAt(run) === null) {
    restartProof(run);
    remember(run, 's.sentAt', run.at);
    remember(run, keyOf('taken', facts.id), turn === 'suspend' ? entity : null);
    remember(run, keyOf('takenAt', facts.id), turn === 'suspend' ? run.at : null);
    run.effects.push({ kind: 'driver', entity, turn, equipment: facts.id });
    if (!SHOWS_SUSPENDED.test(entity)) {
      closeStep(run, step, 'passed-unproven', 0, `${entity} told to ${turn}; nothing shows whether it did`);
      return;
    }
  }
  const wanted = turn === 'suspend' ? 0 : 1;
  const seen = freshAfter(run, entity, proofFrom(run));
  if (seen?.value === wanted) {
    closeStep(run, step, 'passed', 2, `${entity} reports ${turn === 'suspend' ? 'suspended' : 'active'}`);
  } else if (!passed(run, startedAt(run) ?? run.at, step.timeoutMs)) {
    askAfresh(run, [entity]);
  } else if (seen) {
    const text = `${entity} did not ${turn}: ${turn === 'suspend' ? 'it could switch' : 'nobody would switch'} ${facts.name}. Set it by hand, then resume.`;
    hold(run, 'not-proven', text);
  } else {
    closeStep(run, step, 'passed-unproven', 0, `${entity} told to ${turn}; it has not reported since`);
  }
}

/**
 * What was off before and was only tried goes off again before its driver has it back: a schedule acts at its next
 * time, which may be a night away. True once it is off, or was not such a thing.
 */
function putBackOff(run: Run, step: Step, facts: Facts): boolean {
  const { plan, stepIndex } = run.state;
  const start = plan.steps.findLast(
    (each, at) => at < stepIndex && each.action === 'switch-on' && each.equipment === facts.id,
  );
  if (start?.evenIfOff !== true || recallText(run, keyOf('was', facts.id)) !== 'off') return true;
  if (recallNumber(run, 's.putOff') === null && freshReading(run, facts.switchEntity)?.value === 0) return true;
  if (recallNumber(run, 's.putOff') === null) {
    sendCommand(run, step, facts, 'off');
    remember(run, 's.putOff', run.at);
    remember(run, 's.sentAt', null);
    say(run, `${facts.name} is put back off as before, under its driver.`);
  }
  const sentAt = recallNumber(run, 's.putOff') ?? run.at;
  if (freshAfter(run, facts.switchEntity, sentAt)?.value === 0) return true;
  if (!passed(run, Math.max(sentAt, openSince(run, step)), step.timeoutMs)) askAfresh(run, [facts.switchEntity]);
  else {
    remember(run, 's.putOff', null);
    hold(
      run,
      'not-proven',
      `${facts.name} was off before and does not go off again. Switch it off by hand, then resume; or abort.`,
    );
  }
  return false;
}
