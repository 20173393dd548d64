// `npm run campaign`: thousands of sessions with faults, each judged by the checker.
import process from 'node:process';
import { Worker } from 'node:worker_threads';
import { staysOf, surveyField } from './cells.ts';
import { type Options, readOptions } from './options.ts';
import { plannedRuns } from './planner.ts';
import { procedureIds } from './plans.ts';
import { inWords, reportOf } from './report.ts';
import { storyOf } from './story.ts';
import { addTally, newTally, type Tally } from './tally.ts';
import type { Task, Word } from './worker.ts';

async function main(): Promise<number> {
  const options = readOptions(process.argv.slice(2));
  if (typeof options === 'string') {
    process.stderr.write(`${options}\n`);
    return 2;
  }
  const procedures = options.procedures ?? procedureIds();
  progress('looking at which procedures the tanks can have …');
  const field = surveyField(procedures);
  if (options.replay !== null) {
    const { seed, index } = options.replay;
    for (const run of plannedRuns(field, seed)) {
      if (run.index < index) continue;
      progressOver();
      process.stdout.write(`${storyOf(run)}\n`);
      return 0;
    }
  }
  const from = performance.now();
  const tally = await campaign(options, procedures, staysOf(field));
  const report = reportOf(
    tally,
    field,
    options.seed,
    performance.now() - from,
    options.engineOnly ? 'engine-only' : 'full',
  );
  progressOver();
  process.stdout.write(`${options.json ? JSON.stringify(report) : inWords(report)}\n`);
  return report.violations === 0 && report.faultFree.completed === report.faultFree.runs ? 0 : 1;
}

function campaign(options: Options, procedures: readonly string[], stays: Task['stays']): Promise<Tally> {
  const stop = new SharedArrayBuffer(4);
  const tally = newTally();
  const from = performance.now();
  const onInterrupt = (): void => {
    Atomics.store(new Int32Array(stop), 0, 1);
  };
  process.once('SIGINT', onInterrupt);
  const threads = Array.from({ length: options.workers }, (_, which) => {
    const { seed, runs, engineOnly } = options;
    const task: Task = { seed, runs, which, of: options.workers, procedures, stays, engineOnly, stop };
    return thread(task, (word) => {
      addTally(tally, word.tally);
      const perMinute = Math.round((tally.runs * 60_000) / (performance.now() - from));
      progress(`${tally.runs} of ${runs} sessions, ${perMinute} a minute, ${tally.violations} violations`);
    });
  });
  return Promise.all(threads)
    .finally(() => process.removeListener('SIGINT', onInterrupt))
    .then(() => tally);
}

function thread(task: Task, onWord: (word: Word) => void): Promise<void> {
  return new Promise((resolve, reject) => {
    const worker = new Worker(new URL('./worker.ts', import.meta.url), { workerData: task });
    worker.on('message', onWord);
    worker.on('error', reject);
    worker.on('exit', (code) => (code === 0 ? resolve() : reject(new Error(`a thread ended with ${code}`))));
  });
}

const isShown = process.stderr.isTTY === true;
function progress(text: string): void {
  if (isShown) process.stderr.write(`\r\u001b[K${text}`);
}
function progressOver(): void {
  if (isShown) process.stderr.write('\r\u001b[K');
}

process.exitCode = await main();
