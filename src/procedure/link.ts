import type { DurationMs } from '../units/index.ts';
import { claimAlive } from './claims.ts';
import { freshAfter, MAX_SKEW_MS } from './evidence.ts';
import { forgetFlow } from './flow.ts';
import { goesHome } from './going-home.ts';
import { forgetLevel } from './level.ts';
import { inSafeState, rereadForSafeState } from './life-support.ts';
import { isMover } from './movers.ts';
import { forgetObservation } from './observed.ts';
import { allDisturbed } from './quiet.ts';
import {
  alarmOver,
  askAfresh,
  claimOn,
  clocksDisagree,
  end,
  forgetTold,
  hold,
  hubIsDown,
  isEnded,
  keepReading,
  nameOf,
  openStepOf,
  passed,
  type Run,
  recallNumber,
  remember,
} from './run.ts';
import { lookBeforeSending } from './switching.ts';
import { cameOn, drawsWhileOff, keptOff } from './watch.ts';

/** Time to hear from everything again after a resume. */
const REREAD_MS = 90_000;

/** The world was out of sight, or time itself: what was seen before proves nothing any more. */
function upset(run: Run): void {
  remember(run, 'shaken', 1);
  remember(run, 'upsetAt', run.at);
  forgetLevel(run);
  forgetFlow(run);
  allDisturbed(run);
  rereadForSafeState(run);
}

/** K21: stand still. The clocks run on, nothing is commanded, nothing can be answered. */
export function hubLost(run: Run): void {
  const { state } = run;
  if (isEnded(state)) return;
  if (recallNumber(run, 'hub.lostAt') === null) remember(run, 'hub.lostAt', run.at);
  upset(run);
  state.prompt = null;
  if (state.status === 'idle') return;
  if (state.status === 'held' && state.hold && state.hold.reason !== 'person-needed') return;
  hold(run, 'hub-lost', 'The hub cannot be reached. Nothing is known and nothing is switched until it is back.');
}

/** A short gap: everything is read again before the session goes on. A long one needs a person's word first. */
export function hubBack(run: Run): void {
  const { state } = run;
  const lostAt = recallNumber(run, 'hub.lostAt');
  remember(run, 'hub.lostAt', null);
  state.prompt = null;
  if (!isEnded(state)) upset(run);
  if (isEnded(state) || state.status !== 'held' || state.hold?.reason !== 'hub-lost') return;
  if (lostAt !== null && !clocksDisagree(run) && !passed(run, lostAt, run.ctx.settings.hubGapMs)) {
    resume(run);
    return;
  }
  const away = lostAt === null ? 0 : Math.round((run.at - lostAt) / 1000);
  hold(
    run,
    'hub-lost',
    `The hub was away for ${away} s. Look at the tank, then resume: everything is read again first.`,
  );
}

/** After a restart nothing moves until a person says so, and then only after reading everything again. */
export function serviceRestarted(run: Run, changed: readonly string[] = []): void {
  const { state } = run;
  state.prompt = null;
  if (changed.length > 0 || state.changed !== undefined) state.changed = changed;
  // An alarm of the moment before may never have gone out: what still stands is told again.
  forgetTold(run);
  if (isEnded(state)) return;
  remember(run, 'hub.lostAt', null);
  upset(run);
  if (state.status === 'idle') {
    if (changed.length > 0)
      end(
        run,
        'stopped',
        `The configuration was changed: ${changed.join('; ')}. Nothing was switched; start it again.`,
      );
    return;
  }
  const text = `The service was restarted. ${changedText(changed)}Look at the tank, then resume: everything is read again first.`;
  hold(run, 'service-restarted', text);
}

/** A session goes by the tank it knows: another one in mid-way would make other steps of what has been done. */
const changedText = (changed: readonly string[]): string =>
  changed.length === 0
    ? ''
    : `The configuration was changed in mid-session (${changed.join('; ')}): the session keeps to what it was started with. If that is still so in the cabinet, finish it; if not, abort and bring the rest back by hand, or put the configuration back and restart. `;

/** I7: the times of the session moved along with the clock already; beyond what clocks may differ, a person looks first. */
export function clockJumped(run: Run, byMs: number): void {
  const { state } = run;
  if (isEnded(state)) return;
  remember(run, 'jumped', (recallNumber(run, 'jumped') ?? 0) + byMs);
  upset(run);
  state.prompt = null;
  if (state.status === 'idle' || hubIsDown(state) || clocksDisagree(run)) return;
  if (Math.abs(byMs) <= MAX_SKEW_MS) {
    if (state.status === 'running') resume(run);
    return;
  }
  const turned = `The clock of the service was put ${byMs > 0 ? 'forward' : 'back'} by ${Math.round(Math.abs(byMs) / 1000)} s.`;
  hold(run, 'contradiction', `${turned} Look at the tank, then resume: everything is read again first.`);
}

/** What the two clocks moved apart by, less what ours was set by, the hub's was set by: what it dated moves along with it. */
function followHubClock(run: Run, skewMs: DurationMs): void {
  const before = recallNumber(run, 'skewed') ?? 0;
  const movedMs = skewMs - before + (recallNumber(run, 'jumped') ?? 0);
  remember(run, 'jumped', null);
  if (Math.abs(movedMs) <= MAX_SKEW_MS) return;
  for (const reading of Object.values(run.state.readings)) {
    keepReading(run, {
      ...reading,
      changedAt: reading.changedAt + movedMs,
      reportedAt: reading.reportedAt + movedMs,
    });
  }
}

/** While hub and service disagree on the time nothing can be judged fresh; afterwards a person's word is needed (I7). */
export function clocksCompared(run: Run, skewMs: number): void {
  const { state } = run;
  const seconds = (Math.abs(skewMs) / 1000).toFixed(1);
  const apart = Math.abs(skewMs) > MAX_SKEW_MS;
  followHubClock(run, skewMs);
  if (!apart && recallNumber(run, 'skewed') === null) return;
  remember(run, 'skewed', apart ? skewMs : null);
  if (isEnded(state)) return;
  upset(run);
  state.prompt = null;
  if (state.status === 'idle' || hubIsDown(state)) return;
  const text = apart
    ? `The clocks of hub and service disagree by ${seconds} s: nothing can be judged fresh, and nothing is switched until they agree.`
    : 'The clocks of hub and service agree again. Look at the tank, then resume: everything is read again first.';
  hold(run, 'contradiction', text);
}

/** The open step is taken up again where it was, its evidence gathered anew and its command not repeated blindly. */
export function resume(run: Run): void {
  const { state } = run;
  state.status = 'restarting';
  state.hold = null;
  // A sump that still stands too high after a person's word is an alarm anew.
  for (const key of ['rise', 'rise-unsure']) alarmOver(run, key);
  remember(run, 'resumedAt', run.at);
  // A person took it up again: what is still missing of the agreed restarts comes in its turn now.
  if (inSafeState(run)) remember(run, 'ls.on', null);
  const step = openStepOf(state);
  if (step?.action === 'switch-off' || step?.action === 'switch-on') lookBeforeSending(run);
  else if (step?.action === 'take-over' || step?.action === 'hand-back') remember(run, 's.sentAt', null);
  else if (step?.action === 'observe') forgetObservation(run);
}

/** True once everything we keep off has been heard since the resume, and is off. */
export function reread(run: Run): boolean {
  const since = recallNumber(run, 'resumedAt') ?? run.at;
  const ids = keptOff(run).filter((id) => run.ctx.equipment[id]?.switchEntity !== undefined && !claimOn(run.state, id));
  const strange = ids.filter((id) => !(goesHome(run) && isMover(run, id)));
  const on = strange.filter((id) => cameOn(run, id));
  const drawing = strange.filter((id) => drawsWhileOff(run, id) !== null);
  const hot = drawing.filter((id) => freshAfter(run, run.ctx.equipment[id]?.powerEntity, since) !== null);
  const alive = run.state.claims.map((claim) => claimAlive(run, claim)).find((text) => text !== null);
  // What drew watts when it was last heard is asked again before it is held for that.
  const silent = ids.filter(
    (id) =>
      freshAfter(run, run.ctx.equipment[id]?.switchEntity, since) === null ||
      (drawing.includes(id) && !hot.includes(id)),
  );
  const names = (list: readonly string[]): string => list.map((id) => nameOf(run, id)).join(', ');
  if (silent.length > 0) {
    if (passed(run, since, REREAD_MS)) {
      hold(
        run,
        'unknown-reading',
        `Not heard since the resume: ${names(silent)}. Check these plugs, then resume; or abort.`,
      );
    } else {
      askAfresh(
        run,
        silent.flatMap((id) => [run.ctx.equipment[id]?.switchEntity, run.ctx.equipment[id]?.powerEntity]),
      );
    }
    return false;
  }
  if (on.length > 0) {
    hold(run, 'foreign-hand', `Still on though it should be off: ${names(on)}. Switch it off, then resume; or abort.`);
    return false;
  }
  if (hot.length > 0) {
    hold(run, 'contradiction', `Reads off but still draws watts: ${names(hot)}. Unplug it, then resume; or abort.`);
    return false;
  }
  if (alive !== undefined) {
    hold(run, 'foreign-hand', alive);
    return false;
  }
  run.state.status = 'running';
  return true;
}
