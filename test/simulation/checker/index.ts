// Judges a trace of a session by the ten invariants of safety: from what was true of the tank, what went out, what was
// said and what could be known. Belongs here: one file an invariant and what they share. Not here: anything of how
// sessions are planned or carried out; this must stay right when those are wrong.
import type { Trace, TraceEntry, TraceHeader } from '../trace.ts';
import { i1 } from './i1-called-safe.ts';
import { i2 } from './i2-claimed.ts';
import { i3 } from './i3-heaters.ts';
import { i4 } from './i4-adders.ts';
import { i5 } from './i5-movers.ts';
import { i6 } from './i6-drain-down.ts';
import { i7 } from './i7-after-upset.ts';
import { i8 } from './i8-ends.ts';
import { i9 } from './i9-echo.ts';
import { i10 } from './i10-abort.ts';
import type { Check, Invariant, Violation } from './watcher.ts';
import { copyWorld, fold, gistOf, type World, worldOf } from './world.ts';

export type { Invariant, Violation } from './watcher.ts';

export type Verdict = {
  readonly violations: readonly Violation[];
  readonly armed: Readonly<Record<Invariant, number>>;
};

const CHECKS = { I1: i1, I2: i2, I3: i3, I4: i4, I5: i5, I6: i6, I7: i7, I8: i8, I9: i9, I10: i10 };

export const INVARIANTS = Object.keys(CHECKS) as readonly Invariant[];

type Anything = Check<unknown>;
const CHECK_OF = CHECKS as unknown as Readonly<Record<Invariant, Anything>>;

const NOTHING = (): void => {};
/** By kind of entry, who looks at it. */
const LOOK_AT: Readonly<Record<string, readonly number[]>> = lookers();

function lookers(): Record<string, number[]> {
  const found: Record<string, number[]> = {};
  INVARIANTS.forEach((invariant, index) => {
    for (const kind of CHECK_OF[invariant].kinds) found[kind] = [...(found[kind] ?? []), index];
  });
  return found;
}

/** One trace in judgement. `branch` gives a second judge that knows what this one does, for a story that parts into several. */
export type Judge = {
  readonly see: (entry: TraceEntry) => void;
  readonly branch: () => Judge;
  readonly violations: readonly Violation[];
  /** What the rest of a story is judged by, in short: two judges with the same gist hear the same rest alike. */
  readonly gist: () => string;
  /** Nothing more comes: what was still owed counts as missed. */
  readonly finish: () => Verdict;
};

export const startJudge = (header: TraceHeader): Judge =>
  judgeWith(
    worldOf(header),
    INVARIANTS.map((invariant) => CHECK_OF[invariant].memory()),
    [],
    INVARIANTS.map(() => 0),
  );

function judgeWith(world: World, memories: readonly unknown[], violations: Violation[], armed: number[]): Judge {
  const before: ((entry: TraceEntry, world: World) => void)[] = [];
  const after: ((entry: TraceEntry, world: World) => void)[] = [];
  const end: ((world: World) => void)[] = [];
  INVARIANTS.forEach((invariant, index) => {
    const watcher = CHECK_OF[invariant].watch(memories[index], {
      arm: () => {
        armed[index] = (armed[index] ?? 0) + 1;
      },
      fail: (text, at) => violations.push({ invariant, at: at ?? world.now, text }),
    });
    if (watcher.before) before.push(watcher.before);
    after.push(watcher.after ?? NOTHING);
    if (watcher.end) end.push(watcher.end);
  });
  return {
    violations,
    gist: () => gistOf(world),
    see: (entry) => {
      for (const look of before) look(entry, world);
      fold(world, entry);
      for (const index of LOOK_AT[entry.kind] ?? []) after[index]?.(entry, world);
    },
    branch: () =>
      judgeWith(
        copyWorld(world),
        INVARIANTS.map((invariant, index) => CHECK_OF[invariant].copy(memories[index])),
        [...violations],
        [...armed],
      ),
    finish: () => {
      for (const look of end) look(world);
      return {
        violations,
        armed: Object.fromEntries(
          INVARIANTS.map((invariant, index) => [invariant, armed[index] ?? 0]),
        ) as Verdict['armed'],
      };
    },
  };
}

export function checkTrace(trace: Trace): Verdict {
  const judge = startJudge(trace.header);
  for (const entry of trace.entries) judge.see(entry);
  return judge.finish();
}
