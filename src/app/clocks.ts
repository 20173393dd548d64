import type { System } from '../ports/index.ts';
import type { DurationMs } from '../units/index.ts';
import type { Loop } from './loop.ts';

/** Work of the loop that comes again, until it is stopped. */
export function createClocks(system: System, loop: Loop) {
  const stops: (() => void)[] = [];
  return {
    every: (ms: DurationMs, name: string, work: () => void): void => {
      let cancel = (): void => {};
      const again = (): void => {
        loop.enqueue(name, work);
        cancel = system.timers.after(ms, name, again);
      };
      cancel = system.timers.after(ms, name, again);
      stops.push(() => cancel());
    },
    stop: (): void => {
      for (const stop of stops) stop();
    },
  };
}
