import type { Actor } from '../model/index.ts';
import { isEnded, nameOf, passed, type Run, recallText, remember, say } from './run.ts';
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

/** I10: an abort energises nothing and stops nothing. What is off stays off and is listed; claims stand. */
export function abort(run: Run, actor: Actor): void {
  const who = actor.kind === 'unknown' ? `somebody (${actor.via})` : actor.name;
  run.state.status = 'aborting';
  run.state.records = run.state.records.map((record) =>
    record.result === 'open'
      ? { ...record, result: 'failed', closedAt: run.at, evidenceText: `${record.evidenceText} (aborted)`.trim() }
      : record.result === 'pending'
        ? { ...record, result: 'skipped' }
        : record,
  );
  end(run, 'aborted', `Aborted by ${who}. ${leftText(run)}`);
}

function leftText(run: Run): string {
  const { offNow, claims } = run.state;
  const off = offNow.map((id) => `${nameOf(run, id)}${wasOff(run, id) ? ' (was off before)' : ''}`);
  const suspended = run.state.plan.outOfService
    .map((id) => recallText(run, `taken.${id}`))
    .filter((entity) => entity !== null);
  const parts = [
    off.length > 0 ? `Off or not proved back: ${off.join(', ')}.` : 'Nothing was left off.',
    ...(claims.length > 0
      ? [`Claimed: ${claims.map((each) => `${nameOf(run, each.equipment)} by ${each.person}`).join(', ')}.`]
      : []),
    ...(suspended.length > 0 ? [`Still suspended in the hub: ${suspended.join(', ')}.`] : []),
    ...(off.length > 0 ? ['Bring these back by hand, in restore order.'] : []),
  ];
  return parts.join(' ');
}

const wasOff = (run: Run, id: string): boolean => recallText(run, `was.${id}`) === 'off';

function end(run: Run, result: 'complete' | 'stopped' | 'aborted', summary: string): void {
  const { state } = run;
  state.status = result;
  state.hold = null;
  state.prompt = null;
  state.endedAt = run.at;
  state.summary = summary;
  remember(run, 'endedAs', result);
  say(run, summary);
  run.effects.push({ kind: 'ended', result });
}
