import type { Origin } from '../model/index.ts';
import { bookSpread, type Ledger } from './ledger.ts';

const NONE = -1;

export type HeldBooks = { readonly ledger: Ledger; readonly maxHoldMs: number; readonly maxPowerW: number };

/** Memory of a power reading that is held until the next one. */
export type Held = {
  /** -1 = not known. */
  watts: number;
  /** Booked up to here; -1 before the first reading. */
  bookedTo: number;
};

export const newHeld = (bookedTo: number): Held => ({ watts: NONE, bookedTo });

const microjoules = (watts: number, ms: number): number => Math.round(watts * 1000 * ms);

/**
 * Books up to `at` with what was last read. A reading older than `maxHoldMs` proves nothing: the whole stretch is then left
 * out of low; best holds the reading as long as it may be held; high takes the most the device can draw after that.
 */
function bookHeld(held: Held, books: HeldBooks, at: number, origin: Origin, closed: boolean): void {
  const { watts, bookedTo } = held;
  const { ledger, maxHoldMs, maxPowerW } = books;
  if (bookedTo === NONE || at <= bookedTo) return;
  if (watts === NONE) {
    bookSpread(ledger, bookedTo, at, 'assumed', 0, 0, microjoules(maxPowerW, at - bookedTo));
    return;
  }
  const ms = at - bookedTo;
  const sure = microjoules(watts, Math.min(ms, maxHoldMs));
  if (ms <= maxHoldMs) {
    bookSpread(ledger, bookedTo, at, origin, closed ? sure : 0, sure, sure);
    return;
  }
  const until = bookedTo + maxHoldMs;
  bookSpread(ledger, bookedTo, until, 'assumed', 0, sure, sure);
  bookSpread(ledger, until, at, 'assumed', 0, 0, microjoules(Math.max(watts, maxPowerW), at - until));
}

export function takeWatts(held: Held, books: HeldBooks, at: number, value: number | null, origin: Origin): void {
  if (value === null) {
    if (held.watts === NONE) return;
    bookHeld(held, books, at, origin, true);
    held.watts = NONE;
  } else {
    bookHeld(held, books, at, origin, true);
    // A plug reads a little below zero when idle; nothing here feeds power back.
    held.watts = Math.max(0, value);
  }
  held.bookedTo = at;
}

/** Until the next reading comes, low leaves out what only that reading can prove. Only ever done to a copy. */
export function passHeld(held: Held, books: HeldBooks, now: number): void {
  bookHeld(held, books, now, 'live', false);
}
