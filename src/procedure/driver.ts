import type { EntityId, EquipmentId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import type { InstantMs } from '../units/index.ts';
import { scaled } from './context.ts';
import { freshAfter, freshReading, fromTheFuture, proofFrom, restartProof } from './evidence.ts';
import { touchedBy } from './left.ts';
import { mayStart } from './may-start.ts';
import {
  askAfresh,
  closeStep,
  hold,
  keyOf,
  nameOf,
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

/** Hub entities that read 0 while they are suspended, and 1 at work. */
const SWITCHLIKE = /^(automation|switch|input_boolean|schedule)\./;
export const driverReadsOnOff = (entity: EntityId): boolean => SWITCHLIKE.test(entity);
/** Those that tell whether they are at work, a thermostat by its mode; of others nothing can be seen. */
export const driverTells = (entity: EntityId): boolean => driverReadsOnOff(entity) || entity.startsWith('climate.');

/** What a driver's entity tells of itself. A thermostat at work is in some mode, and says which. */
export function driverShows(entity: EntityId, reading: Reading | undefined): 'active' | 'suspended' | null {
  if (reading === undefined || !driverTells(entity)) return null;
  if (reading.value === 0) return 'suspended';
  return reading.value === 1 || (reading.value === null && reading.word !== undefined) ? 'active' : null;
}

/** What it told since `from`, if that can be believed yet. */
function shownSince(run: Run, entity: EntityId, from: InstantMs): 'active' | 'suspended' | null {
  const reading = run.state.readings[entity];
  const isOld = reading === undefined || reading.reportedAt <= from || fromTheFuture(reading, run.at);
  return isOld || run.at - reading.reportedAt > scaled(run.ctx.settings.freshMs, run.ctx)
    ? null
    : driverShows(entity, reading);
}

export function handDriver(run: Run, step: Step, turn: 'suspend' | 'resume'): void {
  const facts = factsOf(run, step);
  const entity = facts.driverEntity;
  if (entity === undefined) {
    closeStep(run, step, 'skipped', null, 'no hub entity to hand over');
    return;
  }
  if (turn === 'resume') {
    const later = ruledToo(run, facts.id, entity).filter((id) => comesLater(run, id));
    if (later.length > 0) {
      const names = later.map((id) => nameOf(run, id)).join(', ');
      closeStep(run, step, 'passed', null, `${entity} rules ${names} too, and is given back with it`);
      return;
    }
  }
  // Giving something back may energise it: what holds before a start holds here.
  if (
    turn === 'resume' &&
    startedAt(run) === null &&
    !mayStartAll(run, step, [facts.id, ...ruledToo(run, facts.id, entity)])
  )
    return;
  if (turn === 'resume' && !putBackOff(run, step, facts)) return;
  if (startedAt(run) === null) {
    restartProof(run);
    remember(run, 's.sentAt', run.at);
    if (turn === 'suspend') {
      remember(run, keyOf('taken', facts.id), entity);
      remember(run, keyOf('takenAt', facts.id), run.at);
    }
    run.effects.push({ kind: 'driver', entity, turn, equipment: facts.id });
    if (!driverTells(entity)) {
      closeDriver(run, step, turn, entity, `${entity} told to ${turn}; nothing shows whether it did`);
      return;
    }
  }
  const wanted = turn === 'suspend' ? 'suspended' : 'active';
  const seen = shownSince(run, entity, proofFrom(run));
  if (seen === wanted) {
    closeDriver(run, step, turn, entity, null);
  } else if (!passed(run, startedAt(run) ?? run.at, step.timeoutMs)) {
    askAfresh(run, [entity]);
  } else if (seen !== null) {
    const text = `${entity} did not ${turn}: ${turn === 'suspend' ? 'it could switch' : 'nobody would switch'} ${facts.name}. Set it by hand, then resume.`;
    hold(run, 'not-proven', text);
  } else {
    closeDriver(run, step, turn, entity, `${entity} told to ${turn}; it has not reported since`);
  }
}

/** Whatever the driver rules, it may switch on at once. */
const mayStartAll = (run: Run, step: Step, ids: readonly EquipmentId[]): boolean =>
  ids.every((id) => {
    const facts = run.ctx.equipment[id];
    return facts?.switchEntity === undefined || mayStart(run, step, { ...facts, id });
  });

/** Taken until it is given back, not until that is said: what was said may never have gone out. */
function closeDriver(
  run: Run,
  step: Step,
  turn: 'suspend' | 'resume',
  entity: EntityId,
  unproven: string | null,
): void {
  const id = step.equipment ?? '';
  if (turn === 'resume') for (const each of [id, ...ruledToo(run, id, entity)]) forgetTaken(run, each);
  if (unproven !== null) closeStep(run, step, 'passed-unproven', 0, unproven);
  else closeStep(run, step, 'passed', 2, `${entity} reports ${turn === 'suspend' ? 'suspended' : 'active'}`);
}

/** What the session took from the same driver. It comes back with the last of them, or it would switch what is still kept off. */
const ruledToo = (run: Run, except: EquipmentId, entity: EntityId): readonly EquipmentId[] =>
  touchedBy(run.state.plan).filter((id) => id !== except && recallText(run, keyOf('taken', id)) === entity);

const comesLater = (run: Run, id: EquipmentId): boolean =>
  run.state.plan.steps.some(
    (each, at) => at > run.state.stepIndex && each.action === 'hand-back' && each.equipment === id,
  );

export function forgetTaken(run: Run, id: EquipmentId): void {
  remember(run, keyOf('taken', id), null);
  remember(run, keyOf('takenAt', id), null);
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
