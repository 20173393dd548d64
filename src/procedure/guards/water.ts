import type { GuardDef } from '../../model/index.ts';
import { formatNumber, formatSpan, HOUR_MS, MINUTE_MS, SECOND_MS } from '../../units/index.ts';
import type { GuardSensor } from './types.ts';
import {
  ask,
  entitiesOf,
  equipmentOf,
  heardOf,
  lastValue,
  levelSeen,
  median,
  recall,
  recallList,
  remember,
  runs,
  type Work,
} from './work.ts';

/** Guards that watch water: each gives the reason to latch, or null. */

export const sensorsOf = (work: Work, guard: GuardDef): readonly GuardSensor[] =>
  guard.sensors.flatMap((id) => work.ctx.sensors[id] ?? []);

/** Wet is wet however long ago it was said: only a dry report makes it dry, and silence does not. */
export function wetReason(work: Work, guard: GuardDef): string | null {
  for (const sensor of sensorsOf(work, guard)) {
    if (sensor.kind === 'sump-level') {
      const level = levelSeen(work, guard.id, sensor.id, sensor.entity);
      if (level !== null && guard.aboveCm !== undefined && level > guard.aboveCm)
        return `${sensor.name} stands at ${formatNumber(level, 1)} cm, above ${formatNumber(guard.aboveCm, 1)} cm`;
    } else if ((lastValue(work, sensor.entity) ?? 0) > 0) return `${sensor.name} is wet`;
  }
  return null;
}

const MOST_RUNS = 30;
const LEAST_RUNS = 10;
/** Plugs report too coarsely to tell shorter runs apart. */
const SHORTEST_LIMIT_MS = 30 * SECOND_MS;

/** K3: three times the usual run where enough were seen, never more than the longest of all. */
export function runLimitMs(work: Work, guard: GuardDef): number {
  const { runFactor, runMaxMs, timeFactor } = work.ctx.settings;
  if (guard.runMs !== undefined) return guard.runMs;
  const seen = recallList(work, guard.id, 'runs');
  if (seen.length < LEAST_RUNS) return runMaxMs;
  return Math.min(runMaxMs, Math.max(SHORTEST_LIMIT_MS / timeFactor, runFactor * median(seen)));
}

export function topOffReason(work: Work, guard: GuardDef): string | null {
  const one = equipmentOf(work, guard.off[0]);
  if (one === undefined) return null;
  rollDays(work, guard);
  const state = runs(work, one);
  const from = recall(work, guard.id, 'run from');
  if (state === 'yes' && from === null) remember(work, guard.id, 'run from', work.at);
  if (state === 'no' && from !== null) endRun(work, guard, from);
  if (heardOf(work, one.powerEntity ?? one.switchEntity)) remember(work, guard.id, 'heard at', work.at);
  return tooLong(work, guard) ?? tooMuchToday(work, guard);
}

/** A run whose end was reported; where that report was lost or late, it is taken to have been as long as usual. */
function endRun(work: Work, guard: GuardDef, from: number): void {
  const seen = recallList(work, guard.id, 'runs');
  const ranMs = work.at - from;
  const silentMs = work.at - (recall(work, guard.id, 'heard at') ?? from);
  const isSeen = recall(work, guard.id, 'run asked') === null && silentMs <= work.ctx.settings.freshMs;
  const usual = seen.length === 0 ? runLimitMs(work, guard) : median(seen);
  remember(work, guard.id, 'run from', null);
  remember(work, guard.id, 'run asked', null);
  if (isSeen) remember(work, guard.id, 'runs', [...seen, ranMs].slice(-MOST_RUNS));
  addToHour(work, guard, isSeen ? ranMs : Math.min(ranMs, Math.max(usual, ranMs - silentMs)));
}

/** A lost report makes a run look long: the device is asked first. One that gives no answer is taken to run on. */
function tooLong(work: Work, guard: GuardDef): string | null {
  const one = equipmentOf(work, guard.off[0]);
  const from = recall(work, guard.id, 'run from');
  const limit = runLimitMs(work, guard);
  if (one === undefined || from === null || work.at - from <= limit || !work.hubUp) return null;
  const asked = recall(work, guard.id, 'run asked');
  ask(work, guard.id, entitiesOf(one));
  if (asked === null) {
    remember(work, guard.id, 'run asked', work.at);
    return null;
  }
  const ran = `${one.name} has run for ${spanText(work, work.at - from)}, longer than ${spanText(work, limit)}`;
  if (heardOf(work, one.powerEntity ?? one.switchEntity) && runs(work, one) === 'yes') return ran;
  const silent = work.at - asked >= work.ctx.settings.answerMs;
  return silent ? `${ran}, as far as is known: its plug was asked and has not answered` : null;
}

function tooMuchToday(work: Work, guard: GuardDef): string | null {
  const limit = dayLimitMs(work, guard);
  // Of runs that have ended; the one under way has a limit of its own.
  const ran = inDay(work, guard);
  if (limit === null || ran <= limit) return null;
  const name = equipmentOf(work, guard.off[0])?.name ?? guard.name;
  return `${name} has run for ${spanText(work, ran)} within a day, more than ${spanText(work, limit)}`;
}

const LEAST_DAYS = 7;
const MOST_DAYS = 30;

/** K3: twice the usual day where a week of days is known; null = nothing to hold it against yet. */
export function dayLimitMs(work: Work, guard: GuardDef): number | null {
  if (guard.perDayMs !== undefined) return guard.perDayMs;
  const days = recallList(work, guard.id, 'days');
  return days.length < LEAST_DAYS ? null : work.ctx.settings.dayFactor * median(days);
}

/** An amount of the present hour; a rolling day is the sum of 24 of them. Kept as hour, amount, hour, amount … */
export function addToHour(work: Work, guard: GuardDef, amount: number): void {
  const hour = hourOf(work);
  const kept = recallList(work, guard.id, 'hours');
  const pairs = pairsOf(kept).filter(([at]) => at > hour - 24);
  const last = pairs.at(-1);
  const next = last?.[0] === hour ? [...pairs.slice(0, -1), [hour, last[1] + amount]] : [...pairs, [hour, amount]];
  remember(work, guard.id, 'hours', next.flat());
}

export const inDay = (work: Work, guard: GuardDef): number =>
  pairsOf(recallList(work, guard.id, 'hours'))
    .filter(([at]) => at > hourOf(work) - 24)
    .reduce((sum, [, amount]) => sum + amount, 0);

const hourOf = (work: Work): number => Math.floor((work.at * work.ctx.settings.timeFactor) / HOUR_MS);

const pairsOf = (flat: readonly number[]): (readonly [number, number])[] =>
  Array.from({ length: Math.floor(flat.length / 2) }, (_, n) => [flat[2 * n] ?? 0, flat[2 * n + 1] ?? 0] as const);

function rollDays(work: Work, guard: GuardDef): void {
  const day = Math.floor(hourOf(work) / 24);
  const last = recall(work, guard.id, 'day');
  if (last === day) return;
  remember(work, guard.id, 'day', day);
  // Only a day that was watched from its beginning to its end says how much is usual.
  if (last === null || day !== last + 1) return;
  const whole = recall(work, guard.id, 'day whole') === last;
  remember(work, guard.id, 'day whole', day);
  if (whole)
    remember(work, guard.id, 'days', [...recallList(work, guard.id, 'days'), inDay(work, guard)].slice(-MOST_DAYS));
}

/** More than this in one step of a meter is a jump of the meter, not water. */
const JUMP_L = 200;

export function litresReason(work: Work, guard: GuardDef): string | null {
  const [meter] = sensorsOf(work, guard);
  const one = equipmentOf(work, guard.off[0]);
  if (one === undefined) return null;
  if (meter !== undefined && heardOf(work, meter.entity)) takeMeter(work, guard, lastValue(work, meter.entity));
  const most = guard.litres;
  const made = inDay(work, guard);
  if (most !== undefined && made > most)
    return `${one.name} has made ${formatNumber(made, 1)} L within a day, more than ${formatNumber(most, 1)} L`;
  return runsOn(work, guard);
}

function takeMeter(work: Work, guard: GuardDef, now: number | null): void {
  if (now === null) return;
  const last = recall(work, guard.id, 'meter');
  remember(work, guard.id, 'meter', now);
  const rise = last === null ? 0 : now - last;
  if (rise > 0 && rise < JUMP_L) addToHour(work, guard, rise);
}

/** Longest time without a stop, where the keeper set one. */
function runsOn(work: Work, guard: GuardDef): string | null {
  const one = equipmentOf(work, guard.off[0]);
  if (one === undefined || guard.runMs === undefined) return null;
  const state = runs(work, one);
  if (state === 'no') remember(work, guard.id, 'run from', null);
  if (state === 'yes' && recall(work, guard.id, 'run from') === null) remember(work, guard.id, 'run from', work.at);
  const from = recall(work, guard.id, 'run from');
  if (from === null || work.at - from <= guard.runMs) return null;
  return `${one.name} has run for ${spanText(work, work.at - from)} without a stop, longer than ${spanText(work, guard.runMs)}`;
}

/** Water in the pipes still moves for a moment after the switch-off. */
const SETTLE_MS = MINUTE_MS;
const COUNT_FOR_MS = HOUR_MS;
const FLOW_L = 0.3;

/** The relay is open and the meter goes on: a valve seat leaks, or the water goes another way. */
export function flowReason(work: Work, guard: GuardDef): string | null {
  const one = equipmentOf(work, guard.off[0]);
  const [meter] = sensorsOf(work, guard);
  if (one === undefined || meter === undefined) return null;
  const scale = work.ctx.settings.timeFactor;
  const relay = lastValue(work, one.switchEntity);
  // Unknown is never off: only a relay that says so begins the count, and only one that says on ends it.
  if (relay !== null && relay > 0) remember(work, guard.id, 'off at', null);
  if (relay === 0 && recall(work, guard.id, 'off at') === null) {
    remember(work, guard.id, 'off at', work.at);
    remember(work, guard.id, 'base', null);
  }
  const offAt = recall(work, guard.id, 'off at');
  const now = heardOf(work, meter.entity) ? lastValue(work, meter.entity) : null;
  if (offAt === null || now === null || work.at - offAt < SETTLE_MS / scale) return null;
  const base = recall(work, guard.id, 'base');
  const baseAt = recall(work, guard.id, 'base at') ?? work.at;
  if (base === null || now < base || work.at - baseAt > COUNT_FOR_MS / scale) {
    remember(work, guard.id, 'base', now);
    remember(work, guard.id, 'base at', work.at);
    return null;
  }
  const flowed = now - base;
  if (flowed < (guard.litres ?? FLOW_L) - 1e-9) return null;
  return `${meter.name} counted ${formatNumber(flowed, 1)} L in ${spanText(work, work.at - baseAt)} although ${one.name} reports off. Close its hand valve`;
}

/** In the time of the tank, also where the service runs faster. */
export const spanText = (work: Work, ms: number): string => formatSpan(ms * work.ctx.settings.timeFactor);
