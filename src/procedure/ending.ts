import type { Actor, EntityId, EquipmentId } from '../model/index.ts';
import { forgetTaken } from './driver.ts';
import { freshReading } from './evidence.ts';
import { notBackNow } from './finish.ts';
import { leftText, touchedBy } from './left.ts';
import { safeStateOfAbort } from './life-support.ts';
import {
  claimOn,
  end,
  hubIsDown,
  isEnded,
  keyOf,
  nameOf,
  passed,
  type Run,
  recallNumber,
  recallText,
  remember,
  say,
} from './run.ts';
import type { StepRecord } from './types.ts';

/** A plan nobody confirms goes away; nothing was switched. */
export function endIfIdle(run: Run): void {
  if (run.state.status !== 'idle' || !passed(run, run.state.startedAt, run.ctx.settings.answerMs)) return;
  end(run, 'stopped', 'Nobody confirmed the plan in time. Nothing was switched.');
}

export function endIfDone(run: Run): void {
  if (isEnded(run.state)) return;
  const { records, plan } = run.state;
  const on = plan.steps.filter((step) => step.action === 'switch-on');
  const named = (wanted: (record: StepRecord | undefined) => boolean): string =>
    on
      .filter((step) => wanted(records.find((record) => record.id === step.id)))
      .map((step) => nameOf(run, step.equipment ?? ''))
      .join(', ');
  const parts = [
    ['Back and proved', named((record) => record?.result === 'passed')],
    ['reported on, not proven', named((record) => record?.result === 'passed-unproven')],
    ['left off as before', named((record) => record?.result === 'skipped')],
  ].filter(([, names]) => names !== '');
  end(
    run,
    'complete',
    parts.length === 0 ? 'Done.' : `${parts.map(([what, names]) => `${what}: ${names}`).join('; ')}.`,
  );
}

/**
 * I10: an abort stops nothing, and energises nothing beyond what was agreed. Where no water moves at that moment it ends
 * in the declared safe state; everywhere else what is off stays off and is listed, and claims stand.
 */
export function abort(run: Run, actor: Actor): void {
  const who = actor.kind === 'unknown' ? `somebody (${actor.via})` : actor.name;
  const { state } = run;
  const said = `Aborted by ${who}.`;
  if (state.status === 'aborting') {
    // Not endlessly: a second word of a person ends it as it stands.
    if (actor.kind === 'person') end(run, 'aborted', `${said} ${leftText(run)}`);
    return;
  }
  giveBackDrivers(run);
  const gone = notBackNow(run).filter((id) => !state.offNow.includes(id));
  if (gone.length > 0) state.offNow = [...state.offNow, ...gone];
  if (recallNumber(run, 'as.since') !== null && safeStateOfAbort(run)) {
    state.status = 'aborting';
    state.hold = null;
    state.prompt = null;
    remember(run, 'aborted', said);
    say(run, `${said} No water mover is proved to run: what was agreed is restarted first.`);
    return;
  }
  end(run, 'aborted', `${said} ${leftText(run)}`);
}

/**
 * A driver goes back only to what is not off: proved back, or never switched, and so is all else that it rules. Otherwise
 * it stays suspended, and is listed.
 */
function giveBackDrivers(run: Run): void {
  if (hubIsDown(run.state)) return;
  const takenBy = new Map<EntityId, EquipmentId[]>();
  for (const id of touchedBy(run.state.plan)) {
    const entity = recallText(run, keyOf('taken', id));
    if (entity !== null) takenBy.set(entity, [...(takenBy.get(entity) ?? []), id]);
  }
  for (const [entity, ids] of takenBy) {
    const [first] = ids;
    if (first === undefined || !ids.every((id) => mayHaveItsDriver(run, id))) continue;
    for (const id of ids) forgetTaken(run, id);
    run.effects.push({ kind: 'driver', entity, turn: 'resume', equipment: first });
  }
}

function mayHaveItsDriver(run: Run, id: EquipmentId): boolean {
  const relay = freshReading(run, run.ctx.equipment[id]?.switchEntity);
  if (relay === null || run.state.offNow.includes(id) || claimOn(run.state, id)) return false;
  // What we told off and what reads off would be energised by its driver: it waits for a person.
  return recallNumber(run, keyOf('offAt', id)) === null || relay.value !== 0;
}
