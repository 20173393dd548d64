// The low float's asking: how long, how much water it took, how far the level rose. It sticks, or no water comes.
import { type InstantMs, MINUTE_MS, SECOND_MS } from '../units/index.ts';
import type { Book } from './book.ts';
import type { Scene } from './scene.ts';
import { median, trimmedMean } from './stats/index.ts';
import { fig } from './text.ts';
import type { WatchedEquipment } from './types.ts';

/** Plain data. */
export type FloatMemory = {
  /** The float asks since then; the level before the pump's present run, and the seconds of it. */
  demand: { since: InstantMs; beforeCm: number | null; pumpedS: number } | null;
  /** Seconds of usual demands, levels before them, and what they lifted the level by; newest last. */
  demands: number[];
  befores: number[];
  rises: number[];
  firstRises: number[];
  /** A demand that ended, until the level has settled. */
  pending: { readonly dueAt: InstantMs; readonly beforeCm: number } | null;
  lastPumpAt: InstantMs;
  /** Whole minutes that the pump runs on. */
  pumpMin: number;
};

export const newFloat = (): FloatMemory => ({
  ...{ demand: null, demands: [], befores: [], rises: [], firstRises: [], pending: null, lastPumpAt: 0, pumpMin: 0 },
});

const KEPT = 60;
const LEARNED = 12;
/** A demand is long from three usual ones, and never below this. (common practice, no source) */
const LONG_TIMES = 3;
const LONG_S = 90;
/** The level has followed a run by then. */
const SETTLE_MS = 4 * MINUTE_MS;
const LEVEL_MS = 5 * MINUTE_MS;
/** So much above what it usually reaches is high enough for any float. */
const HIGH_CM = 0.3;

export type LowFloat = {
  asks(at: InstantMs, value: number | null): void;
  /** The pump ran so many seconds of this minute, with these watts. */
  pumped(at: InstantMs, seconds: number, maxW: number): void;
  tick(at: InstantMs): void;
  /** Rise a run against the first that were learned; null without a level sensor. */
  riseRatio(): number | null;
};

type Inside = {
  readonly equipment: WatchedEquipment;
  readonly memory: FloatMemory;
  readonly scene: Scene;
  readonly book: Book;
  readonly inService: () => boolean;
  readonly usualW: () => number;
  /** A demand that was met, in seconds. */
  readonly onMet: (seconds: number, at: InstantMs) => void;
};

const keep = (list: number[], value: number): void => {
  list.push(value);
  if (list.length > KEPT) list.shift();
};

export function createFloat(inside: Inside): LowFloat {
  const { memory, scene } = inside;
  let runW = 0;
  const before = (at: InstantMs): number | null => scene.levelBetween(at - LEVEL_MS, at);
  return {
    asks(at, value) {
      if (value === null) {
        memory.demand = null;
        return;
      }
      if (value > 0) memory.demand ??= { since: at, beforeCm: before(at), pumpedS: 0 };
      else if (memory.demand !== null) met(inside, at);
    },
    pumped(at, seconds, maxW) {
      const { demand } = memory;
      // A pump that begins again in the same demand is judged by what this run does.
      if (demand !== null && at - memory.lastPumpAt > 10 * MINUTE_MS && at > demand.since + 5 * MINUTE_MS)
        Object.assign(demand, { beforeCm: before(at), pumpedS: 0 });
      memory.pumpMin = at - memory.lastPumpAt <= MINUTE_MS ? memory.pumpMin + 1 : 1;
      memory.lastPumpAt = at;
      if (demand !== null) demand.pumpedS += seconds;
      runW = maxW;
    },
    tick(at) {
      const { pending } = memory;
      if (pending !== null && at >= pending.dueAt) {
        memory.pending = null;
        const after = before(at);
        if (after !== null) {
          keep(memory.rises, after - pending.beforeCm);
          keep(memory.befores, pending.beforeCm);
          if (memory.firstRises.length < KEPT) memory.firstRises.push(after - pending.beforeCm);
        }
      }
      watch(inside, at, runW);
    },
    riseRatio() {
      if (memory.firstRises.length < KEPT || memory.rises.length < KEPT) return null;
      // Levels are read in whole millimetres: medians of them would move in steps.
      const first = trimmedMean(memory.firstRises);
      return first < 0.05 ? null : trimmedMean(memory.rises) / first;
    },
  };
}

function met({ memory, book, equipment, inService, onMet }: Inside, at: InstantMs): void {
  const { demand } = memory;
  memory.demand = null;
  if (demand === null) return;
  const seconds = (at - demand.since) / SECOND_MS;
  // Out of service nothing is pumped; after that the water that went missing meanwhile is made up.
  const isDeep =
    demand.beforeCm !== null && memory.befores.length >= LEARNED && demand.beforeCm < median(memory.befores) - 0.4;
  if (!inService() || isDeep || seconds < 2) return;
  onMet(seconds, at);
  const isUsual = memory.demands.length < LEARNED || seconds < 2 * median(memory.demands);
  if (!isUsual) return;
  keep(memory.demands, seconds);
  if (demand.beforeCm !== null) memory.pending = { dueAt: at + SETTLE_MS + MINUTE_MS, beforeCm: demand.beforeCm };
  if (book.open('sticky-float', equipment.id)?.unit === 's') book.clear('sticky-float', equipment.id);
}

/** It asks far longer than usual although the pump ran. What the level did tells why, once it has had time to. */
function watch(inside: Inside, at: InstantMs, runW: number): void {
  const { memory, scene } = inside;
  const { demand, demands } = memory;
  if (demand === null || demands.length < LEARNED || at - memory.lastPumpAt > 10 * MINUTE_MS) return;
  const usual = median(demands);
  const asked = (at - demand.since) / SECOND_MS;
  if (asked < Math.max(LONG_TIMES * usual, LONG_S) || demand.pumpedS < 1.8 * usual) return;
  const isDry = runW < 0.75 * inside.usualW();
  if (isDry) {
    sayEmpty(inside, runW, demand.since, at);
    return;
  }
  const usualRise = memory.rises.length < LEARNED ? null : median(memory.rises);
  if (usualRise === null || demand.beforeCm === null) {
    sayStuck(inside, { asked, usual, since: demand.since, rise: null, isHigh: false }, at);
    return;
  }
  const isSettled = at - memory.lastPumpAt >= SETTLE_MS || memory.pumpMin >= 6;
  const now = scene.levelBetween(at - 3 * MINUTE_MS, at);
  if (!isSettled || now === null) return;
  const rise = now - demand.beforeCm;
  const expected = (usualRise * demand.pumpedS) / usual;
  const isHigh = now > median(memory.befores) + usualRise + HIGH_CM;
  if (!isHigh && rise < 0.3 * expected && expected >= 0.4) sayEmpty(inside, runW, demand.since, at);
  else sayStuck(inside, { asked, usual, since: demand.since, rise, isHigh }, at);
}

type Stuck = {
  readonly asked: number;
  readonly usual: number;
  readonly since: InstantMs;
  readonly rise: number | null;
  readonly isHigh: boolean;
};

function sayStuck({ book, equipment }: Inside, { asked, usual, since, rise, isHigh }: Stuck, at: InstantMs): void {
  const stands = rise === null ? '' : `, and the sump stands ${fig(rise * 10, 0)} mm higher than before`;
  const evidence = `${equipment.name}: the low float asks for ${fig(asked, 0)} s, ${fig(usual, 0)} s are usual${stands}: it sticks`;
  const fact = { value: asked, normal: usual, unit: 's', evidence, since };
  book.say({ kind: 'sticky-float', equipment: equipment.id, sure: isHigh ? 'certain' : 'likely', ...fact }, at);
}

function sayEmpty({ book, equipment, scene, usualW }: Inside, runW: number, since: InstantMs, at: InstantMs): void {
  const isLow = scene.value('store-low-float') === 1;
  const isDry = runW < 0.75 * usualW();
  const what = isDry ? `${fig(runW)} W instead of ${fig(usualW())} W` : 'the level does not rise';
  const evidence = `${equipment.name}: it runs without water: ${what}${isLow ? '; the store reports low' : ''}: an empty store or a dry pump`;
  const fact = { value: runW, normal: usualW(), unit: 'W', evidence, since };
  book.say({ kind: 'store-empty', equipment: equipment.id, sure: isLow || isDry ? 'certain' : 'likely', ...fact }, at);
}
