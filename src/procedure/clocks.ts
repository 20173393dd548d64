import type { EquipmentId } from '../model/index.ts';
import { type DurationMs, formatSpan } from '../units/index.ts';
import { claimReminders } from './claims.ts';
import { safeStateDue } from './life-support.ts';
import { entitiesOfMovers, isMover, moversLeft, noneProved, startsAMover, stoppedAMover } from './movers.ts';
import {
  alarm,
  alarmOnce,
  alarmOver,
  askAfresh,
  hubIsDown,
  isEnded,
  keyOf,
  nameOf,
  openStepOf,
  passed,
  type Run,
  recallNumber,
  remember,
} from './run.ts';

/**
 * Clocks run on whatever else is lost: hub, service, the person. Two kinds govern a session. As long as a water mover is
 * proved to run, however long the work takes, each equipment has its own (its role's longest time off): it only tells.
 * From when none is proved the all-stop clock governs: it warns, alarms, and at its hard limit brings the declared safe
 * state about. A mover proved again ends it. So a long overhaul lives by the clocks of what it has out, not by the other.
 */
export function watchClocks(run: Run): void {
  claimReminders(run);
  if (isEnded(run.state) || run.state.status === 'idle') return;
  offClocks(run);
  allStopClock(run);
  endClock(run);
  unanswered(run);
}

function offClocks(run: Run): void {
  for (const id of run.state.offNow) {
    const offAt = recallNumber(run, keyOf('offAt', id));
    const { maxOffMs, warnOffMs } = run.ctx.equipment[id] ?? {};
    if (offAt !== null && warnOffMs !== undefined && passed(run, offAt, warnOffMs)) warnOfOff(run, id, warnOffMs);
    if (offAt === null || maxOffMs === undefined || !passed(run, offAt, maxOffMs)) continue;
    if (recallNumber(run, keyOf('told', keyOf('off', id))) !== null) continue;
    alarmOnce(run, keyOf('off', id), 'off-too-long', `${nameOf(run, id)} has been off for longer than it should.`);
  }
}

/**
 * Ordinary work shows this clock. Where the session stands still, nobody may be looking at it: then it is told. What is in
 * somebody's hands is not: the cord is out, and that person knows.
 */
function warnOfOff(run: Run, id: EquipmentId, warnOffMs: DurationMs): void {
  const { hold, claims } = run.state;
  if (hold === null || hold.reason === 'person-needed' || claims.some(({ equipment }) => equipment === id)) return;
  const off = `${nameOf(run, id)} has been off for ${formatSpan(warnOffMs)}`;
  const text = hubIsDown(run.state)
    ? `${off}, and the hub cannot be reached: the service cannot start it. Take every hand out of the water, then start it by hand, at the button of its plug or in another socket.`
    : `${off}, and the session stands still. Look at the tank, then resume; or start it by hand, with no hand in the water.`;
  alarmOnce(run, keyOf('offlong', id), 'off-long', text);
}

/** K16: since when no water mover is proved to run, or null. */
export const allStopSince = (run: Run): number | null => recallNumber(run, 'as.since');

function allStopClock(run: Run): void {
  const left = moversLeft(run);
  if (!stoppedAMover(run) || !noneProved(run, left)) {
    for (const key of ['as.since', 'as.hard']) remember(run, key, null);
    for (const key of ['as.warn', 'as.alarm', 'as.limit']) alarmOver(run, key);
    return;
  }
  askAfresh(run, entitiesOfMovers(run, left));
  const since = allStopSince(run) ?? (left.length === 0 ? lastStop(run) : run.at);
  remember(run, 'as.since', since);
  const { warnMs, alarmMs, hardMs } = run.state.plan.allStop ?? run.ctx.settings.allStop;
  const named = left.map((id) => nameOf(run, id)).join(', ');
  const what = left.length === 0 ? 'All water movers are off' : `No water mover is proved to run (${named})`;
  const told = (ms: number): string => `${what}, for ${Math.round(ms / 60_000)} min now.`;
  if (passed(run, since, hardMs) && !(run.state.status === 'running' && startsAMover(run))) {
    if (recallNumber(run, 'as.hard') === null) {
      remember(run, 'as.hard', run.at);
      safeStateDue(run, told(hardMs));
    }
  } else if (passed(run, since, alarmMs)) {
    // Said once; the hold and its reminders go on.
    alarmOnce(run, 'as.alarm', 'all-stop', `${told(alarmMs)} Start one now: by the session, or by hand.`);
  } else if (passed(run, since, warnMs)) {
    alarmOnce(run, 'as.warn', 'all-stop', `${told(warnMs)} The animals need it back soon.`);
  }
}

/** When the last of those we stopped went off. */
function lastStop(run: Run): number {
  const movers = run.state.offNow.filter((id) => isMover(run, id));
  return Math.max(...movers.map((id) => recallNumber(run, keyOf('offAt', id)) ?? run.at));
}

/** K33: what must be over before the dark is told once it is not. A time of day: never scaled. */
function endClock(run: Run): void {
  const { endBy, title } = run.state.plan;
  if (endBy === undefined || run.at < endBy || run.state.offNow.length === 0) return;
  const names = run.state.offNow.map((id) => nameOf(run, id)).join(', ');
  const text = `${title} should be over by now: it gets dark, and these are still off: ${names}. Bring the water movers back first.`;
  alarmOnce(run, 'endBy', 'too-late', text);
}

/** No hold is silent for ever: what waits for a person is told again and again. */
function unanswered(run: Run): void {
  const { hold, status, plan } = run.state;
  if (status !== 'held' || hold === null) return;
  const step = openStepOf(run.state);
  const everyMs = step?.holdPoint && hold.reason === 'person-needed' ? step.timeoutMs : run.ctx.settings.claimRemindMs;
  const last = Math.max(hold.since, recallNumber(run, 's.reminded') ?? 0);
  if (!passed(run, last, everyMs)) return;
  remember(run, 's.reminded', run.at);
  alarm(run, 'still-waiting', `${plan.title} still waits for a person: ${hold.text}`);
}
