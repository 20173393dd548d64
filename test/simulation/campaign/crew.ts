// The threads of a campaign, and what is handed out to them.
import { Worker } from 'node:worker_threads';
import type { PlannedRun } from './planner.ts';
import type { Tally } from './tally.ts';
import type { EngineOnlyTask, Word } from './worker.ts';

/** So few at a time that nobody waits long for the slowest at the end of an epoch. */
const AT_A_TIME = 4;

export type Crew = {
  /** Over when every one of them has been carried out, by whomever. */
  carryOut(runs: readonly PlannedRun[], onTally: (tally: Tally) => void): Promise<void>;
  dismiss(): Promise<void>;
};

/** States live for one event: room for many of them is cheaper than to clear away often. */
const YOUNG_MB = 64;

const newThread = (task: EngineOnlyTask | null): Worker =>
  new Worker(new URL('./worker.ts', import.meta.url), {
    workerData: task,
    resourceLimits: { maxYoungGenerationSizeMb: YOUNG_MB },
  });

export function hireCrew(workers: number): Crew {
  const threads = Array.from({ length: workers }, () => newThread(null));
  return {
    carryOut: async (runs, onTally) => {
      let next = 0;
      await Promise.all(
        threads.map(
          (thread) =>
            new Promise<void>((resolve, reject) => {
              const take = (): void => {
                const some = runs.slice(next, next + AT_A_TIME);
                next += some.length;
                if (some.length > 0) {
                  thread.postMessage(some);
                  return;
                }
                thread.off('message', hear);
                thread.off('error', reject);
                resolve();
              };
              const hear = ({ tally }: Word): void => {
                onTally(tally);
                take();
              };
              thread.on('message', hear);
              thread.on('error', reject);
              take();
            }),
        ),
      );
    },
    dismiss: async () => {
      await Promise.all(threads.map((thread) => thread.terminate()));
    },
  };
}

export const workAlone = (task: EngineOnlyTask, onTally: (tally: Tally) => void): Promise<void> =>
  new Promise((resolve, reject) => {
    const worker = newThread(task);
    worker.on('message', ({ tally }: Word) => onTally(tally));
    worker.on('error', reject);
    worker.on('exit', (code) => (code === 0 ? resolve() : reject(new Error(`a thread ended with ${code}`))));
  });
