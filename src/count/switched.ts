import type { Origin } from '../model/index.ts';
import { HOUR_MS, MINUTE_MS } from '../units/index.ts';
import { HABIT_STEPS, type Habit, learnHour, usualShare } from './habit.ts';
import { bookAt, bookRate, bookSpread, type Ledger } from './ledger.ts';
import { beginWindow, dropWait, type Narrow, type NarrowBooks, onTimeIn } from './narrow.ts';

/** 1 on, 0 off, -1 not known. */
export type Level = -1 | 0 | 1;
const NONE = -1;
/** A hub that wakes up shows some things as off before it knows them: an off seen first and for less proves nothing. */
const WAKING_MS = 10_000;

/** What is booked while on (time, flow) and at each start. Rates in grains per ms; `edgeGrains` per start. */
export type SwitchedBooks = {
  readonly time: Ledger | null;
  readonly flow: Ledger | null;
  readonly flowRate: number;
  readonly edges: Ledger | null;
  readonly edgeGrains: number;
  /** Also an on→off edge is counted: actuations of a contact. */
  readonly bothEdges: boolean;
  readonly minOnMs: number;
  readonly minOffMs: number;
  /** The shortest time from one start to the next that is thought possible: bounds the starts inside a gap. */
  readonly cycleMs: number;
  readonly habit: Habit;
  readonly companion: Companion | null;
};

/** A lifetime meter that narrows the bounds of gaps. */
export type Companion = { readonly narrow: Narrow; readonly books: NarrowBooks };

/** So short a gap between two equal states is taken, in best figures, for no change at all. */
export const SHORT_GAP_MS = 10 * MINUTE_MS;

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
  /** End of the clock hour that is being watched, 0 = none; on-time seen in it; 1 = watched since it began. */
  hourEnd: number;
  hourOn: number;
  hourWhole: number;
};

export const newSwitched = (bookedTo: number): Switched => ({
  level: NONE,
  before: NONE,
  bookedTo,
  riseAt: NONE,
  fallAt: NONE,
  fallDoubt: 0,
  runAt: NONE,
  hourEnd: 0,
  hourOn: 0,
  hourWhole: 0,
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

/** On-time that best figures take of a stretch within one hour, in milliseconds. */
function likelyOn(habit: Habit, hour: number, ms: number, before: Level, after: Level, isShort: boolean): number {
  if (isShort && before === after && after !== NONE) return after * ms;
  // While a short gap is open it may still end as it began.
  if (isShort && after === NONE && before !== 1) return 0;
  const usual = usualShare(habit, hour);
  return usual === -1 ? bestShare(before, after) * ms : Math.floor((ms * usual) / HABIT_STEPS);
}

/** Time that nobody saw and no meter tells of: all of it possible, the same hours of other weeks likely. */
function bookUnseen(books: SwitchedBooks, from: number, to: number, before: Level, after: Level): void {
  const { time, flow, flowRate, habit } = books;
  if (time === null && flow === null) return;
  const isShort = to - from <= SHORT_GAP_MS;
  for (let start = from; start < to; ) {
    const hour = start - (start % HOUR_MS);
    const end = Math.min(to, hour + HOUR_MS);
    const best = likelyOn(habit, hour, end - start, before, after, isShort);
    if (time !== null) bookAt(time, start, 'assumed', 0, best, end - start);
    if (flow !== null) bookAt(flow, start, 'assumed', 0, best * flowRate, (end - start) * flowRate);
    start = end;
  }
}

/** Edges in a gap: how many fit is possible, one is likely where the ends say so. */
function bookUnseenEdges(run: Switched, books: SwitchedBooks, from: number, to: number, after: Level): void {
  if (books.edges === null || to <= from) return;
  const pending = run.runAt === NONE ? 0 : 1;
  const most = Math.floor((to - from) / books.cycleMs) + 1 + pending;
  const started = after === 1 && (run.before === 0 || pending === 1);
  const ended = books.bothEdges && after === 0 && run.before === 1;
  const likely = started || ended ? 1 : 0;
  bookSpread(books.edges, from, to, 'assumed', 0, likely * books.edgeGrains, most * books.edgeGrains);
}

/** The gap that waits for the companion meter, without the meter's word. */
function bookWait({ narrow }: Companion, books: SwitchedBooks): void {
  const { waitFrom, waitTo } = narrow;
  if (waitFrom === NONE) return;
  bookUnseen(books, waitFrom, waitTo, narrow.waitBefore as Level, narrow.waitAfter as Level);
  narrow.unseen += waitTo - waitFrom;
  dropWait(narrow);
}

/** The companion meter read `reading` after the gap from `from` to `to`: what it went on by bounds the on-time. */
function bookByMeter(
  companion: Companion,
  books: SwitchedBooks,
  from: number,
  to: number,
  before: Level,
  after: Level,
  reading: number,
): void {
  const bounds = onTimeIn(companion.narrow, companion.books, reading, to - from);
  if (bounds === null) {
    bookUnseen(books, from, to, before, after);
    return;
  }
  const { low, high } = bounds;
  const best = Math.round((low + high) / 2);
  const { time, flow, flowRate } = books;
  if (time !== null) bookSpread(time, from, to, 'assumed', low, best, high);
  if (flow !== null) bookSpread(flow, from, to, 'assumed', low * flowRate, best * flowRate, high * flowRate);
}

function settleWait(companion: Companion, books: SwitchedBooks, reading: number): void {
  const { waitFrom, waitTo, waitBefore, waitAfter } = companion.narrow;
  if (waitFrom === NONE) return;
  bookByMeter(companion, books, waitFrom, waitTo, waitBefore as Level, waitAfter as Level, reading);
  dropWait(companion.narrow);
}

/** The device is seen again. Where a companion meter could tell what it did, its next reading is waited for. */
function endGap(run: Switched, books: SwitchedBooks, at: number, after: Level): void {
  const { companion } = books;
  bookUnseenEdges(run, books, run.bookedTo, at, after);
  if (companion === null || at <= run.bookedTo) {
    bookUnseen(books, run.bookedTo, at, run.before, after);
    return;
  }
  bookWait(companion, books);
  const { narrow } = companion;
  if (narrow.ref === NONE) {
    bookUnseen(books, run.bookedTo, at, run.before, after);
    return;
  }
  narrow.waitFrom = run.bookedTo;
  narrow.waitTo = at;
  narrow.waitBefore = run.before;
  narrow.waitAfter = after;
  if (narrow.newest === NONE) return;
  settleWait(companion, books, narrow.newest);
  beginWindow(narrow, narrow.newest);
}

function beginHour(run: Switched, at: number): void {
  run.hourEnd = at - (at % HOUR_MS) + HOUR_MS;
  run.hourOn = 0;
  run.hourWhole = at % HOUR_MS === 0 ? 1 : 0;
}

/** Keeps what was seen of the clock hour, and learns from each hour that was watched to its end. */
function watchHours(run: Switched, books: SwitchedBooks, at: number): void {
  const isOn = run.level === 1;
  const from = run.bookedTo;
  if (run.hourEnd === 0) {
    beginHour(run, from);
    if (at < run.hourEnd) {
      run.hourOn = isOn ? at - from : 0;
      return;
    }
  }
  if (run.hourWhole === 1) learnHour(books.habit, run.hourEnd - HOUR_MS, run.hourOn + (isOn ? run.hourEnd - from : 0));
  let start = run.hourEnd;
  for (; start + HOUR_MS <= at; start += HOUR_MS) learnHour(books.habit, start, isOn ? HOUR_MS : 0);
  run.hourEnd = start + HOUR_MS;
  run.hourOn = isOn ? at - start : 0;
  run.hourWhole = 1;
}

/** The device was seen at its level from `bookedTo` to `at`. */
function watch(run: Switched, books: SwitchedBooks, at: number): void {
  const { companion } = books;
  if (companion !== null) {
    if (run.level === 1) companion.narrow.seenOn += at - run.bookedTo;
    else companion.narrow.seenOff += at - run.bookedTo;
  }
  if (at >= run.hourEnd) watchHours(run, books, at);
  else if (run.level === 1) run.hourOn += at - run.bookedTo;
}

function stopWatching(run: Switched): void {
  run.hourEnd = 0;
  run.hourOn = 0;
  run.hourWhole = 0;
}

function begin(run: Switched, at: number, next: Level): void {
  run.level = next;
  run.runAt = NONE;
  beginHour(run, at);
  if (next === 1) {
    run.riseAt = at;
  } else {
    run.fallAt = at;
    run.fallDoubt = 1;
  }
}

/** Whether the rise at `at` ends an off that was surely one: a pause long enough, and not the jump of a hub that wakes up. */
export const endsOff = (fallAt: number, fallDoubt: number, minOffMs: number, at: number): boolean =>
  at - fallAt >= (fallDoubt === 1 ? Math.max(minOffMs, WAKING_MS) : minOffMs);

function rise(run: Switched, books: SwitchedBooks, at: number, origin: Origin): void {
  if (endsOff(run.fallAt, run.fallDoubt, books.minOffMs, at)) {
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
    if (run.bookedTo !== NONE) endGap(run, books, at, next);
    begin(run, at, next);
  }
  if (level !== NONE) watch(run, books, at);
  run.bookedTo = at;
  if (level === next || level === NONE) return;
  if (next === NONE) {
    run.before = level;
    run.level = NONE;
    stopWatching(run);
  } else if (next === 1) {
    rise(run, books, at, origin);
  } else {
    run.level = 0;
    run.fallAt = at;
    run.fallDoubt = 0;
    const { edges, edgeGrains } = books;
    if (books.bothEdges && edges !== null) bookAt(edges, at, origin, edgeGrains, edgeGrains, edgeGrains);
  }
}

/** The companion meter was read (in steps), or a gap of it begins (-1). */
export function takeCompanion(
  run: Switched,
  books: SwitchedBooks,
  companion: Companion,
  at: number,
  steps: number,
  origin: Origin,
): void {
  const { narrow } = companion;
  const isKnown = run.level !== NONE;
  // A device that is seen keeps its state until the next observation: all of the window so far is accounted for.
  if (isKnown) takeLevel(run, books, at, run.level, origin);
  narrow.newest = steps;
  if (steps === NONE) return;
  if (isKnown) {
    settleWait(companion, books, steps);
  } else if (run.bookedTo !== NONE && at > run.bookedTo) {
    // In the midst of a gap: this part of it is settled, the rest goes on.
    bookWait(companion, books);
    bookUnseenEdges(run, books, run.bookedTo, at, NONE);
    bookByMeter(companion, books, run.bookedTo, at, run.before, NONE, steps);
    run.runAt = NONE;
    run.bookedTo = at;
  }
  beginWindow(narrow, steps);
}

/** Books what has passed until `now` with nothing new seen. Only ever done to a copy. */
export function passSwitched(run: Switched, books: SwitchedBooks, now: number): void {
  const { companion } = books;
  if (companion !== null && companion.narrow.waitFrom !== NONE) {
    const { waitFrom, waitTo } = companion.narrow;
    bookPossible(books, waitFrom, waitTo);
  }
  if (run.bookedTo === NONE || now <= run.bookedTo) return;
  if (run.level === 1) {
    bookOn(run, books, now, 'live');
    confirmRun(run, books, now, 'live');
  } else if (run.level === NONE) {
    bookUnseenEdges(run, books, run.bookedTo, now, NONE);
    // What a companion meter will say may be anything: nothing is likely yet that it could take back.
    if (companion !== null) bookPossible(books, run.bookedTo, now);
    else bookUnseen(books, run.bookedTo, now, run.before, NONE);
  }
}

function bookPossible({ time, flow, flowRate }: SwitchedBooks, from: number, to: number): void {
  if (time !== null) bookRate(time, from, to, 'assumed', 0, 0, 1);
  if (flow !== null) bookRate(flow, from, to, 'assumed', 0, 0, flowRate);
}
