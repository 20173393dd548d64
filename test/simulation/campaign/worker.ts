// One thread of a campaign: every so-manieth planned run, its findings sent home now and then.
import { parentPort, workerData } from 'node:worker_threads';
import { type Stays, surveyField } from './cells.ts';
import { engineOnlyRuns } from './engine-only.ts';
import { plannedRuns } from './planner.ts';
import { carryOut } from './run.ts';
import { newTally, type Tally } from './tally.ts';

export type Task = {
  readonly seed: number;
  readonly runs: number;
  readonly which: number;
  readonly of: number;
  readonly procedures: readonly string[];
  readonly stays: Stays;
  readonly engineOnly: boolean;
  /** Set to something else than 0: stop after the run in hand. */
  readonly stop: SharedArrayBuffer;
};

export type Word = { readonly tally: Tally; readonly isLast: boolean };

const SEND_EVERY_MS = 500;

function work(task: Task): void {
  const stop = new Int32Array(task.stop);
  let tally = newTally();
  let sentAt = performance.now();
  const sendHome = (isLast: boolean): void => {
    parentPort?.postMessage({ tally, isLast } satisfies Word);
    tally = newTally();
    sentAt = performance.now();
  };
  const field = surveyField(task.procedures, task.stays);
  const runs = task.engineOnly ? engineOnlyRuns(field, task.seed) : plannedRuns(field, task.seed);
  const cpu = (): number => {
    const { user, system } = process.threadCpuUsage();
    return (user + system) / 1000;
  };
  let cpuFrom = cpu();
  for (const run of runs) {
    if (run.index >= task.runs || Atomics.load(stop, 0) !== 0) break;
    if (run.index % task.of !== task.which) continue;
    if ('carryOut' in run) run.carryOut(tally);
    else carryOut(run, tally);
    if (performance.now() - sentAt < SEND_EVERY_MS) continue;
    tally.cpuMs = cpu() - cpuFrom;
    cpuFrom = cpu();
    sendHome(false);
  }
  tally.cpuMs = cpu() - cpuFrom;
  sendHome(true);
}

work(workerData as Task);
