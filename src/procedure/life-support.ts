import type { EquipmentId } from '../model/index.ts';
import { ROLES } from '../rules/index.ts';
import { claimAlive } from './claims.ts';
import { freshAfter } from './evidence.ts';
import { leftText } from './left.ts';
import { levelMark, levelNow } from './level.ts';
import { turningW } from './movers.ts';
import {
  alarmOnce,
  askAfresh,
  claimOn,
  clocksDisagree,
  end,
  hold,
  isEnded,
  keyOf,
  nameOf,
  openStepOf,
  passed,
  type Run,
  recallNumber,
  recallText,
  remember,
  say,
} from './run.ts';
import { wetNow } from './wet.ts';

/** Commands of the declared safe state name this and the equipment instead of a step of the plan. */
export const LIFE_SUPPORT_STEP = '#life-support:';
/** How long everything may take to be heard again before it is called unknown. */
const REREAD_MS = 90_000;
const PROOF_MS = 60_000;

/** Agreed with the second confirmation, stopped by us and not back, in start order. */
function agreed(run: Run): readonly EquipmentId[] {
  if (run.state.stepIndex < 0) return [];
  const rank = (id: EquipmentId): number => {
    const role = run.ctx.equipment[id]?.role;
    return role === undefined ? 0 : ROLES[role].startRank;
  };
  return (run.state.plan.lifeSupport ?? [])
    .filter((id) => run.state.offNow.includes(id) && run.ctx.equipment[id]?.switchEntity !== undefined)
    .toSorted((a, b) => rank(a) - rank(b));
}

/** Agreed, and nobody's claim on it: claimed equipment is never energised. */
const restartable = (run: Run): readonly EquipmentId[] => agreed(run).filter((id) => !claimOn(run.state, id));

const open = (run: Run, id: EquipmentId): boolean =>
  recallText(run, keyOf('ls.back', id)) === null && recallNumber(run, keyOf('ls.gaveUp', id)) === null;

/** Hands may be in the water: work is open, or something is unplugged for it. */
export function handsIn(run: Run): boolean {
  if (recallNumber(run, 's.handsOut') !== null) return false;
  const action = openStepOf(run.state)?.action;
  const works = action === 'unplug' || action === 'hands-on' || action === 'plug-in' || action === 'observe';
  return works || action === 'reading' || run.state.claims.length > 0;
}

/** The declared safe state is being brought about. */
export const inSafeState = (run: Run): boolean => recallText(run, 'ls.on') !== null;
export const asksForHands = (run: Run): boolean => inSafeState(run) && handsIn(run) && waiting(run).length > 0;
/** Nothing more will come of it without a person. */
export const isStuck = (run: Run): boolean => inSafeState(run) && recallNumber(run, 'told.ls.unsafe') !== null;

/** Over a rising sump only a return helps; where no water moves, every agreed mover does. */
const helps = (run: Run, id: EquipmentId): boolean =>
  recallText(run, 'ls.on') !== 'rise' || run.ctx.equipment[id]?.effect !== undefined;

const waiting = (run: Run): readonly EquipmentId[] => restartable(run).filter((id) => open(run, id) && helps(run, id));
const names = (run: Run, ids: readonly EquipmentId[]): string => ids.map((id) => nameOf(run, id)).join(', ');

/** At the hard limit of the all-stop clock. */
export function safeStateDue(run: Run, what: string): void {
  const list = waiting(run);
  // Under way already, e.g. by an abort: the limit is told, nothing begins twice.
  if (inSafeState(run)) {
    alarmOnce(run, 'as.limit', 'all-stop', what);
    return;
  }
  const next =
    list.length === 0
      ? 'Nothing was agreed that could be restarted: start a water mover by hand now.'
      : handsIn(run)
        ? `Hands out of the water now, and say so: then ${names(run, list)} is restarted, as agreed at the start.`
        : `${names(run, list)} is restarted as agreed at the start, as soon as everything has been read again. Hands stay out.`;
  alarmOnce(run, 'as.limit', 'all-stop', `${what} ${next}`);
  remember(run, 'home', run.at);
  if (list.length > 0) enter(run, 'hard-limit');
  hold(run, 'limit-exceeded', `${what} ${next}`);
}

/**
 * I6: a rise over the learned one ends the stop: the return is brought back, which stops what drains down. What is said
 * of it beside the alarm; null where nothing was agreed, so that only a person can.
 */
export function safeStateOfRise(run: Run): string | null {
  if (inSafeState(run)) return null;
  const list = restartable(run).filter((id) => open(run, id) && run.ctx.equipment[id]?.effect !== undefined);
  if (list.length === 0) return null;
  enter(run, 'rise');
  remember(run, 'home', run.at);
  return handsIn(run)
    ? `Hands out of the water now, and say so: then ${names(run, list)} is restarted, as agreed at the start.`
    : `${names(run, list)} is restarted at once, as agreed at the start.`;
}

/** An abort while no water moves: it ends in the declared safe state, not before. True where there is something to do. */
export function safeStateOfAbort(run: Run): boolean {
  if (waiting(run).length === 0) return false;
  enter(run, 'abort');
  return true;
}

function enter(run: Run, why: string): void {
  remember(run, 'ls.on', why);
  remember(run, 'ls.from', run.at);
}

/** After a lost link, a restart or a new word, everything is to be read again. */
export function rereadForSafeState(run: Run): void {
  if (!inSafeState(run)) return;
  remember(run, 'ls.from', run.at);
  remember(run, 'told.ls.unsafe', null);
  remember(run, 's.handsOut', null);
  for (const id of agreed(run)) remember(run, keyOf('ls.sentAt', id), null);
}

/** One event's worth of it: look, ask, start one, prove it, then the next. */
export function bringSafeState(run: Run): void {
  // A second abort ends it there and then: what is off is listed, and nothing more comes on.
  if (!inSafeState(run) || isEnded(run.state) || clocksDisagree(run)) return;
  const list = waiting(run);
  if (list.length === 0) {
    finish(run);
    return;
  }
  if (handsIn(run)) return;
  const going = list.find((id) => recallNumber(run, keyOf('ls.sentAt', id)) !== null);
  if (going !== undefined) {
    prove(run, going);
    return;
  }
  const first = list[0];
  if (first === undefined) return;
  const unsafe = notSafe(run, first);
  if (unsafe !== null) {
    const from = recallNumber(run, 'ls.from') ?? run.at;
    if (passed(run, from, REREAD_MS)) {
      const text = `${names(run, list)} is not restarted: ${unsafe} Look at the tank now and start a water mover by hand.`;
      alarmOnce(run, 'ls.unsafe', 'all-stop', text);
    }
    return;
  }
  const lastStart = recallNumber(run, 'lastOnAt');
  if (lastStart === null || passed(run, lastStart, run.ctx.settings.staggerMs)) start(run, first);
}

/** Why nothing is energised yet: not everything has been read again since, or it does not read safe. */
function notSafe(run: Run, next: EquipmentId): string | null {
  const { ctx, state } = run;
  const from = recallNumber(run, 'ls.from') ?? run.at;
  const claimed = state.claims.map((claim) => claim.equipment);
  // A rising sump leaves no time for plugs that have no part in it, and water where it should not be is what it is about.
  const rises = recallText(run, 'ls.on') === 'rise';
  const concerned = [...new Set([...(rises ? [next] : state.offNow), ...claimed])];
  const switches = [...concerned.map((id) => ctx.equipment[id]?.switchEntity), ctx.equipment[next]?.powerEntity].filter(
    (entity) => entity !== undefined,
  );
  const unknown = ctx.wetEntities.filter((entity) => typeof state.readings[entity]?.value !== 'number');
  const wetOrUnknown = [...wetNow(run), ...unknown];
  const silent = switches.filter((entity) => freshAfter(run, entity, from) === null);
  askAfresh(run, [...switches, ctx.sumpLevelEntity]);
  if (silent.length > 0) return `not heard: ${silent.join(', ')}.`;
  const alive = state.claims.map((claim) => claimAlive(run, claim)).find((text) => text !== null);
  if (alive !== undefined) return alive;
  if (rises) return null;
  if (wetOrUnknown.length > 0 && state.plan.leak !== true) return `wet or unknown: ${wetOrUnknown.join(', ')}.`;
  return levelTrouble(run, next, from);
}

/** A return started into an empty chamber runs dry; one started over a sump too full is what saves it. */
function levelTrouble(run: Run, next: EquipmentId, from: number): string | null {
  const entity = run.ctx.sumpLevelEntity;
  const mark = levelMark(run);
  if (entity === undefined || mark === null || run.ctx.equipment[next]?.effect === undefined) return null;
  const level = freshAfter(run, entity, from) === null ? null : levelNow(run);
  if (level === null) return 'the sump level is not freshly known.';
  if (level >= mark - run.ctx.settings.markBandCm) return null;
  return `the sump stands at ${level.toFixed(1)} cm, below its ${mark.toFixed(1)} cm from before: the return would run dry.`;
}

function start(run: Run, id: EquipmentId): void {
  const entity = run.ctx.equipment[id]?.switchEntity;
  if (entity === undefined) return;
  remember(run, keyOf('ls.sentAt', id), run.at);
  remember(run, keyOf('ls.tries', id), (recallNumber(run, keyOf('ls.tries', id)) ?? 0) + 1);
  for (const key of ['seen', 'seenAt']) remember(run, `ls.${key}.${id}`, null);
  remember(run, 'lastOnAt', run.at);
  remember(run, keyOf('onSent', id), run.at);
  remember(run, keyOf('proved', id), null);
  const step = `${LIFE_SUPPORT_STEP}${id}`;
  run.effects.push({
    kind: 'command',
    command: { session: run.state.id, step, equipment: id, entity, turn: 'on' },
  });
  say(run, `${nameOf(run, id)} is restarted: agreed life support, everything read again, nothing of it claimed.`);
}

/** Relay freshly on, and several readings of watts that only a turning pump draws; without watts it is reported on. */
function prove(run: Run, id: EquipmentId): void {
  const facts = run.ctx.equipment[id];
  const sentAt = recallNumber(run, keyOf('ls.sentAt', id)) ?? run.at;
  const relay = freshAfter(run, facts?.switchEntity, sentAt);
  const power = freshAfter(run, facts?.powerEntity, sentAt);
  if (power !== null && power.reportedAt > (recallNumber(run, keyOf('ls.seenAt', id)) ?? sentAt)) {
    remember(run, keyOf('ls.seenAt', id), power.reportedAt);
    const seen = power.value > turningW(run, id) ? (recallNumber(run, keyOf('ls.seen', id)) ?? 0) + 1 : 0;
    remember(run, keyOf('ls.seen', id), seen);
  }
  const proved = (recallNumber(run, keyOf('ls.seen', id)) ?? 0) >= run.ctx.settings.proofReadings;
  if (relay !== null && relay.value !== 0 && (proved || facts?.powerEntity === undefined)) {
    remember(run, keyOf('ls.back', id), proved ? 'proved' : 'reported');
    say(run, `${nameOf(run, id)} is back${proved ? ', proved by its watts' : ': reported on, not proven'}.`);
    return;
  }
  askAfresh(run, [facts?.switchEntity, facts?.powerEntity]);
  if (!passed(run, sentAt, PROOF_MS)) return;
  if ((recallNumber(run, keyOf('ls.tries', id)) ?? 0) <= run.ctx.settings.retriesOn) {
    if (relay !== null && notSafe(run, id) === null) start(run, id);
    else rereadForSafeState(run);
    return;
  }
  remember(run, keyOf('ls.gaveUp', id), run.at);
  const text = `${nameOf(run, id)} was told to start and is not proved to run. Start it by hand now, or another water mover.`;
  alarmOnce(run, keyOf('ls.fail', id), 'all-stop', text);
}

function finish(run: Run): void {
  const { state } = run;
  const back = (state.plan.lifeSupport ?? []).filter((id) => recallText(run, keyOf('ls.back', id)) !== null);
  const why = recallText(run, 'ls.on');
  remember(run, 'ls.on', null);
  // What is proved is no longer off; what is only reported on stays listed.
  state.offNow = state.offNow.filter((id) => recallText(run, keyOf('ls.back', id)) !== 'proved');
  if (why === 'abort') {
    const done = back.length === 0 ? '' : ` Restarted as agreed: ${names(run, back)}.`;
    end(run, 'aborted', `${recallText(run, 'aborted') ?? ''}${done} ${leftText(run)}`.trim());
    return;
  }
  const left = back.length === 0 ? '' : `${names(run, back)} was restarted as agreed at the start. `;
  const text = `${left}Look at the tank. Resume brings everything else back in order and leaves the job undone; or abort.`;
  hold(run, 'limit-exceeded', text);
}
