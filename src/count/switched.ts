import type { Origin } from '../model/index.ts';
import { bookAt, bookRate, bookSpread, type Ledger } from './ledger.ts';

/** 1 on, 0 off, -1 not known. */
export type Level = -1 | 0 | 1;
const NONE = -1;

/** What is booked while on (time, flow) and at each start. Rates in grains per ms; `edgeGrains` per start. */
export type SwitchedBooks = {
  readonly time: Ledger | null;
  readonly flow: Ledger | null;
  readonly flowRate: number;
  readonly edges: Ledger | null;
  readonly edgeGrains: number;
  readonly minOnMs: number;
  readonly minOffMs: number;
  /** The shortest time from one start to the next that is thought possible: bounds the starts inside a gap. */
  readonly cycleMs: number;
};

/**
 * Memory of a source that is on or off. A run begins at an off→on edge after at least `minOff` of off and counts as a start
 * once it has held an on-stretch of at least `minOn`; shorter dips do not end it. The time is always counted as it was.
 */
export type Switched = {
  level: Level;
  /** Level before the gap that is open now. */
  before: Level;
  /** Booked up to here. */
  bookedTo: number;
  riseAt: number;
  fallAt: number;
  /** 1: the off may have begun before it was seen, so a short one proves neither a pause nor a mere dip. */
  fallDoubt: number;
  /** Edge of a run that is not yet long enough to count; -1 none. */
  runAt: number;
};

export const newSwitched = (bookedTo: number): Switched => ({
  level: NONE,
  before: NONE,
  bookedTo,
  riseAt: NONE,
  fallAt: NONE,
  fallDoubt: 0,
  runAt: NONE,
});

function confirmRun(run: Switched, books: SwitchedBooks, at: number, origin: Origin): void {
  if (run.runAt === NONE || run.level !== 1 || at - run.riseAt < books.minOnMs) return;
  const { edges, edgeGrains } = books;
  if (edges !== null) bookAt(edges, run.runAt, origin, edgeGrains, edgeGrains, edgeGrains);
  run.runAt = NONE;
}

function bookOn(run: Switched, books: SwitchedBooks, at: number, origin: Origin): void {
  if (books.time !== null) bookRate(books.time, run.bookedTo, at, origin, 1, 1, 1);
  if (books.flow !== null) {
    bookRate(books.flow, run.bookedTo, at, origin, books.flowRate, books.flowRate, books.flowRate);
  }
}

/**
 * Share of an unseen stretch that best figures take as on: as before and after if those agree, else half. While the gap
 * is still open (`after` -1) the least that any end of it would give, so that a best figure never goes back.
 */
function bestShare(before: Level, after: Level): number {
  if (before === NONE) return 0;
  if (after === NONE) return before === 1 ? 0.5 : 0;
  return before === after ? before : 0.5;
}

function bookGap(run: Switched, books: SwitchedBooks, at: number, after: Level): void {
  const from = run.bookedTo;
  const share = bestShare(run.before, after);
  if (books.time !== null) bookRate(books.time, from, at, 'assumed', 0, share, 1);
  if (books.flow !== null) {
    bookRate(books.flow, from, at, 'assumed', 0, share * books.flowRate, books.flowRate);
  }
  if (books.edges === null || at <= from) return;
  const pending = run.runAt === NONE ? 0 : 1;
  const most = Math.floor((at - from) / books.cycleMs) + 1 + pending;
  const likely = after === 1 && (run.before === 0 || pending === 1) ? 1 : 0;
  bookSpread(books.edges, from, at, 'assumed', 0, likely * books.edgeGrains, most * books.edgeGrains);
}

function begin(run: Switched, at: number, next: Level): void {
  run.level = next;
  run.runAt = NONE;
  if (next === 1) {
    run.riseAt = at;
  } else {
    run.fallAt = at;
    run.fallDoubt = 1;
  }
}

function rise(run: Switched, books: SwitchedBooks, at: number, origin: Origin): void {
  if (at - run.fallAt >= books.minOffMs) {
    run.runAt = at;
  } else if (run.fallDoubt === 1 && books.edges !== null) {
    bookAt(books.edges, at, origin, 0, 0, books.edgeGrains);
  }
  run.level = 1;
  run.riseAt = at;
  confirmRun(run, books, at, origin);
}

/** The source was seen at `next` at `at`; -1 = a gap begins or goes on. */
export function takeLevel(run: Switched, books: SwitchedBooks, at: number, next: Level, origin: Origin): void {
  const { level } = run;
  if (level === 1) {
    bookOn(run, books, at, origin);
    confirmRun(run, books, at, origin);
  } else if (level === NONE) {
    if (next === NONE) return;
    if (run.bookedTo !== NONE) bookGap(run, books, at, next);
    begin(run, at, next);
  }
  run.bookedTo = at;
  if (level === next || level === NONE) return;
  if (next === NONE) {
    run.before = level;
    run.level = NONE;
  } else if (next === 1) {
    rise(run, books, at, origin);
  } else {
    run.level = 0;
    run.fallAt = at;
    run.fallDoubt = 0;
  }
}

/** Books what has passed until `now` with nothing new seen. Only ever done to a copy. */
export function passSwitched(run: Switched, books: SwitchedBooks, now: number): void {
  if (run.bookedTo === NONE || now <= run.bookedTo) return;
  if (run.level === 1) {
    bookOn(run, books, now, 'live');
    confirmRun(run, books, now, 'live');
  } else if (run.level === NONE) {
    bookGap(run, books, now, NONE);
  }
}
