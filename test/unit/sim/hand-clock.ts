import type { System } from '../../../src/ports/index.ts';
import { DEMO_NOW } from '../../../src/sim/index.ts';

/** A clock moved by hand: time passes only in `advance`, and what falls due runs in order, each at its own moment. */
export type HandClock = Pick<System, 'clock' | 'timers'> & {
  advance(byMs: number): void;
  /** Advances in small steps with a turn of the event loop after each, so that sockets can answer in between. */
  play(byMs: number, stepMs?: number): Promise<void>;
};

export function handClock(startAt = DEMO_NOW): HandClock {
  let now = startAt;
  let order = 0;
  const due: { at: number; order: number; fn: () => void }[] = [];
  const advance = (byMs: number): void => {
    const until = now + byMs;
    for (;;) {
      due.sort((a, b) => a.at - b.at || a.order - b.order);
      const next = due[0];
      if (next === undefined || next.at > until) break;
      due.shift();
      now = Math.max(now, next.at);
      next.fn();
    }
    now = until;
  };
  return {
    clock: { now: () => now, monotonicMs: () => now - startAt },
    timers: {
      after(delayMs, _name, fn) {
        const entry = { at: now + delayMs, order: order++, fn };
        due.push(entry);
        return () => {
          const index = due.indexOf(entry);
          if (index >= 0) due.splice(index, 1);
        };
      },
    },
    advance,
    async play(byMs, stepMs = 1_000) {
      for (let left = byMs; left > 0; left -= stepMs) {
        advance(Math.min(left, stepMs));
        await new Promise((resolve) => setImmediate(resolve));
      }
    },
  };
}
