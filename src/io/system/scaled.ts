import type { System } from '../../ports/index.ts';
import type { InstantMs } from '../../units/index.ts';

/**
 * The same machine with time running `factor` times as fast, beginning at `originMs`: for the demonstration and for tests
 * against a real hub. It follows the monotonic clock, so that setting the machine's clock does not shake it.
 */
export function scaledSystem(real: System, factor: number, originMs: InstantMs = real.clock.now()): System {
  if (!(factor > 0) || !Number.isFinite(factor)) throw new RangeError(`time cannot run ${factor} times as fast`);
  const startedAt = real.clock.monotonicMs();
  const elapsed = (): number => (real.clock.monotonicMs() - startedAt) * factor;
  return {
    clock: { now: () => Math.floor(originMs + elapsed()), monotonicMs: elapsed },
    timers: { after: (delayMs, name, fn) => real.timers.after(delayMs / factor, name, fn) },
    random: real.random,
    log: real.log,
  };
}
