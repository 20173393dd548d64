import { problem, type SlackwaterError } from '../errors/index.ts';
import type { EquipmentId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import { inSessionTime, isSince } from './evidence.ts';
import { switchOffAgain } from './foreign.ts';
import {
  alarm,
  alarmOnce,
  alarmOver,
  hold,
  isEnded,
  keyOf,
  nameOf,
  passed,
  type Run,
  recallNumber,
  remember,
} from './run.ts';
import { watts } from './switching.ts';
import type { Claim, EngineContext, SessionState } from './types.ts';

/** Why this person may not release; null = may. */
export function releaseRefusal(
  state: SessionState,
  equipment: EquipmentId,
  person: string,
  ctx: EngineContext,
): SlackwaterError | null {
  const claim = state.claims.find((each) => each.equipment === equipment);
  const name = ctx.equipment[equipment]?.name ?? equipment;
  if (!claim) return problem('SW-SES-009', { equipment: name });
  if (claim.person === person || claim.deputy === person) return null;
  return problem('SW-SES-010', { equipment: name, owner: claim.person, person });
}

export function releaseClaim(run: Run, equipment: EquipmentId): void {
  run.state.claims = run.state.claims.filter((each) => each.equipment !== equipment);
  for (const key of [`hot.${equipment}`, `told.claim.${equipment}`, `reminded.${equipment}`]) remember(run, key, null);
}

/** K17: a claim never expires, and is never forgotten either: its person is reminded of it, also after the session. */
export function claimReminders(run: Run): void {
  const everyMs = run.ctx.settings.claimRemindMs;
  for (const claim of run.state.claims) {
    const key = keyOf('reminded', claim.equipment);
    // A question that stands open is told again by itself, claims and all.
    const last = Math.max(claim.since, recallNumber(run, key) ?? 0, recallNumber(run, 's.reminded') ?? 0);
    if (!passed(run, last, everyMs) || asksNow(run)) continue;
    remember(run, key, run.at);
    const deputy = claim.deputy === undefined ? '' : ` or ${claim.deputy}`;
    const text = `${nameOf(run, claim.equipment)} is still claimed by ${claim.person} and stays off. ${claim.person}${deputy} releases it, with hands out of the water.`;
    alarm(run, 'claim-stands', text);
  }
}

const asksNow = (run: Run): boolean => run.state.status === 'held';

/** K17, K30: a claimed equipment that comes alive by any hand but ours alarms at once, and everything stops. */
export function watchClaims(run: Run): void {
  for (const claim of run.state.claims) {
    const text = claimAlive(run, claim);
    if (text === null) alarmOver(run, keyOf('claim', claim.equipment));
    else if (alarmOnce(run, keyOf('claim', claim.equipment), 'foreign-hand', text) && !isEnded(run.state)) {
      hold(run, 'foreign-hand', text);
      switchOffAgain(run, claim.equipment);
    }
  }
}

/** Each time that a claimed equipment comes alive is told, however short it was dead in between. */
export function noteDeadAgain(run: Run, reading: Reading): void {
  if (reading.value !== 0) return;
  for (const { equipment } of run.state.claims) {
    const isRelay = run.ctx.equipment[equipment]?.switchEntity === reading.entity;
    if (isRelay && recallNumber(run, keyOf('hot', equipment)) === null) alarmOver(run, keyOf('claim', equipment));
  }
}

/** What shows that a claimed equipment is alive; null = nothing does. */
export function claimAlive(run: Run, claim: Claim): string | null {
  const facts = run.ctx.equipment[claim.equipment];
  const name = nameOf(run, claim.equipment);
  const relay = facts?.switchEntity === undefined ? undefined : run.state.readings[facts.switchEntity];
  const next = `It is claimed by ${claim.person}. Hands out of the water now; find out what switched it, then resume.`;
  if (relay && relay.value !== null && relay.value !== 0 && isSince(run, relay, claim.since)) {
    return `${name} was switched on by other hands. ${next}`;
  }
  const power = facts?.powerEntity === undefined ? undefined : run.state.readings[facts.powerEntity];
  const key = keyOf('hot', claim.equipment);
  const known = power !== undefined && power.value !== null && isSince(run, power, claim.since);
  if (known && (power.value ?? 0) <= run.ctx.settings.claimWattsW) remember(run, key, null);
  else if (known && recallNumber(run, key) === null) remember(run, key, inSessionTime(run, power));
  // A gap ends nothing: only a reading that shows it dead does.
  const hotSince = recallNumber(run, key);
  if (hotSince === null) return null;
  if (!passed(run, hotSince, run.ctx.settings.claimWattsForMs)) return null;
  return `${name} draws ${known ? watts(power.value ?? 0) : 'watts'} though it is unplugged: it was plugged in again, or another cord was pulled. ${next}`;
}
