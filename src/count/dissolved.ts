import type { Origin } from '../model/index.ts';
import { bookAt, drainEntries, type Ledger } from './ledger.ts';
import { type Meter, type MeterBooks, type MeterLog, newMeter, passMeter, takeReading } from './meter.ts';

const NONE = -1;
/** Dissolved solids are read in thousandths of a milligram a litre. */
const STEPS_PER_MG_L = 1000;

export type DissolvedBooks = {
  /** Grams, the account of the counter. */
  readonly ledger: Ledger;
  /** The litre meter; its own ledger is only passed through, in meter steps. */
  readonly litres: MeterBooks;
  readonly maxAgeMs: number;
  /** Steps that the water can hold at most where no reading says. */
  readonly most: number;
};

/** What is known of the dissolved solids since the litre meter was last settled. */
export type Tds = {
  /** The reading that holds now, in steps; -1 none. And the last there was at all. */
  tds: number;
  tdsAt: number;
  tdsLast: number;
  /** Looked at up to here. */
  tdsTo: number;
  tdsMin: number;
  tdsMax: number;
  /** Steps × ms and ms over the time a reading held; 1 where there was time without one. */
  tdsSum: number;
  tdsMs: number;
  tdsUnknown: number;
};

export type Dissolved = { readonly meter: Meter; readonly tds: Tds };

export const newDissolved = (): Dissolved => ({
  meter: newMeter(),
  tds: {
    tds: NONE,
    tdsAt: NONE,
    tdsLast: NONE,
    tdsTo: NONE,
    tdsMin: NONE,
    tdsMax: NONE,
    tdsSum: 0,
    tdsMs: 0,
    tdsUnknown: 0,
  },
});

export const tdsSteps = (mgPerL: number): number => Math.round(mgPerL * STEPS_PER_MG_L);

function beginWindow(tds: Tds, at: number): void {
  tds.tdsTo = at;
  tds.tdsMin = NONE;
  tds.tdsMax = NONE;
  tds.tdsSum = 0;
  tds.tdsMs = 0;
  tds.tdsUnknown = 0;
}

/** Adds the time up to `at` with the reading that held. */
function lookTo(tds: Tds, maxAgeMs: number, at: number): void {
  if (at <= tds.tdsTo) return;
  const until = tds.tds === NONE ? tds.tdsTo : Math.min(at, tds.tdsAt + maxAgeMs);
  const ms = until - tds.tdsTo;
  if (ms > 0) {
    tds.tdsMin = tds.tdsMin === NONE ? tds.tds : Math.min(tds.tdsMin, tds.tds);
    tds.tdsMax = Math.max(tds.tdsMax, tds.tds);
    tds.tdsSum += tds.tds * ms;
    tds.tdsMs += ms;
  }
  if (until < at) tds.tdsUnknown = 1;
  tds.tdsTo = at;
}

/** Books grams for what the meter booked in litres; at which moment of the window the water flowed is not known. */
function bookGrams({ tds }: Dissolved, books: DissolvedBooks): void {
  const isKnown = tds.tdsUnknown === 0 && tds.tdsMin !== NONE;
  const low = isKnown ? tds.tdsMin : 0;
  const high = isKnown ? tds.tdsMax : Math.max(books.most, tds.tdsMax);
  const mean = tds.tdsMs > 0 ? Math.round(tds.tdsSum / tds.tdsMs) : tds.tdsLast;
  const best = Math.min(high, Math.max(low, mean));
  for (const entry of drainEntries(books.litres.ledger)) {
    bookAt(books.ledger, entry.hour, entry.origin, entry.low * low, entry.best * best, entry.high * high);
  }
}

/** True while a reading of the meter still waits for its judgement: what it will book began before it. */
const isOpen = ({ fall, jump, dip, gapAt }: Meter): boolean =>
  fall !== NONE || jump !== NONE || dip !== NONE || gapAt !== NONE;

/** True once both the litres and the dissolved solids have been read: counting begins. */
export const isCounting = ({ meter, tds }: Dissolved): boolean => meter.base !== NONE && tds.tdsLast !== NONE;

export function takeLitres(
  run: Dissolved,
  books: DissolvedBooks,
  at: number,
  value: number | null,
  origin: Origin,
  log: MeterLog,
): void {
  const { meter, tds } = run;
  const began = isCounting(run);
  // Before the dissolved solids were ever read only the newest litres matter: from them counting will begin.
  if (!began) Object.assign(meter, newMeter());
  lookTo(tds, books.maxAgeMs, at);
  takeReading(meter, books.litres, at, value, origin, log);
  if (began) bookGrams(run, books);
  if (!began || (meter.readAt === at && !isOpen(meter))) beginWindow(tds, at);
}

export function takeTds(run: Dissolved, books: DissolvedBooks, at: number, value: number | null): void {
  const { meter, tds } = run;
  const began = isCounting(run);
  lookTo(tds, books.maxAgeMs, at);
  // Below zero is a fault of the probe: it says nothing.
  tds.tds = value === null || value < 0 ? NONE : tdsSteps(value);
  tds.tdsAt = at;
  if (tds.tds === NONE) return;
  tds.tdsLast = tds.tds;
  if (began || meter.base === NONE) return;
  // The total stands as it was last read: what it brings from now on counts.
  meter.baseAt = at;
  meter.readAt = at;
  beginWindow(tds, at);
}

/** What may have flowed that no reading has settled yet; high only. Only ever done to a copy. */
export function passDissolved(run: Dissolved, books: DissolvedBooks, now: number): void {
  if (!isCounting(run)) return;
  lookTo(run.tds, books.maxAgeMs, now);
  passMeter(run.meter, books.litres, now);
  bookGrams(run, books);
}
