import type { Origin } from '../model/index.ts';
import { HOUR_MS } from '../units/index.ts';
import { type Counter, take } from './counter.ts';
import type { Held, HeldBooks } from './held.ts';
import { turnTo } from './ledger.ts';
import type { MeterLog } from './meter.ts';
import { endsOff, type Switched, type SwitchedBooks } from './switched.ts';

/**
 * Runs a column through a counter and returns how many rows were late. Rows that do nothing but go on within the hour are
 * booked in local numbers; every other row (a gap, another hour, a run that counts in another hour) is taken as ever.
 */
export type ColumnReader = (at: Float64Array, value: Float64Array, origin: Origin) => number;

/** Switches and held readings have nothing to tell but amounts. */
const silent: MeterLog = { reset: () => undefined, doubt: () => undefined };

/** Null: this counter has no way of its own through columns. */
export function columnReader(counter: Counter): ColumnReader | null {
  const { engine } = counter;
  if (engine.kind === 'held')
    return (at, value, origin) => readHeld(counter, engine.run, engine.books, at, value, origin);
  if (engine.kind !== 'switched' || engine.books.companion !== null || engine.books.bothEdges) return null;
  const { onAbove, offBelow } = engine.decode;
  return (at, value, origin) => readSwitched(counter, engine.run, engine.books, onAbove, offBelow, at, value, origin);
}

function readSwitched(
  counter: Counter,
  run: Switched,
  books: SwitchedBooks,
  onAbove: number,
  offBelow: number,
  ats: Float64Array,
  values: Float64Array,
  origin: Origin,
): number {
  const { minOnMs, minOffMs } = books;
  const length = ats.length;
  let late = 0;
  let row = 0;
  while (row < length) {
    // One row as ever: it may turn to another hour or end a gap.
    const first = ats[row] ?? 0;
    if (first > counter.lastAt) {
      const value = values[row] ?? Number.NaN;
      take(counter, first, Number.isNaN(value) ? null : value, origin, silent);
    } else if (first < counter.lastAt) late++;
    row++;
    if (run.level === -1) continue;
    const hour = openHour(books, run.bookedTo, origin);
    const until = Math.min(run.hourEnd, hour + HOUR_MS);
    let last = counter.lastAt;
    let level: number = run.level;
    let { riseAt, fallAt, runAt, fallDoubt } = run;
    let onMs = 0;
    let starts = 0;
    for (; row < length; row++) {
      const at = ats[row] ?? 0;
      const value = values[row] ?? Number.NaN;
      if (at >= until || at <= last || Number.isNaN(value)) break;
      const next = value > onAbove ? 1 : value < offBelow ? 0 : level;
      if (level === 1) {
        if (runAt !== -1 && at - riseAt >= minOnMs) {
          if (runAt < hour) break;
          starts++;
          runAt = -1;
        }
        onMs += at - last;
        if (next === 0) {
          fallAt = at;
          fallDoubt = 0;
        }
      } else if (next === 1) {
        if (minOnMs <= 0 && runAt !== -1) break;
        if (endsOff(fallAt, fallDoubt, minOffMs, at)) {
          if (minOnMs <= 0) starts++;
          else runAt = at;
        } else if (fallDoubt === 1) break;
        riseAt = at;
      }
      level = next;
      last = at;
    }
    if (last === counter.lastAt) continue;
    counter.lastAt = last;
    run.bookedTo = last;
    run.level = level === 1 ? 1 : 0;
    run.riseAt = riseAt;
    run.fallAt = fallAt;
    run.runAt = runAt;
    run.fallDoubt = fallDoubt;
    run.hourOn += onMs;
    bookQuiet(books, onMs, starts);
  }
  return late;
}

/** Opens the hour in all accounts. Up to its end (not included) rows can be booked as plain sums. */
function openHour({ time, flow, edges }: SwitchedBooks, at: number, origin: Origin): number {
  const hour = at - (at % HOUR_MS);
  if (time !== null && (time.hour !== hour || time.origin !== origin)) turnTo(time, at, origin);
  if (flow !== null && (flow.hour !== hour || flow.origin !== origin)) turnTo(flow, at, origin);
  if (edges !== null && (edges.hour !== hour || edges.origin !== origin)) turnTo(edges, at, origin);
  return hour;
}

function bookQuiet({ time, flow, flowRate, edges, edgeGrains }: SwitchedBooks, onMs: number, starts: number): void {
  if (time !== null) {
    time.low += onMs;
    time.best += onMs;
    time.high += onMs;
  }
  if (flow !== null) {
    flow.low += onMs * flowRate;
    flow.best += onMs * flowRate;
    flow.high += onMs * flowRate;
  }
  if (edges !== null) {
    edges.low += starts * edgeGrains;
    edges.best += starts * edgeGrains;
    edges.high += starts * edgeGrains;
  }
}

function readHeld(
  counter: Counter,
  held: Held,
  { ledger, maxHoldMs }: HeldBooks,
  ats: Float64Array,
  values: Float64Array,
  origin: Origin,
): number {
  const length = ats.length;
  let late = 0;
  let row = 0;
  while (row < length) {
    const first = ats[row] ?? 0;
    if (first > counter.lastAt) {
      const value = values[row] ?? Number.NaN;
      take(counter, first, Number.isNaN(value) ? null : value, origin, silent);
    } else if (first < counter.lastAt) late++;
    row++;
    let { watts } = held;
    let last = counter.lastAt;
    if (watts === -1 || counter.since === -1 || held.bookedTo !== last) continue;
    if (ledger.hourEnd <= last || last < ledger.hour || ledger.origin !== origin) turnTo(ledger, last, origin);
    const until = ledger.hourEnd;
    let sum = 0;
    for (; row < length; row++) {
      const at = ats[row] ?? 0;
      const value = values[row] ?? Number.NaN;
      const ms = at - last;
      if (at > until || ms <= 0 || ms > maxHoldMs || Number.isNaN(value)) break;
      sum += Math.round(watts * 1000 * ms);
      watts = Math.max(0, value);
      last = at;
      if (at === until) {
        row++;
        break;
      }
    }
    if (last === counter.lastAt) continue;
    counter.lastAt = last;
    held.bookedTo = last;
    held.watts = watts;
    ledger.low += sum;
    ledger.best += sum;
    ledger.high += sum;
  }
  return late;
}
