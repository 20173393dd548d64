import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { type Field, surveyField } from './campaign/cells.ts';
import { runSession } from './campaign/drive.ts';
import { engineOnlyRuns } from './campaign/engine-only.ts';
import { readOptions } from './campaign/options.ts';
import { type PlannedRun, plannedRuns } from './campaign/planner.ts';
import { carryOut } from './campaign/run.ts';
import { storyOf } from './campaign/story.ts';
import { newTally, type Tally } from './campaign/tally.ts';
import { INVARIANTS } from './checker/index.ts';

// A short campaign of a few procedures; `npm run campaign` is the long one of them all.
const SEED = 11;
const RUNS = 200;
const PROCEDURES = ['pump-pause', 'skimmer-service', 'water-change', 'heater-swap'];

function upTo(field: Field, seed: number, count: number): readonly PlannedRun[] {
  const runs: PlannedRun[] = [];
  for (const run of plannedRuns(field, seed)) {
    if (runs.length === count) break;
    runs.push(run);
  }
  return runs;
}

describe(`sessions with faults in virtual time, seed ${SEED}`, () => {
  let field: Field;
  const tally: Tally = newTally();
  before(() => {
    field = surveyField(PROCEDURES);
    for (const run of upTo(field, SEED, RUNS)) carryOut(run, tally);
  });

  test('no session breaks an invariant', () => {
    assert.equal(tally.runs, RUNS);
    assert.ok(tally.faults > RUNS, `only ${tally.faults} faults struck`);
    const told = tally.found.map((each) => `${each.run} ${each.procedure} ${each.invariant}: ${each.text}`);
    assert.deepEqual(told, [], 'tell the story of one with --replay SEED:INDEX');
  });

  test('every invariant could have been broken many times', () => {
    for (const invariant of INVARIANTS) {
      assert.ok((tally.armed[invariant] ?? 0) >= 10, `${invariant} was armed ${tally.armed[invariant]} times`);
    }
  });

  test('a session without faults is completed, and asks nothing it need not', () => {
    assert.deepEqual(tally.faultFree.notCompleted, []);
    assert.ok(tally.faultFree.runs >= 10, `only ${tally.faultFree.runs} had none`);
  });

  test('one fault that can be recovered from costs at most one question more, nearly always', () => {
    const { runs, atMostOne, worst } = tally.oneFault;
    assert.ok(runs >= 12, `only ${runs} struck`);
    assert.ok(atMostOne / runs >= 0.9, `${atMostOne} of ${runs}: ${JSON.stringify(worst)}`);
  });

  test('every kind of end is reached', () => {
    const { complete, held, aborted } = tally.outcomes;
    assert.ok(complete > 0 && held > 0 && aborted > 0, JSON.stringify(tally.outcomes));
  });

  test('the same seed gives the same trace, another seed another', () => {
    const [mine] = upTo(field, SEED, 8).slice(-1);
    const [same] = upTo(field, SEED, 8).slice(-1);
    const [other] = upTo(field, SEED + 1, 8).slice(-1);
    assert.ok(mine && same && other);
    assert.deepEqual(runSession(mine.spec).trace, runSession(same.spec).trace);
    const seeded = runSession({ ...mine.spec, seed: other.spec.seed }).trace;
    assert.notDeepEqual(runSession(mine.spec).trace.entries, seeded.entries);
    assert.notDeepEqual(mine.spec.faults, other.spec.faults);
  });

  test('a run can be told from beginning to end', () => {
    const [run] = upTo(field, SEED, 3).slice(-1);
    assert.ok(run);
    const story = storyOf(run);
    assert.match(story, new RegExp(`^run ${SEED}:2: `));
    assert.match(story, /prompt #begin: /);
    assert.match(story, /ended result=|held: /);
  });

  test('the engine alone never sends what may not go out', () => {
    const alone = newTally();
    for (const run of engineOnlyRuns(field, SEED)) {
      if (run.index >= 600) break;
      run.carryOut(alone);
    }
    assert.deepEqual(alone.found, []);
    assert.deepEqual(alone.faultFree.notCompleted, []);
    assert.ok(alone.faultFree.runs > 50 && alone.faults > 300);
  });
});

test('the command line says what it does not understand', () => {
  assert.match(String(readOptions(['--rnus', '3'])), /unknown option --rnus/);
  assert.match(String(readOptions(['--runs', 'many'])), /--runs wants a whole number/);
  assert.match(String(readOptions(['--replay', '7'])), /SEED:INDEX/);
  const options = readOptions(['--runs', '20000', '--seed=3', '--json']);
  assert.ok(typeof options !== 'string');
  assert.deepEqual([options.runs, options.seed, options.json], [20_000, 3, true]);
});
