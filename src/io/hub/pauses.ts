import type { Timers } from '../../ports/index.ts';
import type { DurationMs } from '../../units/index.ts';

/** Waits that can all be cut short, so that stopping never has to sit one out. */
export type Pauses = {
  /** Resolves after `ms`, or at once when everything is cut short. */
  wait(ms: DurationMs, name: string): Promise<void>;
  /** Runs `fn` after `ms` unless cut short before. Returns a cancel function. */
  after(ms: DurationMs, name: string, fn: () => void): () => void;
  cutShort(): void;
};

export function createPauses(timers: Timers): Pauses {
  const open = new Set<() => void>();
  let cut = false;
  const start = (ms: DurationMs, name: string, onTime: () => void, onCut: () => void): (() => void) => {
    const cancel = timers.after(ms, name, () => {
      open.delete(end);
      onTime();
    });
    const end = (): void => {
      open.delete(end);
      cancel();
      onCut();
    };
    open.add(end);
    return end;
  };
  return {
    wait: (ms, name) =>
      new Promise((resolve) => {
        if (cut) resolve();
        else start(ms, name, resolve, resolve);
      }),
    after: (ms, name, fn) => (cut ? () => undefined : start(ms, name, fn, () => undefined)),
    cutShort: () => {
      cut = true;
      for (const end of [...open]) end();
    },
  };
}
