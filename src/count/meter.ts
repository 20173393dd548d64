import type { Measure, Origin } from '../model/index.ts';
import { HOUR_MS, MINUTE_MS } from '../units/index.ts';
import { bookAt, bookSpread, type Ledger } from './ledger.ts';
import type { Doubt, DoubtKind } from './types.ts';

const NONE = -1;

export type MeterBooks = {
  readonly ledger: Ledger;
  readonly measure: Measure;
  /** Meter steps per unit of the reading, and grains per meter step. */
  readonly stepsPerReading: number;
  readonly grainsPerStep: number;
  readonly maxStepsPerHour: number;
  /** `at-once`: a fall by more than a tenth is a reset there and then, as the hub's own statistics take it. */
  readonly atOnce: boolean;
};

/** Memory of a meter that counts up, in meter steps; -1 = none. */
export type Meter = {
  /** Highest reading of the present count: what low and best go by. */
  base: number;
  /** When `base` was first read. */
  baseAt: number;
  /** When the meter last gave a believable reading. */
  readAt: number;
  gapAt: number;
  gapMs: number;
  /** A suspicious fall that waits for a second reading. */
  fall: number;
  fallAt: number;
  fallGapMs: number;
  /** A rise faster than the source can be, waiting likewise. */
  jump: number;
  jumpAt: number;
  /** Latest reading of a small dip below `base`, and whether a second one has been seen in it. */
  dip: number;
  dipHeld: number;
};

export const newMeter = (): Meter => ({
  base: NONE,
  baseAt: NONE,
  readAt: NONE,
  gapAt: NONE,
  gapMs: 0,
  fall: NONE,
  fallAt: NONE,
  fallGapMs: 0,
  jump: NONE,
  jumpAt: NONE,
  dip: NONE,
  dipHeld: 0,
});

/** What the fold tells besides amounts. */
export type MeterLog = {
  reset(at: number, before: number, after: number): void;
  doubt(doubt: Omit<Doubt, 'counter'>): void;
};

/** New reading below nine tenths of the one before, strictly: in whole steps, so that exactly nine tenths is no reset. */
const isFall = (steps: number, base: number): boolean => steps * 10 < base * 9;

/** What the source could bring in that time; an hour is granted on top because coarse meters step late. */
const mostIn = (books: MeterBooks, ms: number): number => (books.maxStepsPerHour * (ms + HOUR_MS)) / HOUR_MS;

function inReading(books: MeterBooks, steps: number): number {
  return Math.round((steps / books.stepsPerReading) * 1e6) / 1e6;
}

function doubt(books: MeterBooks, log: MeterLog, kind: DoubtKind, at: number, before: number, after: number): void {
  log.doubt({ kind, at, before: inReading(books, before), after: inReading(books, after) });
}

function lostInGap(books: MeterBooks, gapMs: number): number {
  return Number.isFinite(books.maxStepsPerHour) ? Math.ceil((books.maxStepsPerHour * gapMs) / HOUR_MS) : 0;
}

/** The meter began again at zero: its new reading is all new, and what ran up before the fall unseen is possible. */
function bookReset(meter: Meter, books: MeterBooks, origin: Origin, log: MeterLog): void {
  const { base, fall, fallAt } = meter;
  const believable = fall <= mostIn(books, fallAt - meter.readAt);
  const sure = believable ? fall * books.grainsPerStep : 0;
  const most = (fall + lostInGap(books, meter.fallGapMs)) * books.grainsPerStep;
  bookAt(books.ledger, fallAt, origin, sure, sure, most);
  if (!believable) doubt(books, log, 'reset-to-a-high-value', fallAt, base, fall);
  log.reset(fallAt, inReading(books, base), inReading(books, fall));
  meter.base = fall;
  meter.baseAt = fallAt;
  meter.readAt = fallAt;
  dropDip(meter);
  dropFall(meter);
}

function holdFall(meter: Meter, at: number, steps: number): void {
  meter.fall = steps;
  meter.fallAt = at;
  meter.fallGapMs = meter.gapMs;
}

/** What is settled leaves nothing behind, so that equal counters have equal memories, whichever way they were fed. */
function dropFall(meter: Meter): void {
  meter.fall = NONE;
  meter.fallAt = NONE;
  meter.fallGapMs = 0;
}

function dropDip(meter: Meter): void {
  meter.dip = NONE;
  meter.dipHeld = 0;
}

function dropJump(meter: Meter): void {
  meter.jump = NONE;
  meter.jumpAt = NONE;
}

/** True where the reading has been dealt with. */
function settleFall(
  meter: Meter,
  books: MeterBooks,
  log: MeterLog,
  at: number,
  steps: number,
  origin: Origin,
): boolean {
  if (!isFall(steps, meter.base)) {
    doubt(books, log, 'fall-taken-back', meter.fallAt, meter.base, meter.fall);
    // The meter may still have begun again and be back there by now, if it can be that fast; it steps, hence the minute.
    if ((steps - meter.fall) * HOUR_MS <= books.maxStepsPerHour * (at - meter.fallAt + MINUTE_MS)) {
      const most = (Math.min(meter.base, steps) + lostInGap(books, meter.fallGapMs)) * books.grainsPerStep;
      bookAt(books.ledger, at, origin, 0, 0, most);
    }
    dropFall(meter);
    return false;
  }
  if (steps < meter.fall) {
    // Lower still: either the first fall was false, or it was a reset and this is another.
    if (meter.fall <= mostIn(books, meter.fallAt - meter.readAt)) {
      bookAt(books.ledger, meter.fallAt, origin, 0, 0, meter.fall * books.grainsPerStep);
    }
    holdFall(meter, at, steps);
    return true;
  }
  meter.gapMs -= meter.fallGapMs;
  bookReset(meter, books, origin, log);
  return false;
}

/** The same for a rise too fast to be true: kept out of low and best for good, in high once a second reading goes on from it. */
function settleJump(meter: Meter, books: MeterBooks, log: MeterLog, steps: number, origin: Origin): void {
  const { base, jump, jumpAt } = meter;
  dropJump(meter);
  if (steps < jump) {
    doubt(books, log, 'jump-taken-back', jumpAt, base, jump);
    return;
  }
  bookAt(books.ledger, jumpAt, origin, 0, 0, (jump - base) * books.grainsPerStep);
  doubt(books, log, 'jump-too-fast', jumpAt, base, jump);
  meter.base = jump;
  meter.baseAt = jumpAt;
  meter.readAt = jumpAt;
  dropDip(meter);
}

/** Not higher than the base, but no reset either: the total stands still, only high follows what rises inside the dip. */
function takeDip(meter: Meter, books: MeterBooks, at: number, steps: number, origin: Origin): void {
  if (meter.dip !== NONE && steps > meter.dip) {
    bookAt(books.ledger, at, origin, 0, 0, (steps - meter.dip) * books.grainsPerStep);
  }
  meter.dipHeld = meter.dip === NONE ? 0 : 1;
  meter.dip = steps;
}

function takeRise(meter: Meter, books: MeterBooks, at: number, steps: number, origin: Origin): void {
  const sure = (steps - meter.base) * books.grainsPerStep;
  const most = meter.dip !== NONE && meter.dipHeld === 1 ? (steps - meter.dip) * books.grainsPerStep : sure;
  if (meter.gapMs > 0) {
    // Where it could have begun again inside the gap and climbed to what it shows now, all of the gap is possible.
    const hidden = lostInGap(books, meter.gapMs);
    const possible = steps <= hidden ? Math.max(most, hidden * books.grainsPerStep) : most;
    bookSpread(books.ledger, meter.readAt, at, 'assumed', sure, sure, possible);
  } else {
    bookAt(books.ledger, at, origin, sure, sure, most);
  }
  if (steps > meter.base) meter.baseAt = at;
  meter.base = steps;
  dropDip(meter);
}

function firstReading(meter: Meter, at: number, steps: number): void {
  meter.base = steps;
  meter.baseAt = at;
  meter.readAt = at;
  meter.gapAt = NONE;
  meter.gapMs = 0;
}

export function takeReading(
  meter: Meter,
  books: MeterBooks,
  at: number,
  value: number | null,
  origin: Origin,
  log: MeterLog,
): void {
  if (value === null) {
    if (meter.gapAt === NONE && meter.base !== NONE) meter.gapAt = at;
    return;
  }
  const steps = Math.round(value * books.stepsPerReading);
  if (value < 0) {
    doubt(books, log, 'negative', at, Math.max(0, meter.base), steps);
    return;
  }
  if (meter.base === NONE) {
    firstReading(meter, at, steps);
    return;
  }
  if (meter.gapAt !== NONE) {
    meter.gapMs += at - meter.gapAt;
    meter.gapAt = NONE;
  }
  if (meter.fall !== NONE && settleFall(meter, books, log, at, steps, origin)) return;
  if (meter.jump !== NONE) settleJump(meter, books, log, steps, origin);
  if (isFall(steps, meter.base)) {
    holdFall(meter, at, steps);
    if (!books.atOnce) return;
    bookReset(meter, books, origin, log);
  } else if (steps < meter.base) {
    takeDip(meter, books, at, steps, origin);
  } else if (steps - meter.base > mostIn(books, at - meter.baseAt)) {
    meter.jump = steps;
    meter.jumpAt = at;
    return;
  } else {
    takeRise(meter, books, at, steps, origin);
  }
  meter.readAt = at;
  meter.gapMs = 0;
}

/** What may have happened that no reading has settled yet; high only. Only ever done to a copy. */
export function passMeter(meter: Meter, books: MeterBooks, now: number): void {
  if (meter.base === NONE) return;
  const { grainsPerStep, ledger } = books;
  if (meter.fall !== NONE) {
    bookAt(ledger, meter.fallAt, 'assumed', 0, 0, (meter.fall + lostInGap(books, meter.fallGapMs)) * grainsPerStep);
  }
  if (meter.jump !== NONE) bookAt(ledger, meter.jumpAt, 'assumed', 0, 0, (meter.jump - meter.base) * grainsPerStep);
  if (meter.gapAt !== NONE && now > meter.gapAt) {
    bookAt(ledger, now, 'assumed', 0, 0, lostInGap(books, now - meter.gapAt) * grainsPerStep);
  }
}
