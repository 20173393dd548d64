import type { Narrowing } from '../model/index.ts';
import { HOUR_MS } from '../units/index.ts';

const NONE = -1;
/** Companion meters are read in millionths of a kWh or litre. */
const STEPS_PER_UNIT = 1e6;

/** All in steps; rates are steps an hour. */
export type NarrowBooks = {
  readonly stepsPerReading: number;
  readonly leastOn: number;
  readonly mostOn: number;
  readonly mostOff: number;
  readonly coarse: number;
};

/**
 * Memory of a companion meter. A window runs from the reading `ref` to the next one taken; what was seen of the device in
 * it is taken off what the meter went on by, and the rest bounds the on-time that was not seen.
 */
export type Narrow = {
  /** Reading at the start of the window, -1 before the first; the newest reading, -1 while the meter gives none. */
  ref: number;
  newest: number;
  /** On- and off-time seen in the window, and time of gaps that were booked without the meter. */
  seenOn: number;
  seenOff: number;
  unseen: number;
  /** A gap that has ended and waits for the meter; -1 none. */
  waitFrom: number;
  waitTo: number;
  waitBefore: number;
  waitAfter: number;
};

export const newNarrow = (): Narrow => ({
  ref: NONE,
  newest: NONE,
  seenOn: 0,
  seenOff: 0,
  unseen: 0,
  waitFrom: NONE,
  waitTo: NONE,
  waitBefore: NONE,
  waitAfter: NONE,
});

export function narrowBooks(by: Narrowing): NarrowBooks {
  return {
    stepsPerReading: by.unitsPerReading * STEPS_PER_UNIT,
    leastOn: by.leastPerHourOn * STEPS_PER_UNIT,
    mostOn: by.mostPerHourOn * STEPS_PER_UNIT,
    mostOff: by.mostPerHourOff * STEPS_PER_UNIT,
    coarse: by.coarseness * STEPS_PER_UNIT,
  };
}

export const companionSteps = (books: NarrowBooks, value: number): number => Math.round(value * books.stepsPerReading);

export function beginWindow(narrow: Narrow, reading: number): void {
  narrow.ref = reading;
  narrow.seenOn = 0;
  narrow.seenOff = 0;
  narrow.unseen = 0;
}

export function dropWait(narrow: Narrow): void {
  narrow.waitFrom = NONE;
  narrow.waitTo = NONE;
  narrow.waitBefore = NONE;
  narrow.waitAfter = NONE;
}

export type OnTime = { readonly low: number; readonly high: number };

/**
 * On-time that `hiddenMs` of the window can hold when the meter ends it at `reading`; null where the meter cannot tell or
 * contradicts what was seen, so that nothing may be concluded from it.
 */
export function onTimeIn(narrow: Narrow, books: NarrowBooks, reading: number, hiddenMs: number): OnTime | null {
  const { ref, seenOn, seenOff, unseen } = narrow;
  if (ref === NONE || reading < ref) return null;
  const { leastOn, mostOn, mostOff, coarse } = books;
  const used = reading - ref;
  const dark = hiddenMs + unseen;
  const least = Math.max(0, used - coarse) * HOUR_MS;
  const most = (used + coarse) * HOUR_MS;
  // At most what all the time could take; more was never used by this device alone.
  if (least > mostOn * (seenOn + dark) + mostOff * seenOff) return null;
  // Less than the seen on-time alone takes: the device is not what the settings say.
  if (most < leastOn * seenOn) return null;
  const sure = mostOn > mostOff ? (least - mostOn * seenOn - mostOff * (seenOff + dark)) / (mostOn - mostOff) : 0;
  // So low a meter may have begun again unseen, and then has taken more than it shows.
  const maybeReset = reading * HOUR_MS <= mostOn * (seenOn + dark) + mostOff * seenOff;
  const possible = leastOn > 0 && !maybeReset ? (most - leastOn * seenOn) / leastOn : dark;
  const low = Math.min(hiddenMs, Math.max(0, Math.floor(sure) - unseen));
  return { low, high: Math.max(low, Math.min(hiddenMs, Math.ceil(possible))) };
}
