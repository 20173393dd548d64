import { isOpen } from './edges.ts';
import {
  askAfresh,
  askedEnough,
  driverKnown,
  type Look,
  mayAct,
  NO_EDGE,
  noTrouble,
  relayFresh,
  say,
  showsSuspended,
  trouble,
  unknownMs,
} from './look.ts';
import type { AcclimationInput } from './types.ts';

/** The driver rests before anything else is done; until then the lamp is the driver's. */
export function workTake(look: Look): void {
  const { p } = look;
  if (!mayAct(look) || p.day.hand?.turn === 'driver') return;
  if (driverKnown(look) === 0) {
    p.status = 'running';
    p.take = NO_EDGE;
    p.driverOn = false;
    askedEnough(look);
    noTrouble(look);
    return;
  }
  if (driverKnown(look) === null && showsSuspended(look)) {
    askAfresh(look);
    return;
  }
  tell(look, 'suspend');
}

/** Given back once, from a plug that is heard and free; a session or a person may have done it already. */
export function workGiveBack(look: Look): void {
  const { state, p, ctx, lamp } = look;
  if (!mayAct(look)) return;
  // A word to the driver may still be on its way; what it says then is from before.
  const toldAt = p.take.sentAt ?? Number.NEGATIVE_INFINITY;
  if (p.take.tries === 0 && state.at - toldAt < ctx.verifyMs) return;
  if (driverKnown(look) === 1 && (state.heard[lamp.driverEntity] ?? 0) > toldAt) {
    end(look);
    return;
  }
  if (isOpen(p.day.on) || isOpen(p.day.off) || isOpen(p.day.early)) return;
  if (relayFresh(look) === null) {
    askAfresh(look);
    if (unknownMs(look) >= ctx.unknownMs)
      trouble(look, `${lamp.name} is not given back to its driver yet: its plug has not been heard.`);
    return;
  }
  askedEnough(look);
  tell(look, 'resume');
}

function end(look: Look): void {
  const { p, lamp } = look;
  p.status = 'over';
  p.take = { ...p.take, done: true };
  p.driverOn = true;
  noTrouble(look);
  say(look, `${lamp.name} is under its driver again (${lamp.driverEntity}): ${p.why}.`);
}

function tell(look: Look, turn: 'suspend' | 'resume'): void {
  const { state, ctx, p, lamp, effects } = look;
  const { take } = p;
  if (take.told) return;
  if (take.tries > 0) {
    const sentAt = take.sentAt ?? 0;
    if (state.at - sentAt < ctx.verifyMs) return;
    if (!showsSuspended(look)) {
      // Its answer was lost with a restart: taken as sent, as nothing can be seen of it.
      followed(look, turn);
      return;
    }
    if (driverKnown(look) === null || (state.heard[lamp.driverEntity] ?? 0) <= sentAt) {
      askAfresh(look);
      return;
    }
    if (take.tries > 1) {
      p.take = { ...take, told: true };
      const then =
        turn === 'suspend'
          ? 'it goes on switching the lamp at its full hours. Suspend it by hand; it is tried again tomorrow'
          : 'nothing would light the lamp. Resume it by hand';
      trouble(look, `${lamp.driverEntity} did not ${turn}, also when told again: ${then}.`);
      return;
    }
  }
  p.take = { ...NO_EDGE, tries: take.tries + 1, sentAt: state.at };
  effects.push({ kind: 'driver', lamp: lamp.id, entity: lamp.driverEntity, turn });
}

function followed(look: Look, turn: 'suspend' | 'resume'): void {
  const { p } = look;
  if (turn === 'resume') {
    end(look);
    return;
  }
  p.status = 'running';
  p.take = NO_EDGE;
  p.driverOn = false;
}

/** Of a driver that shows nothing the hub's answer is all there is; of others their state tells. */
export function driverEnded(
  look: Look,
  { outcome, detail }: Extract<AcclimationInput, { kind: 'driver-ended' }>,
): void {
  const { p, lamp } = look;
  if (p.take.tries === 0 || p.take.told || showsSuspended(look)) return;
  const turn = p.status === 'taking-over' ? 'suspend' : p.status === 'handing-back' ? 'resume' : null;
  if (turn === null) return;
  if (outcome !== 'refused' && outcome !== 'invalid') {
    followed(look, turn);
    return;
  }
  p.take = { ...p.take, told: true };
  trouble(look, `${lamp.driverEntity} could not be told to ${turn}: ${detail}. Do it by hand.`);
}
