import type { Log, System } from '../../ports/index.ts';
import type { DurationMs, InstantMs } from '../../units/index.ts';
import { keptLog } from './log.ts';
import { seededRandom } from './seeded.ts';

type Waiting = { readonly dueAt: InstantMs; readonly order: number; readonly name: string; readonly fn: () => void };

/** A system whose time stands still until it is told to go on. */
export type VirtualSystem = System & {
  readonly log: Log & { readonly lines: readonly string[] };
  /** Goes on by so much, firing what falls due on the way, in order of time and then of arming. */
  advance(byMs: DurationMs): void;
  /** Goes on to the next waiting timer and fires it; false where none waits. */
  step(): boolean;
  /** The machine's wall clock is set to another time, as by a person or a time server; timers are not touched. */
  setWallClock(to: InstantMs): void;
  waiting(): readonly { readonly name: string; readonly inMs: DurationMs }[];
};

export function virtualSystem(startMs: InstantMs, seed = 1): VirtualSystem {
  let elapsed = 0;
  let wallOffset = startMs;
  let order = 0;
  const queue = new Set<Waiting>();
  const log = keptLog();

  const next = (): Waiting | undefined => {
    let first: Waiting | undefined;
    for (const one of queue) {
      const sooner =
        first === undefined || one.dueAt < first.dueAt || (one.dueAt === first.dueAt && one.order < first.order);
      if (sooner) first = one;
    }
    return first;
  };
  const fire = (one: Waiting): void => {
    queue.delete(one);
    elapsed = Math.max(elapsed, one.dueAt);
    one.fn();
  };
  return {
    clock: { now: () => wallOffset + elapsed, monotonicMs: () => elapsed },
    timers: {
      after(delayMs, name, fn) {
        const one = { dueAt: elapsed + Math.max(0, delayMs), order: order++, name, fn };
        queue.add(one);
        return () => void queue.delete(one);
      },
    },
    random: seededRandom(seed),
    log,
    advance(byMs) {
      if (!(byMs >= 0)) throw new RangeError(`virtual time only goes forward, not by ${byMs} ms`);
      const until = elapsed + byMs;
      for (let one = next(); one !== undefined && one.dueAt <= until; one = next()) fire(one);
      elapsed = until;
    },
    step() {
      const one = next();
      if (one === undefined) return false;
      fire(one);
      return true;
    },
    setWallClock(to) {
      wallOffset = to - elapsed;
    },
    waiting: () =>
      [...queue]
        .sort((a, b) => a.dueAt - b.dueAt || a.order - b.order)
        .map(({ name, dueAt }) => ({ name, inMs: dueAt - elapsed })),
  };
}
