import { formatClock, formatSpan } from '../../units/index.ts';
import { isDark } from '../light.ts';
import {
  askAfresh,
  askedEnough,
  driverKnown,
  heldBy,
  type Look,
  mayAct,
  NO_EDGE,
  noTrouble,
  relayFresh,
  relayKnown,
  setDay,
  showsSuspended,
  trouble,
  unknownMs,
} from './look.ts';
import type { Edge } from './types.ts';

/** The off before the hours, or the one at the end of the share. */
const darkEdge = ({ plan }: Look): 'early' | 'off' => (plan.phase === 'early' ? 'early' : 'off');

/** Underway: told, and not yet known how it came out. */
export const isOpen = (edge: Edge): boolean => edge.tries > 0 && !edge.done && !edge.told;

const MOST_TRIES = 2;

/** Dark by the plan: off, whatever else is unknown, unless other hands want light or have the lamp. */
export function workOff(look: Look): void {
  const { state, ctx, p, plan, lamp } = look;
  if (plan.phase === 'lit' || !state.hubUp || heldBy(look) !== null || p.day.hand !== null) return;
  const at = darkEdge(look);
  const edge = p.day[at];
  if (edge.done) return;
  const fresh = relayFresh(look);
  if (fresh?.value === 0) {
    setDay(look, { [at]: { ...edge, done: true } });
    settled(look);
    return;
  }
  if (edge.told) {
    // Told to a person already; a plug that is heard again and still lit is told off again, now and then.
    if (fresh !== null && state.at - (edge.sentAt ?? 0) >= ctx.unknownMs) send(look, at, 'off');
    return;
  }
  if (edge.tries === 0) {
    if (fresh === null && !mayBeLit(look)) return;
    send(look, at, 'off');
    return;
  }
  retry(look, at, 'off', `${lamp.name} was told off at the end of its light and`);
}

/** Unknown is not off. Before its hours only what is freshly seen lit is told off: nothing else has been told on. */
function mayBeLit(look: Look): boolean {
  const { p, plan, state, ctx } = look;
  if (plan.phase === 'early' || (p.relay === 0 && relayKnown(look)?.value === 0)) return false;
  askAfresh(look);
  // A moment for an answer; then off goes out unseen, which harms nobody.
  return state.at - plan.outAt >= ctx.verifyMs;
}

/** Lit by the plan: on only from a plug freshly heard, free of every hand and hold, and never in the declared dark. */
export function workOn(look: Look): void {
  const { state, ctx, p, plan, lamp } = look;
  const edge = p.day.on;
  if (plan.phase !== 'lit' || edge.done || edge.told || p.day.hand !== null || !mayAct(look)) return;
  if (ctx.lights !== undefined && isDark(ctx.lights, ctx.zone, state.at)) return;
  const fresh = relayFresh(look);
  if (fresh?.value === 1) {
    setDay(look, { on: { ...edge, done: true } });
    settled(look);
    return;
  }
  if (edge.tries > 0) {
    retry(look, 'on', 'on', `${lamp.name} was told on at the beginning of its light and`);
    return;
  }
  if (plan.outAt - state.at < Math.min(ctx.leastMs, (plan.outAt - plan.beginsAt) / 4)) return;
  // What its driver does by now is as much worth knowing: two would light it, and one would not let it out.
  if (fresh !== null && (driverKnown(look) === 0 || !showsSuspended(look))) {
    askedEnough(look);
    send(look, 'on', 'on');
    return;
  }
  askAfresh(look);
  if (unknownMs(look) >= ctx.unknownMs)
    trouble(
      look,
      `${lamp.name} is not switched on for its light: its plug or its driver has not been heard. It is lit as soon as both report, until ${formatClock(plan.outAt, ctx.zone)}; or switch it on by hand.`,
    );
}

function send(look: Look, edge: 'early' | 'on' | 'off', turn: 'on' | 'off'): void {
  const { state, p, lamp, effects } = look;
  const { tries } = p.day[edge];
  setDay(look, { [edge]: { ...NO_EDGE, tries: tries + 1, sentAt: state.at } });
  effects.push({ kind: 'switch', lamp: lamp.id, entity: lamp.switchEntity, turn });
}

/** Freshly read as not done, long enough after it was told: once more, then a person. */
function retry(look: Look, at: 'early' | 'on' | 'off', turn: 'on' | 'off', told: string): void {
  const { state, ctx, p, lamp } = look;
  const edge = p.day[at];
  const since = edge.sentAt ?? 0;
  if (state.at - since < ctx.verifyMs) return;
  const fresh = relayFresh(look);
  if (fresh !== null && fresh.reportedAt > since + lamp.switchDelayMs) {
    if (edge.tries < MOST_TRIES && (turn === 'off' || mayAct(look))) send(look, at, turn);
    else giveUp(look, at, `${told} does not go ${turn}, also when told again. Switch it ${turn} by hand.`);
    return;
  }
  askAfresh(look);
  if (state.at - since >= ctx.unknownMs)
    giveUp(
      look,
      at,
      `${told} has not reported for ${formatSpan(ctx.unknownMs)}: look whether it is ${turn === 'on' ? 'lit' : 'dark'}.`,
    );
}

function giveUp(look: Look, at: 'early' | 'on' | 'off', text: string): void {
  setDay(look, { [at]: { ...look.p.day[at], told: true } });
  trouble(look, text);
}

/** It is as the plan wants it: what was told of it is over. */
export function settled(look: Look): void {
  askedEnough(look);
  if (look.p.status === 'running') noTrouble(look);
}
