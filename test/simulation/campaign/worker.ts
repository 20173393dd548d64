// One thread of a campaign: carries out the runs it is given and sends home what they found. In engine-only mode, where
// runs are too short to be sent for, it takes every so-manieth by itself.
import { parentPort, workerData } from 'node:worker_threads';
import { type Stays, surveyField } from './cells.ts';
import { engineOnlyRuns } from './engine-only.ts';
import type { PlannedRun } from './planner.ts';
import { carryOut } from './run.ts';
import { newTally, type Tally } from './tally.ts';

export type EngineOnlyTask = {
  readonly seed: number;
  readonly runs: number;
  readonly which: number;
  readonly of: number;
  readonly procedures: readonly string[];
  readonly stays: Stays;
  /** Set to something else than 0: stop after the run in hand. */
  readonly stop: SharedArrayBuffer;
};

export type Word = { readonly tally: Tally; readonly isLast: boolean };

const SEND_EVERY_MS = 500;

const cpuMs = (): number => {
  const { user, system } = process.threadCpuUsage();
  return (user + system) / 1000;
};
let cpuFrom = cpuMs();

function sendHome(tally: Tally, isLast: boolean): void {
  tally.cpuMs = cpuMs() - cpuFrom;
  cpuFrom = cpuMs();
  parentPort?.postMessage({ tally, isLast } satisfies Word);
}

function workAlone(task: EngineOnlyTask): void {
  const stop = new Int32Array(task.stop);
  const field = surveyField(task.procedures, task.stays);
  let tally = newTally();
  let sentAt = performance.now();
  cpuFrom = cpuMs();
  for (const run of engineOnlyRuns(field, task.seed)) {
    if (run.index >= task.runs || Atomics.load(stop, 0) !== 0) break;
    if (run.index % task.of !== task.which) continue;
    run.carryOut(tally);
    if (performance.now() - sentAt < SEND_EVERY_MS) continue;
    sendHome(tally, false);
    tally = newTally();
    sentAt = performance.now();
  }
  sendHome(tally, true);
}

if (workerData === null) {
  parentPort?.on('message', (runs: readonly PlannedRun[]) => {
    const tally = newTally();
    for (const run of runs) carryOut(run, tally);
    sendHome(tally, true);
  });
} else workAlone(workerData as EngineOnlyTask);
