// `npm run campaign`: thousands of sessions with faults, each judged by the checker.
import process from 'node:process';
import { type Field, staysOf, surveyField } from './cells.ts';
import { hireCrew, workAlone } from './crew.ts';
import { type Options, type Replay, readOptions } from './options.ts';
import { createPlanner, EPOCH_RUNS, type PlannedRun, type Planner } from './planner.ts';
import { procedureIds } from './plans.ts';
import { inWords, reportOf } from './report.ts';
import { storyOf } from './story.ts';
import { addTally, newTally, type Tally } from './tally.ts';

async function main(): Promise<number> {
  const options = readOptions(process.argv.slice(2));
  if (typeof options === 'string') {
    process.stderr.write(`${options}\n`);
    return 2;
  }
  const procedures = options.procedures ?? procedureIds();
  if (options.replayPlan !== null) return tell(options.replayPlan);
  progress('looking at which procedures the tanks can have …');
  const field = surveyField(procedures);
  if (options.replay !== null) return await replay(field, options.replay, options.workers);
  const from = performance.now();
  const tally = await (options.engineOnly ? engineOnly(options, procedures, field) : campaign(options, field));
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

function tell(run: PlannedRun): number {
  progressOver();
  process.stdout.write(`${storyOf(run)}\n`);
  return 0;
}

/** A run of a later epoch aims at what those before it left: they are carried out again first. */
async function replay(field: Field, { seed, index }: Replay, workers: number): Promise<number> {
  const planner = createPlanner(field, seed);
  const before = Math.floor(index / EPOCH_RUNS) * EPOCH_RUNS;
  if (before > 0) {
    process.stderr.write(
      `run ${index} follows from what the ${before} runs before its epoch hit: they are carried out first. With the plan that a finding carries, --replay-plan tells its story at once.\n`,
    );
  }
  const tally = await epochs(planner, { runs: before, workers });
  const run = planner.next(tally.hits)[index - before];
  return run === undefined ? 1 : tell(run);
}

const campaign = (options: Options, field: Field): Promise<Tally> =>
  epochs(createPlanner(field, options.seed), options);

/** Each epoch is planned by what all before it have hit. */
async function epochs(planner: Planner, { runs, workers }: Pick<Options, 'runs' | 'workers'>): Promise<Tally> {
  const tally = newTally();
  const from = performance.now();
  let isStopped = false;
  const onInterrupt = (): void => {
    isStopped = true;
  };
  process.once('SIGINT', onInterrupt);
  const crew = hireCrew(workers);
  try {
    for (let first = 0; first < runs && !isStopped; first += EPOCH_RUNS) {
      const planned = planner.next(tally.hits).slice(0, runs - first);
      await crew.carryOut(planned, (found) => {
        addTally(tally, found);
        showPace(tally, runs, from);
      });
    }
  } finally {
    process.removeListener('SIGINT', onInterrupt);
    await crew.dismiss();
  }
  return tally;
}

async function engineOnly(options: Options, procedures: readonly string[], field: Field): Promise<Tally> {
  const stop = new SharedArrayBuffer(4);
  const tally = newTally();
  const from = performance.now();
  const onInterrupt = (): void => {
    Atomics.store(new Int32Array(stop), 0, 1);
  };
  process.once('SIGINT', onInterrupt);
  const { seed, runs, workers } = options;
  const stays = staysOf(field);
  const threads = Array.from({ length: workers }, (_, which) =>
    workAlone({ seed, runs, which, of: workers, procedures, stays, stop }, (found) => {
      addTally(tally, found);
      showPace(tally, runs, from);
    }),
  );
  await Promise.all(threads).finally(() => process.removeListener('SIGINT', onInterrupt));
  return tally;
}

function showPace(tally: Tally, runs: number, from: number): void {
  const perMinute = Math.round((tally.runs * 60_000) / (performance.now() - from));
  progress(`${tally.runs} of ${runs} sessions, ${perMinute} a minute, ${tally.violations} violations`);
}

const isShown = process.stderr.isTTY === true;
function progress(text: string): void {
  if (isShown) process.stderr.write(`\r\u001b[K${text}`);
}
function progressOver(): void {
  if (isShown) process.stderr.write('\r\u001b[K');
}

process.exitCode = await main();
