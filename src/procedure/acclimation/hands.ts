import { formatClock } from '../../units/index.ts';
import { settled } from './edges.ts';
import { driverKnown, heldBy, justFreed, type Look, NO_EDGE, relayKnown, say, setDay } from './look.ts';
import type { OtherHand } from './types.ts';

/** Who switched the lamp: we, a session, the driver before it rests, or somebody else. */
export function noteRelay(look: Look): void {
  const { state, p, lamp } = look;
  const known = relayKnown(look);
  if (known === null) {
    state.blind = { ...state.blind, [lamp.switchEntity]: true };
    return;
  }
  const wasBlind = state.blind[lamp.switchEntity] === true;
  if (wasBlind) state.blind = { ...state.blind, [lamp.switchEntity]: false };
  const before = p.relay;
  if (before === known.value) return;
  p.relay = known.value;
  if (before === null || heldBy(look) !== null || p.status === 'taking-over' || p.day.hand?.turn === 'driver') return;
  if (isOurs(look, known.value) || justFreed(look)) return;
  if (wasBlind && known.value === 1 && look.plan.phase !== 'lit') revived(look);
  else otherHand(look, { turn: known.value === 1 ? 'on' : 'off', at: state.at }, wasBlind);
}

/** What was told and not yet seen done: this is it. */
function isOurs(look: Look, value: 0 | 1): boolean {
  const { day } = look.p;
  const names = value === 1 ? (['on'] as const) : (['early', 'off'] as const);
  const name = names.find((one) => day[one].tries > 0 && !day[one].done);
  if (name === undefined) return false;
  setDay(look, { [name]: { ...day[name], done: true } });
  settled(look);
  return true;
}

/** A plug that lost its mains and lights up at night: nobody's wish, and off is always allowed. */
function revived(look: Look): void {
  const { p, plan, lamp } = look;
  if (p.day.revived) return;
  setDay(look, { revived: true, [plan.phase === 'early' ? 'early' : 'off']: NO_EDGE });
  say(look, `${lamp.name} came on while it was out of sight, outside its light: it is switched off.`);
}

/** Respected for the rest of the light day and told once, unless it is what the plan wants anyway. */
function otherHand(look: Look, hand: OtherHand, unseen: boolean): void {
  const { p, plan, lamp, ctx } = look;
  if ((hand.turn === 'on') === (plan.phase === 'lit')) {
    setDay(look, { hand: null });
    if (hand.turn === 'on') setDay(look, { on: { ...p.day.on, done: true } });
    return;
  }
  setDay(look, { hand });
  if (p.day.handTold) return;
  setDay(look, { handTold: true });
  const who = unseen ? 'while it was out of sight' : 'by another hand';
  const then =
    hand.turn === 'off'
      ? 'it stays off until tomorrow, unless somebody switches it on'
      : plan.phase === 'early'
        ? `it stays lit until ${formatClock(plan.outAt, ctx.zone)}`
        : 'it stays lit until somebody switches it off, or the middle of the night';
  say(look, `${lamp.name} was switched ${hand.turn} ${who}: that is respected for this day, and ${then}.`);
}

/** What another hand did is what the plan wants by now: it goes on from there. */
export function handSettled(look: Look): void {
  const { p, plan } = look;
  const { hand } = p.day;
  if (hand === null || hand.turn === 'driver') return;
  if (hand.turn === 'on' && plan.phase === 'lit' && p.relay === 1)
    setDay(look, { hand: null, on: { ...p.day.on, done: true } });
  if (hand.turn === 'off' && plan.phase !== 'lit' && p.relay === 0) setDay(look, { hand: null });
}

/** The driver was given back by somebody else while we have the lamp. */
export function noteDriver(look: Look): void {
  const { state, p, lamp } = look;
  const known = driverKnown(look);
  if (known === null) {
    state.blind = { ...state.blind, [lamp.driverEntity]: true };
    return;
  }
  const wasBlind = state.blind[lamp.driverEntity] === true || justFreed(look);
  if (wasBlind) state.blind = { ...state.blind, [lamp.driverEntity]: false };
  if (known === 0) {
    p.driverOn = false;
    if (p.day.hand?.turn === 'driver') setDay(look, { hand: null });
    return;
  }
  if (p.status !== 'running' || heldBy(look) !== null) return;
  if (p.driverOn && !wasBlind) return;
  p.driverOn = true;
  if (p.day.hand?.turn === 'driver') return;
  if (wasBlind) {
    // After a session, or a restart of the hub: nobody's word against the programme.
    p.status = 'taking-over';
    p.take = NO_EDGE;
    return;
  }
  setDay(look, { hand: { turn: 'driver', at: state.at }, handTold: true });
  say(
    look,
    `${lamp.driverEntity} was resumed by another hand: ${lamp.name} is left to it for this day. Tomorrow it is suspended again; to end the programme: slackwater acclimation stop ${lamp.id}`,
  );
}
