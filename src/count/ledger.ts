import type { Bounds, CounterId, Measure, Origin } from '../model/index.ts';
import { HOUR_MS } from '../units/index.ts';
import { GRAINS_PER_UNIT } from './grains.ts';
import type { Slice } from './types.ts';

/**
 * The running account of one measure of one counter, changed in place. Totals are kept as whole units and a rest in grains,
 * because grains alone would outgrow exact arithmetic within years. The hour being filled is held apart until another
 * hour or another origin comes up.
 */
export type Ledger = {
  readonly measure: Measure;
  readonly perUnit: number;
  wholeLow: number;
  wholeBest: number;
  wholeHigh: number;
  restLow: number;
  restBest: number;
  restHigh: number;
  hour: number;
  hourEnd: number;
  origin: Origin;
  low: number;
  best: number;
  high: number;
  readonly done: Entry[];
};

export type Entry = {
  readonly hour: number;
  readonly origin: Origin;
  readonly low: number;
  readonly best: number;
  readonly high: number;
};

const TOTALS = ['wholeLow', 'wholeBest', 'wholeHigh', 'restLow', 'restBest', 'restHigh'] as const;

export function openLedger(measure: Measure, memory: Readonly<Record<string, number | null>>): Ledger {
  const kept = (name: (typeof TOTALS)[number]): number => memory[`${measure}.${name}`] ?? 0;
  return {
    measure,
    perUnit: GRAINS_PER_UNIT[measure],
    wholeLow: kept('wholeLow'),
    wholeBest: kept('wholeBest'),
    wholeHigh: kept('wholeHigh'),
    restLow: kept('restLow'),
    restBest: kept('restBest'),
    restHigh: kept('restHigh'),
    hour: 0,
    hourEnd: 0,
    origin: 'live',
    low: 0,
    best: 0,
    high: 0,
    done: [],
  };
}

/** Books into one hour and carries full units, so that equal totals are always written alike. */
function put(ledger: Ledger, hour: number, origin: Origin, low: number, best: number, high: number): void {
  if (low === 0 && best === 0 && high === 0) return;
  const { perUnit, done } = ledger;
  done.push({ hour, origin, low, best, high });
  ledger.restLow += low;
  ledger.restBest += best;
  ledger.restHigh += high;
  if (ledger.restLow >= perUnit) {
    const carry = Math.floor(ledger.restLow / perUnit);
    ledger.wholeLow += carry;
    ledger.restLow -= carry * perUnit;
  }
  if (ledger.restBest >= perUnit) {
    const carry = Math.floor(ledger.restBest / perUnit);
    ledger.wholeBest += carry;
    ledger.restBest -= carry * perUnit;
  }
  if (ledger.restHigh >= perUnit) {
    const carry = Math.floor(ledger.restHigh / perUnit);
    ledger.wholeHigh += carry;
    ledger.restHigh -= carry * perUnit;
  }
}

function flush(ledger: Ledger): void {
  put(ledger, ledger.hour, ledger.origin, ledger.low, ledger.best, ledger.high);
  ledger.low = 0;
  ledger.best = 0;
  ledger.high = 0;
}

/** Makes the hour of `at` the one being filled; what was filled before is kept. */
export function turnTo(ledger: Ledger, at: number, origin: Origin): void {
  flush(ledger);
  ledger.hour = at - (at % HOUR_MS);
  ledger.hourEnd = ledger.hour + HOUR_MS;
  ledger.origin = origin;
}

/** Books something that happened at one moment. */
export function bookAt(ledger: Ledger, at: number, origin: Origin, low: number, best: number, high: number): void {
  if (at < ledger.hour || at >= ledger.hourEnd || origin !== ledger.origin) turnTo(ledger, at, origin);
  ledger.low += low;
  ledger.best += best;
  ledger.high += high;
}

/**
 * Books a stretch at steady rates in grains per millisecond. Rates are whole or halves, so the parts in different hours
 * add up exactly, wherever the stretch was cut.
 */
export function bookRate(
  ledger: Ledger,
  from: number,
  to: number,
  origin: Origin,
  low: number,
  best: number,
  high: number,
): void {
  let start = from;
  while (start < to) {
    if (start < ledger.hour || start >= ledger.hourEnd || origin !== ledger.origin) turnTo(ledger, start, origin);
    const end = Math.min(to, ledger.hourEnd);
    const ms = end - start;
    ledger.low += low * ms;
    ledger.best += best * ms;
    ledger.high += high * ms;
    start = end;
  }
}

/** Books whole amounts evenly over a stretch; the parts of its hours are whole too and add up to exactly the amounts. */
export function bookSpread(
  ledger: Ledger,
  from: number,
  to: number,
  origin: Origin,
  low: number,
  best: number,
  high: number,
): void {
  if (to <= from) {
    bookAt(ledger, to, origin, low, best, high);
    return;
  }
  // Spread as low and what each of the other two has above it, so that every hour keeps low ≤ best ≤ high.
  const overLow = best - low;
  const overBest = high - best;
  let start = from;
  let spentLow = 0;
  let spentOverLow = 0;
  let spentOverBest = 0;
  while (start < to) {
    if (start < ledger.hour || start >= ledger.hourEnd || origin !== ledger.origin) turnTo(ledger, start, origin);
    const end = Math.min(to, ledger.hourEnd);
    const share = (end - from) / (to - from);
    const untilLow = end === to ? low : Math.floor(low * share);
    const untilOverLow = end === to ? overLow : Math.floor(overLow * share);
    const untilOverBest = end === to ? overBest : Math.floor(overBest * share);
    const addLow = untilLow - spentLow;
    const addBest = addLow + untilOverLow - spentOverLow;
    ledger.low += addLow;
    ledger.best += addBest;
    ledger.high += addBest + untilOverBest - spentOverBest;
    spentLow = untilLow;
    spentOverLow = untilOverLow;
    spentOverBest = untilOverBest;
    start = end;
  }
}

/** The total so far in the measure's unit. */
export function amountOf(ledger: Ledger): Bounds {
  flush(ledger);
  const { perUnit } = ledger;
  return {
    low: ledger.wholeLow + ledger.restLow / perUnit,
    best: ledger.wholeBest + ledger.restBest / perUnit,
    high: ledger.wholeHigh + ledger.restHigh / perUnit,
  };
}

export function keepLedger(ledger: Ledger, memory: Record<string, number | null>): void {
  flush(ledger);
  for (const name of TOTALS) memory[`${ledger.measure}.${name}`] = ledger[name];
}

/** Takes what was booked since the last time, as it came. */
export function drainEntries(ledger: Ledger): readonly Entry[] {
  flush(ledger);
  return ledger.done.splice(0);
}

/** Takes what was booked since the last time, one slice per hour and origin, oldest first. */
export function drainSlices(ledger: Ledger, counter: CounterId): readonly Slice[] {
  const entries = [...drainEntries(ledger)].sort((a, b) => a.hour - b.hour || compareText(a.origin, b.origin));
  const slices: Slice[] = [];
  let open: { hour: number; origin: Origin; low: number; best: number; high: number } | null = null;
  const close = (): void => {
    if (open === null) return;
    const { hour, origin, low, best, high } = open;
    slices.push({ counter, measure: ledger.measure, hour, origin, add: { low, best, high } });
  };
  for (const entry of entries) {
    if (open !== null && open.hour === entry.hour && open.origin === entry.origin) {
      open.low += entry.low;
      open.best += entry.best;
      open.high += entry.high;
    } else {
      close();
      open = { ...entry };
    }
  }
  close();
  return slices;
}

function compareText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
