// Heaters by the energy balance of the tank, and two thermometers by each other.
import type { EntityId } from '../model/index.ts';
import type { MinutePower } from '../observe/index.ts';
import { DAY_MS, HOUR_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import type { Book } from './book.ts';
import type { Scene } from './scene.ts';
import { CUSUM_START, type CusumState, cusumStep, ewmaStep, median, theilSen } from './stats/index.ts';
import { fig, signed } from './text.ts';
import type { ConditionSetup, WatchedEquipment } from './types.ts';

type DayHeat = { readonly day: number; readonly gapC: number; readonly heatW: number };
type Mean = { sum: number; n: number };
const none = (): Mean => ({ sum: 0, n: 0 });
const add = (mean: Mean, value: number): void => {
  mean.sum += value;
  mean.n += 1;
};
const of = ({ sum, n }: Mean, least: number): number | null => (n < least ? null : sum / n);

/** Plain data. */
export type HeatMemory = {
  display: Mean;
  sump: Mean;
  room: Mean;
  hour: number;
  gaps: number[];
  wattHours: number;
  knownMinutes: number;
  days: DayHeat[];
  extra: number;
  cusum: CusumState;
  from: number | null;
  /** Hourly differences of the two probes, newest last; the learned one. */
  differences: number[];
  offset: number | null;
  learning: number[];
  /** Hourly temperatures, for what a run of a heater did. */
  hours: { readonly hour: number; readonly c: number }[];
  runs: Record<string, { since: InstantMs; fails: number; lookedAt: InstantMs }>;
  /** Ten-minute means of the water, newest last. */
  water: { readonly at: InstantMs; readonly c: number }[];
  tenth: Mean;
  heat: number[];
};

export const newHeat = (): HeatMemory => ({
  ...{ display: none(), sump: none(), room: none(), hour: -1, gaps: [], wattHours: 0, knownMinutes: 0, days: [] },
  ...{ extra: 0, cusum: CUSUM_START, from: null, differences: [], offset: null, learning: [], hours: [], runs: {} },
  ...{ water: [], tenth: none(), heat: [] },
});

/** Energy a degree of gap to the room needs: this much more than learned is as good as certain. (common practice, no source) */
const MORE_ENERGY = 0.3;
const LEAST_HEAT_W = 40;
const LEAST_LEARNED_W = 15;
/** Less than this is weather. */
const LEAST_EXTRA_W = 20;
const BALANCE_DAYS = 10;
const KEPT_DAYS = 60;
const RECENT_DAYS = 5;
const BALANCE_SD = 0.08;
/** Two probes in one water. (common practice, no source) */
const PROBES_APART_C = 0.7;
const LEARN_HOURS = 72;
/** Wh to warm one litre of seawater by one degree: 4.00 kJ/(kg K) × 1.022 kg/L. */
const WH_PER_L_C = 1.136;

export type Heat = {
  reading(entity: EntityId, value: number | null): void;
  /** Sum of all heaters in this minute; null where one of them is not known. */
  minute(at: InstantMs, heatersW: number | null): void;
  heaterMinute(equipment: WatchedEquipment, minute: MinutePower, usualW: number | null): void;
  endDay(day: number): void;
  relearn(what: 'probes' | 'heaters'): void;
};

type Inside = {
  readonly setup: ConditionSetup;
  readonly memory: HeatMemory;
  readonly scene: Scene;
  readonly book: Book;
  readonly heaters: readonly WatchedEquipment[];
  /** Water passes both probes. */
  readonly flows: () => boolean;
};

export function createHeat(inside: Inside): Heat {
  const { setup, memory, heaters } = inside;
  const { sensors } = setup;
  return {
    reading(entity, value) {
      if (value === null) return;
      if (entity === sensors['display-temperature']) {
        add(memory.display, value);
        add(memory.tenth, value);
      } else if (entity === sensors['sump-temperature']) {
        if (inside.flows()) add(memory.sump, value);
      } else if (entity === sensors['room-temperature']) add(memory.room, value);
    },
    minute(at, heatersW) {
      const hour = Math.floor(at / HOUR_MS);
      if (hour !== memory.hour) endHour(inside, hour);
      if (heatersW !== null) {
        memory.wattHours += heatersW / 60;
        memory.knownMinutes += 1;
      }
      memory.heat.push(heatersW ?? Number.NaN);
      if (memory.heat.length > 60) memory.heat.shift();
      if ((at / MINUTE_MS) % 10 !== 9) return;
      const c = of(memory.tenth, 1);
      memory.tenth = none();
      if (c !== null) memory.water.push({ at: at + MINUTE_MS, c });
      if (memory.water.length > 14) memory.water.shift();
    },
    heaterMinute: (equipment, minute, usualW) => heaterRun(inside, equipment, minute, usualW),
    endDay: (day) => endDay(inside, day),
    relearn(what) {
      if (what === 'probes') Object.assign(memory, { differences: [], offset: null, learning: [] });
      else Object.assign(memory, { days: [], extra: 0, cusum: CUSUM_START, from: null });
      if (what === 'heaters') for (const one of heaters) delete memory.runs[one.id];
    },
  };
}

function endHour(inside: Inside, hour: number): void {
  const { memory } = inside;
  const display = of(memory.display, 1);
  const sump = of(memory.sump, 1);
  const room = of(memory.room, 1);
  memory.hour = hour;
  Object.assign(memory, { display: none(), sump: none(), room: none() });
  if (display !== null && room !== null) memory.gaps.push(display - room);
  if (display !== null && sump !== null) probes(inside, display - sump, hour * HOUR_MS);
}

function probes(inside: Inside, difference: number, at: InstantMs): void {
  const { memory, book } = inside;
  if (memory.offset === null) {
    memory.learning.push(difference);
    if (memory.learning.length >= LEARN_HOURS) memory.offset = median(memory.learning);
    return;
  }
  memory.differences.push(difference);
  if (memory.differences.length > 24) memory.differences.shift();
  const quick = Math.abs(median(memory.differences.slice(-3)) - memory.offset);
  const slow = Math.abs(median(memory.differences) - memory.offset);
  if (memory.differences.length < 3) return;
  const isFull = memory.differences.length === 24;
  const apart = Math.max(isFull ? slow : 0, quick >= PROBES_APART_C ? quick : 0);
  if (isFull && apart < 0.2) book.clear('probe-disagreement');
  if (apart < 0.35) return;
  const sure = apart >= PROBES_APART_C ? 'certain' : apart >= 0.5 ? 'likely' : 'suspected';
  const now = median(memory.differences.slice(-3));
  const evidence = `display and sump thermometer are ${fig(Math.abs(now), 2)} °C apart, ${fig(apart, 2)} °C more than usual${whichProbe(memory)}; compare both with a reference thermometer`;
  const fact = { value: apart, normal: Math.abs(memory.offset), unit: '°C', evidence, ofLimit: apart / PROBES_APART_C };
  book.say({ kind: 'probe-disagreement', sure, since: at - DAY_MS, ...fact }, at);
}

/** The heating knows the true temperature: the probe it fits is the better one. */
function whichProbe(memory: HeatMemory): string {
  const fit = balance(memory);
  const last = memory.days.at(-1);
  if (fit === null || last === undefined || memory.offset === null) return '';
  const shift = median(memory.differences) - memory.offset;
  const byDisplay = Math.abs(last.heatW - fit.at(last.gapC));
  const bySump = Math.abs(last.heatW - fit.at(last.gapC - shift));
  if (Math.abs(byDisplay - bySump) < 0.05 * last.heatW || last.heatW < LEAST_HEAT_W) return '';
  return `; the heating fits the ${byDisplay < bySump ? 'display' : 'sump'} one better`;
}

/** `knows`: the gap is among those it was learned from. */
type Balance = { at(gapC: number): number; knows(gapC: number): boolean };

/** Heating over the gap to the room, from days that are over for a while; null while too little is known. */
function balance({ days, from }: HeatMemory): Balance | null {
  const newest = days.at(-1)?.day ?? 0;
  const until = Math.min(newest - RECENT_DAYS, from ?? newest);
  // On mild days the heaters hardly run, and say nothing of the cold ones.
  const used = days.filter((one) => one.day <= until && one.heatW >= LEAST_LEARNED_W);
  if (used.length < BALANCE_DAYS) return null;
  const gaps = used.map((one) => one.gapC);
  const line = theilSen(
    gaps,
    used.map((one) => one.heatW),
  );
  const [least, most] = [Math.min(...gaps), Math.max(...gaps)];
  const range = most - least;
  const knows = (gapC: number): boolean => gapC >= least - 0.2 && gapC <= most + 0.2;
  if (line !== null && range >= 1 && line.slope > 0)
    return { knows, at: (gapC) => Math.max(0, line.intercept + line.slope * gapC) };
  const perC = median(used.map((one) => one.heatW / Math.max(0.5, one.gapC)));
  return { knows, at: (gapC) => perC * gapC };
}

function endDay(inside: Inside, day: number): void {
  const { memory } = inside;
  const { gaps, wattHours, knownMinutes } = memory;
  Object.assign(memory, { gaps: [], wattHours: 0, knownMinutes: 0 });
  if (gaps.length < 20 || knownMinutes < 1_200) return;
  const gapC = gaps.reduce((sum, gap) => sum + gap, 0) / gaps.length;
  const heatW = (wattHours * 60) / knownMinutes;
  memory.days.push({ day, gapC, heatW });
  if (memory.days.length > KEPT_DAYS) memory.days.shift();
  const fit = balance(memory);
  if (fit === null || !fit.knows(gapC)) return;
  const expected = fit.at(gapC);
  if (expected < LEAST_HEAT_W) return;
  const off = heatW / expected - 1;
  memory.extra = ewmaStep(memory.extra, Math.max(-1, Math.min(1.5, off)), 0.35);
  memory.cusum = cusumStep(memory.cusum, Math.max(-6, Math.min(6, off / BALANCE_SD)), 0, 0.75);
  memory.from = memory.cusum.high === 0 ? null : (memory.from ?? day - 1);
  judgeDuty(inside, { day, gapC, heatW, expected });
}

function judgeDuty(
  { memory, book }: Inside,
  { day, gapC, heatW, expected }: DayHeat & { readonly expected: number },
): void {
  const at = (day + 1) * DAY_MS;
  const share = memory.extra / MORE_ENERGY;
  if (share < 0.3) {
    book.clear('heater-duty');
    return;
  }
  if (share < 0.6 || memory.cusum.high < 6 || heatW - expected < LEAST_EXTRA_W) return;
  const sure = share >= 1 ? 'certain' : share >= 0.8 ? 'likely' : 'suspected';
  const evidence = `the heaters take ${fig(heatW, 0)} W by the day for ${fig(gapC)} °C above the room, ${signed(heatW / expected - 1)} against what that took before (${fig((1000 * gapC) / heatW, 1)} °C held by 1 kW, ${fig((1000 * gapC) / expected, 1)} then): less of the heat reaches the water, more is lost, or the thermometer reads low`;
  const fact = { value: heatW / gapC, normal: expected / gapC, unit: 'W/°C', evidence, ofLimit: share };
  book.say({ kind: 'heater-duty', sure, since: (memory.from ?? day) * DAY_MS, ...fact }, at);
}

const LOOK_MS = 30 * MINUTE_MS;
const WINDOW_MS = HOUR_MS;

/** One long run: an hour of watts that did not warm the water, twice in a row. */
function heaterRun(inside: Inside, equipment: WatchedEquipment, minute: MinutePower, usualW: number | null): void {
  const { memory, book, setup } = inside;
  const { id, name } = equipment;
  if (minute.minW < 0.7 * (usualW ?? 50)) {
    delete memory.runs[id];
    return;
  }
  const run = memory.runs[id] ?? { since: minute.minute, fails: 0, lookedAt: minute.minute };
  memory.runs[id] = run;
  const at = minute.minute;
  if (at - run.since < WINDOW_MS + 30 * MINUTE_MS || at - run.lookedAt < LOOK_MS) return;
  run.lookedAt = at;
  const now = memory.water.at(-1);
  const then = memory.water.at(-7);
  const gapC = memory.gaps.at(-1);
  const fit = balance(memory);
  const known = memory.heat.filter((watts) => !Number.isNaN(watts));
  if (now === undefined || then === undefined || gapC === undefined || known.length < 55) return;
  const heatW = known.reduce((sum, watts) => sum + watts, 0) / known.length;
  // A cold night takes more than the mean of its day.
  const lossW = fit === null || !fit.knows(gapC) ? 0.75 * heatW : 1.25 * fit.at(gapC) + 25;
  const expected = ((heatW - lossW) * ((now.at - then.at) / HOUR_MS)) / (WH_PER_L_C * setup.volumeL);
  const warmed = now.c - then.c;
  // Of several heaters the one that runs longest is the one without effect.
  const isFirst = Object.values(memory.runs).every((other) => other.since >= run.since);
  if (expected < 0.15 || !isFirst) {
    run.fails = 0;
    return;
  }
  run.fails = warmed < 0.25 * expected ? run.fails + 1 : 0;
  if (run.fails === 0) book.clear('heater-no-warming', id);
  if (run.fails < 2) return;
  const evidence = `${name}: ${fig((at - run.since) / HOUR_MS)} h at ${fig(minute.meanW, 0)} W and the water moved ${signedC(warmed)} in the last hour where ${signedC(expected)} was to be expected: out of the water, or no flow past it`;
  const sure = run.fails >= 4 ? 'certain' : 'likely';
  const fact = { value: warmed, normal: expected, unit: '°C/h', evidence };
  book.say({ kind: 'heater-no-warming', equipment: id, sure, since: run.since, ...fact }, at + MINUTE_MS);
}

const signedC = (c: number): string => `${c >= 0 ? '+' : '−'}${fig(Math.abs(c), 2)} °C`;
