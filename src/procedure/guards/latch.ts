import type { EquipmentId, GuardDef, GuardId } from '../../model/index.ts';
import { HOUR_MS } from '../../units/index.ts';
import type { GuardedEquipment, Latch } from './types.ts';
import { ask, entitiesOf, equipmentOf, heardOf, lastValue, nameOf, recall, remember, type Work } from './work.ts';

const REMIND_FIRST_MS = HOUR_MS;
const REMIND_AGAIN_MS = 24 * HOUR_MS;

export const latchCode = (guard: GuardId): string => `guard_${guard}`;

/** A water mover is never a guard's to stop; neither is what a session has in its hands. */
const mayStop = (work: Work, id: EquipmentId): boolean =>
  equipmentOf(work, id)?.waterMover === false && !work.inSession.includes(id);

/** Recorded first, then off, then told. Nothing where a session has all of it in its hands. */
export function trip(work: Work, guard: GuardDef, reason: string): void {
  const equipment = guard.off.filter((id) => mayStop(work, id));
  const onlyTold = guard.off.filter((id) => equipmentOf(work, id)?.waterMover === true);
  if (equipment.length === 0 && onlyTold.length === 0) return;
  const names = equipment.map((id) => nameOf(work, id)).join(', ');
  const done = equipment.length === 0 ? '' : ` Off until a person resets it: ${names}.`;
  const movers = onlyTold.map((id) => nameOf(work, id)).join(', ');
  const kept = onlyTold.length === 0 ? '' : ` Not switched, since water must keep moving: ${movers}.`;
  const text = `${guard.name}: ${reason}.${done}${kept}`;
  work.latches[guard.id] = {
    guard: guard.id,
    name: guard.name,
    since: work.at,
    reason,
    equipment,
    sent: {},
    provedOff: [],
    told: [],
    remindAt: work.at + REMIND_FIRST_MS / work.ctx.settings.timeFactor,
  };
  work.effects.push({ kind: 'record', change: 'latched', guard: guard.id, equipment, text: reason, by: 'guard' });
  for (const id of equipment) sendOff(work, guard.id, id);
  work.effects.push({ kind: 'alarm', code: latchCode(guard.id), text });
}

/** Looks after a latch that stands: proves the off, sends it again within its rate, tells other hands, reminds. */
export function keepOff(work: Work, guard: GuardId): void {
  for (const id of work.latches[guard]?.equipment ?? []) {
    const one = equipmentOf(work, id);
    if (one !== undefined && mayStop(work, id)) keepOneOff(work, guard, one);
  }
  remind(work, guard);
}

function keepOneOff(work: Work, guard: GuardId, one: GuardedEquipment): void {
  noteReports(work, guard, one);
  const latch = work.latches[guard];
  const from = recall(work, guard, `from ${one.id}`);
  if (latch === undefined) return;
  if (from === null) {
    sendOff(work, guard, one.id);
    return;
  }
  const seen = seenState(work, guard, one);
  if (seen === 'off') {
    if (!latch.provedOff.includes(one.id)) change(work, guard, { provedOff: [...latch.provedOff, one.id] });
    remember(work, guard, `tries ${one.id}`, 0);
    told(work, guard, `unproved ${one.id}`, null);
    told(work, guard, `came on ${one.id}`, null);
    return;
  }
  if (seen === 'on' && latch.provedOff.includes(one.id)) {
    change(work, guard, { provedOff: latch.provedOff.filter((id) => id !== one.id) });
    told(
      work,
      guard,
      `came on ${one.id}`,
      `${one.name} came on although the guard ${latch.name} holds it off. It is switched off again; stop what switched it on`,
    );
    sendOff(work, guard, one.id);
    return;
  }
  if (latch.provedOff.includes(one.id)) return;
  notProved(work, guard, one, { from, isOn: seen === 'on' });
}

function notProved(
  work: Work,
  guard: GuardId,
  one: GuardedEquipment,
  { from, isOn }: { readonly from: number; readonly isOn: boolean },
): void {
  const { resendMs, unprovedMs } = work.ctx.settings;
  const isAsked = askFor(work, guard, one);
  const waits = recall(work, guard, `waits ${one.id}`) ?? from;
  // Asked first, and given time to answer: also where this process stood still meanwhile.
  const asked = recall(work, guard, `asked ${one.id}`);
  if (asked === null && isAsked) remember(work, guard, `asked ${one.id}`, work.at);
  if (isOn || (asked !== null && work.at - asked >= 2 * resendMs)) sendOff(work, guard, one.id);
  // After a start with the hub away nothing was sent and nothing could be read: that is told elsewhere.
  const isNews = work.hubUp || (work.latches[guard]?.sent[one.id] ?? []).length > 0;
  if (work.at - waits < unprovedMs || !isNews) return;
  const reason = work.latches[guard]?.reason ?? '';
  told(
    work,
    guard,
    `unproved ${one.id}`,
    `${one.name} was told to go off (${reason}) and is not proved off. Pull its plug with dry hands`,
  );
}

/** Also for a guard that is no longer configured. */
const askFor = (work: Work, guard: GuardId, one: GuardedEquipment): boolean => ask(work, guard, entitiesOf(one));

/** The hub is back: what was proved before says nothing of now. */
export function reread(work: Work): void {
  for (const { guard, equipment, provedOff } of Object.values(work.latches))
    for (const id of equipment) {
      remember(work, guard, `from ${id}`, work.at);
      remember(work, guard, `since ${id}`, work.seq);
      remember(work, guard, `asked ${id}`, null);
      if (!provedOff.includes(id)) remember(work, guard, `waits ${id}`, work.at);
    }
}

/** In which step each kind of report last came: only what came after the "off" proves anything. */
function noteReports(work: Work, guard: GuardId, one: GuardedEquipment): void {
  if (heardOf(work, one.switchEntity)) remember(work, guard, `relay ${one.id}`, work.seq);
  if (heardOf(work, one.powerEntity)) remember(work, guard, `watts ${one.id}`, work.seq);
}

function seenState(work: Work, guard: GuardId, one: GuardedEquipment): 'on' | 'off' | 'unknown' {
  const since = recall(work, guard, `since ${one.id}`) ?? work.seq;
  const isNew = (key: string): boolean => (recall(work, guard, `${key} ${one.id}`) ?? since) > since;
  const relay = isNew('relay') ? lastValue(work, one.switchEntity) : null;
  const watts = isNew('watts') ? lastValue(work, one.powerEntity) : null;
  if ((relay ?? 0) > 0 || (watts ?? 0) > work.ctx.settings.offMaxW) return 'on';
  if (relay === null || (one.powerEntity !== undefined && watts === null)) return 'unknown';
  return 'off';
}

/** Sends "off" if its rate allows; a hub that is away is not asked, and the first look after its return sends it. */
export function sendOff(work: Work, guard: GuardId, id: EquipmentId): void {
  const latch = work.latches[guard];
  const entity = equipmentOf(work, id)?.switchEntity;
  if (latch === undefined || entity === undefined || !work.hubUp || !mayStop(work, id)) return;
  const { resendMs, resendWindowMs, resendMost } = work.ctx.settings;
  const sent = (latch.sent[id] ?? []).filter((at) => work.at - at < resendWindowMs);
  const last = sent.at(-1);
  const tries = recall(work, guard, `tries ${id}`) ?? 0;
  if ((last !== undefined && work.at - last < resendMs) || sent.length >= resendMost || tries >= resendMost) return;
  change(work, guard, { sent: { ...latch.sent, [id]: [...sent, work.at] } });
  remember(work, guard, `tries ${id}`, tries + 1);
  remember(work, guard, `from ${id}`, work.at);
  remember(work, guard, `since ${id}`, work.seq);
  remember(work, guard, `asked ${id}`, null);
  if (tries === 0) remember(work, guard, `waits ${id}`, work.at);
  work.effects.push({ kind: 'off', guard, equipment: id, entity });
}

function change(work: Work, guard: GuardId, changes: Partial<Latch>): void {
  const latch = work.latches[guard];
  if (latch !== undefined) work.latches[guard] = { ...latch, ...changes };
}

/** Said once until its cause is gone; `null` takes it back. */
function told(work: Work, guard: GuardId, what: string, text: string | null): void {
  const latch = work.latches[guard];
  if (latch === undefined) return;
  const code = `${latchCode(guard)}_${what.replaceAll(/[^a-z0-9]+/gi, '_')}`;
  const isTold = latch.told.includes(code);
  if (text === null) {
    if (!isTold) return;
    change(work, guard, { told: latch.told.filter((one) => one !== code) });
    work.effects.push({ kind: 'alarm-over', code });
  } else if (!isTold) {
    change(work, guard, { told: [...latch.told, code] });
    work.effects.push({ kind: 'alarm', code, text: `${text}.` });
  }
}

/** What the hub said of an "off" that was sent; a refusal is told at once, since nothing else will happen. */
export function offEnded(work: Work, guard: GuardId, id: EquipmentId, outcome: string, detail: string): void {
  if (outcome !== 'refused' && outcome !== 'invalid') return;
  told(
    work,
    guard,
    `unproved ${id}`,
    `${nameOf(work, id)} could not be switched off (${detail}). Pull its plug with dry hands`,
  );
}

function remind(work: Work, guard: GuardId): void {
  const latch = work.latches[guard];
  if (latch === undefined || work.at < latch.remindAt) return;
  change(work, guard, { remindAt: work.at + REMIND_AGAIN_MS / work.ctx.settings.timeFactor });
  const names = latch.equipment.map((id) => nameOf(work, id)).join(', ');
  work.effects.push({
    kind: 'alarm',
    code: latchCode(guard),
    text: `${latch.name} still holds ${names === '' ? 'its alarm' : `${names} off`}: ${latch.reason}. Put it right, then reset it with: slackwater guard reset ${guard}`,
  });
}

/** Everything this latch told is over. */
export function release(work: Work, guard: GuardId): void {
  const latch = work.latches[guard];
  if (latch === undefined) return;
  for (const code of [latchCode(guard), ...latch.told]) work.effects.push({ kind: 'alarm-over', code });
  delete work.latches[guard];
}
