// Water making: what comes through the resin, what the membrane holds back, what flows with the command off.
import type { EntityId } from '../model/index.ts';
import { DAY_MS, HOUR_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import type { Book } from './book.ts';
import { mannKendall, median, trimmedMean } from './stats/index.ts';
import { fig } from './text.ts';
import type { ConditionSetup } from './types.ts';

type Litres = { readonly at: InstantMs; readonly value: number };

/** Plain data. */
export type RoMemory = {
  running: boolean | null;
  since: InstantMs;
  readings: { product: number[]; ro: number[]; feed: number[] };
  /** Windows with a dirty product in a row; when the first was. */
  dirty: number;
  dirtyFrom: InstantMs | null;
  rejections: number[];
  usualRejection: number | null;
  fallFrom: InstantMs | null;
  /** Per meter: reading when the flow had to be over, the newest, how often it moved since, when last. */
  meters: Record<EntityId, { from: Litres | null; last: Litres | null; moves: number; movedAt: InstantMs }>;
  offFrom: InstantMs | null;
};

export const newRo = (): RoMemory => ({
  running: null,
  since: 0,
  readings: { product: [], ro: [], feed: [] },
  ...{ dirty: 0, dirtyFrom: null, rejections: [], usualRejection: null, fallFrom: null, meters: {}, offFrom: null },
});

/** The first water after a pause carries what crept through meanwhile. (common practice, no source) */
const CREEP_MS = 15 * MINUTE_MS;
/** Product at 1 mg/L: the resin is due. (common practice, no source) */
const RESIN_DUE = 1;
const RESIN_SPENT = 3;
/** Membrane due below this. (common practice, no source) */
const REJECTION_DUE = 0.95;
const LEARN_WINDOWS = 6;
const KEPT_WINDOWS = 40;
/** Water may run on so long after the stop. */
const RUN_ON_MS = MINUTE_MS;
const STILL_MS = 3 * MINUTE_MS;
const LEAKED_L = 0.3;

export type Ro = {
  /** Every minute: the unit's watts say that it makes water (null: not known), its switch that it may. */
  minute(at: InstantMs, runs: boolean | null, switchOn: boolean | null): void;
  reading(entity: EntityId, at: InstantMs, value: number | null): void;
  relearn(kind: string | undefined): void;
};

type Inside = {
  readonly setup: ConditionSetup;
  readonly memory: RoMemory;
  readonly book: Book;
  readonly equipment: string | undefined;
};

export function createRo(inside: Inside): Ro {
  const { setup, memory, book } = inside;
  const { sensors } = setup;
  const listOf = (entity: EntityId): number[] | null => {
    if (entity === sensors['product-tds']) return memory.readings.product;
    if (entity === sensors['ro-tds']) return memory.readings.ro;
    return entity === sensors['feed-tds'] ? memory.readings.feed : null;
  };
  return {
    minute(at, runs, switchOn) {
      if (runs === null) return;
      const isOff = !runs && switchOn !== true;
      if (runs !== memory.running) {
        if (!runs && memory.running === true) endWindow(inside, at);
        memory.running = runs;
        memory.since = at;
        memory.readings = { product: [], ro: [], feed: [] };
      }
      if (isOff && memory.offFrom === null) memory.offFrom = at;
      if (isOff && book.open('flow-when-off', inside.equipment) !== undefined) closesAgain(inside, at);
      if (!isOff) {
        memory.offFrom = null;
        memory.meters = {};
      }
    },
    reading(entity, at, value) {
      if (value === null) return;
      const list = listOf(entity);
      if (list !== null && memory.running === true && at >= memory.since + CREEP_MS) {
        list.push(value);
        if (list === memory.readings.product) spentNow(inside, at);
      }
      if (entity === sensors['feed-litres'] || entity === sensors['product-litres']) flow(inside, entity, at, value);
    },
    relearn(kind) {
      if (kind === undefined || kind === 'di-resin') Object.assign(memory, { dirty: 0, dirtyFrom: null });
      if (kind === undefined || kind === 'ro-membrane')
        Object.assign(memory, { rejections: [], usualRejection: null, fallFrom: null });
    },
  };
}

/** An hour off, and no pulse in the half of it. */
function closesAgain({ memory, book, equipment }: Inside, at: InstantMs): void {
  const moved = Math.max(0, ...Object.values(memory.meters).map((meter) => meter.movedAt));
  if (at - (memory.offFrom ?? at) <= HOUR_MS || at - moved <= HOUR_MS / 2) return;
  memory.meters = {};
  book.clear('flow-when-off', equipment);
}

/** At once where the water is unfit, not only when the unit stops. */
function spentNow(inside: Inside, at: InstantMs): void {
  const last = inside.memory.readings.product.slice(-4);
  if (last.length === 4 && median(last) >= RESIN_SPENT) sayResin(inside, median(last), at);
}

function sayResin({ memory, book, equipment }: Inside, product: number, at: InstantMs): void {
  memory.dirtyFrom ??= at;
  const windows = Math.max(1, memory.dirty);
  const sure =
    product >= RESIN_SPENT || windows >= 3 ? 'certain' : product >= 2 || windows >= 2 ? 'likely' : 'suspected';
  const told = `product water reads ${fig(product)} mg/L after the resin`;
  const times = windows > 1 ? `, ${windows} times running` : '';
  const what = product >= RESIN_SPENT ? '; keep it out of the store' : '; the resin is giving out';
  const fact = {
    value: product,
    normal: 0,
    unit: 'mg/L',
    evidence: `${told}${times}${what}`,
    ofLimit: Math.max(1, product / RESIN_DUE),
  };
  const about = equipment === undefined ? {} : { equipment };
  book.say({ kind: 'resin-breakthrough', ...about, sure, since: memory.dirtyFrom, ...fact }, at);
}

function endWindow(inside: Inside, at: InstantMs): void {
  const { memory, book, equipment } = inside;
  const { product, ro, feed } = memory.readings;
  if (product.length >= 3) {
    const level = median(product);
    memory.dirty = level >= RESIN_DUE ? memory.dirty + 1 : 0;
    if (level >= RESIN_DUE) sayResin(inside, level, at);
    else {
      memory.dirtyFrom = null;
      book.clear('resin-breakthrough', equipment);
    }
  }
  if (ro.length >= 5 && feed.length >= 5) rejection(inside, 1 - trimmedMean(ro) / trimmedMean(feed), at);
}

function rejection({ memory, book, equipment }: Inside, value: number, at: InstantMs): void {
  const { rejections } = memory;
  rejections.push(value);
  if (rejections.length > KEPT_WINDOWS) rejections.shift();
  if (memory.usualRejection === null) {
    if (rejections.length >= LEARN_WINDOWS) memory.usualRejection = median(rejections);
    return;
  }
  const usual = memory.usualRejection;
  const now = median(rejections.slice(-3));
  const lost = usual - now;
  if (lost < 0.004) {
    memory.fallFrom = null;
    book.clear('rejection-decline', equipment);
    return;
  }
  memory.fallFrom ??= at;
  const isDue = now < REJECTION_DUE;
  const share = lost / Math.max(0.01, usual - REJECTION_DUE);
  const falls = mannKendall(rejections).trend === 'decreasing';
  if (!isDue && (share < 0.5 || !falls)) return;
  const sure = isDue ? 'certain' : share >= 0.75 ? 'likely' : 'suspected';
  const evidence = `the membrane holds back ${fig(now * 100, 1)} % of the dissolved solids, ${fig(usual * 100, 1)} % when it was learned; at 95 % it is due`;
  const fact = {
    value: now,
    normal: usual,
    unit: 'share held back',
    evidence,
    ofLimit: isDue ? Math.max(1, share) : share,
  };
  const about = equipment === undefined ? {} : { equipment };
  book.say(
    { kind: 'rejection-decline', ...about, sure, since: Math.min(memory.fallFrom, at - 3 * DAY_MS), ...fact },
    at,
  );
}

/** A litre meter that still moves three minutes after the stop. */
function flow({ memory, book, equipment }: Inside, entity: EntityId, at: InstantMs, value: number): void {
  const { offFrom } = memory;
  if (offFrom === null || at < offFrom + RUN_ON_MS) return;
  const meter = memory.meters[entity] ?? { from: null, last: null, moves: 0, movedAt: 0 };
  memory.meters[entity] = meter;
  if (meter.from === null || value < meter.from.value) {
    meter.from = { at, value };
    meter.last = { at, value };
    return;
  }
  if (meter.last !== null && value > meter.last.value) {
    meter.moves += 1;
    meter.movedAt = at;
  }
  meter.last = { at, value };
  const litres = value - meter.from.value;
  if (litres < LEAKED_L || meter.moves < 2 || at < offFrom + STILL_MS) return;
  const hours = Math.max(1 / 60, (at - meter.from.at) / HOUR_MS);
  const rate = litres / hours;
  if (rate < 0.05) return;
  const sure = litres >= 2 * LEAKED_L ? 'certain' : 'likely';
  const evidence = `${fig(litres)} L passed the meter in ${fig((at - meter.from.at) / MINUTE_MS, 0)} min with the RO unit off, ${fig(rate)} L/h: its valve does not close`;
  const about = equipment === undefined ? {} : { equipment };
  book.say(
    { kind: 'flow-when-off', ...about, sure, since: offFrom, value: rate, normal: 0, unit: 'L/h', evidence },
    at,
  );
}
