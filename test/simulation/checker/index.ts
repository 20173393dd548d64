// Judges a trace of a session by the ten invariants of safety: from what was true of the tank, what went out, what was
// said and what could be known. Belongs here: one file an invariant and what they share. Not here: anything of how
// sessions are planned or carried out; this must stay right when those are wrong.
import type { Trace } from '../trace.ts';
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
import type { Check, Invariant, Violation, Watcher } from './watcher.ts';
import { fold, worldOf } from './world.ts';

export type { Invariant, Violation } from './watcher.ts';

export type Verdict = {
  readonly violations: readonly Violation[];
  readonly armed: Readonly<Record<Invariant, number>>;
};

const CHECKS: Readonly<Record<Invariant, Check>> = {
  I1: i1,
  I2: i2,
  I3: i3,
  I4: i4,
  I5: i5,
  I6: i6,
  I7: i7,
  I8: i8,
  I9: i9,
  I10: i10,
};

export const INVARIANTS = Object.keys(CHECKS) as readonly Invariant[];

const zeros = (): Record<Invariant, number> => ({
  I1: 0,
  I2: 0,
  I3: 0,
  I4: 0,
  I5: 0,
  I6: 0,
  I7: 0,
  I8: 0,
  I9: 0,
  I10: 0,
});

export function checkTrace(trace: Trace): Verdict {
  const violations: Violation[] = [];
  const armed = zeros();
  const world = worldOf(trace);
  const watchers: Watcher[] = INVARIANTS.map((invariant) =>
    CHECKS[invariant]({
      arm: () => {
        armed[invariant] += 1;
      },
      fail: (text, at) => violations.push({ invariant, at: at ?? world.now, text }),
    }),
  );
  for (const entry of trace.entries) {
    for (const watcher of watchers) watcher.before?.(entry, world);
    fold(world, entry);
    for (const watcher of watchers) watcher.after?.(entry, world);
  }
  for (const watcher of watchers) watcher.end?.(world);
  return { violations, armed };
}
