import assert from 'node:assert/strict';
import { before, describe, test } from 'node:test';
import { type Field, surveyField } from './campaign/cells.ts';
import { runSession } from './campaign/drive.ts';
import { engineOnlyRuns } from './campaign/engine-only.ts';
import { readOptions } from './campaign/options.ts';
import { createPlanner, EPOCH_RUNS, type PlannedRun, specOf } from './campaign/planner.ts';
import { carryOut } from './campaign/run.ts';
import { storyOf } from './campaign/story.ts';
import { newTally, type Tally } from './campaign/tally.ts';
import { INVARIANTS } from './checker/index.ts';

// A short campaign of a few procedures; `npm run campaign` is the long one of them all.
const SEED = 11;
const RUNS = 300;
const PROCEDURES = ['pump-pause', 'skimmer-service', 'water-change', 'heater-swap'];

const upTo = (field: Field, seed: number, count: number): readonly PlannedRun[] =>
  createPlanner(field, seed).next({}).slice(0, count);

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
    assert.deepEqual(runSession(specOf(mine)).trace, runSession(specOf(same)).trace);
    const seeded = runSession({ ...specOf(mine), seed: other.seed }).trace;
    assert.notDeepEqual(runSession(specOf(mine)).trace.entries, seeded.entries);
    assert.notDeepEqual(mine.faults, other.faults);
  });

  test('what was hit decides what is aimed at next, and nothing else does', () => {
    const planner = createPlanner(field, SEED);
    const again = createPlanner(field, SEED);
    assert.deepEqual(planner.next({}), again.next({}));
    const names = [...new Set(field.grounds.flatMap((ground) => ground.cells.map((cell) => cell.name)))];
    const [missed = ''] = names.filter((name) => name.endsWith(' service-killed'));
    const hits = Object.fromEntries(names.map((name) => [name, name === missed ? 0 : 40]));
    const next = planner.next(hits);
    assert.deepEqual(next, again.next(hits));
    assert.equal(next[0]?.index, EPOCH_RUNS);
    const [procedure, step] = missed.split(' ');
    const aimed = next.filter(
      (run) =>
        run.procedure === procedure &&
        run.faults.some((fault) => fault.kind === 'service-killed' && fault.step === step),
    );
    assert.ok(aimed.length >= 10, `${missed} was aimed at ${aimed.length} times`);
  });

  test('a run is carried out again by its plan alone', () => {
    const [run] = upTo(field, SEED, 8).slice(-1);
    const options = readOptions(['--replay-plan', JSON.stringify(run)]);
    assert.ok(run && typeof options !== 'string');
    assert.deepEqual(options.replayPlan, run);
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
  assert.match(String(readOptions(['--replay-plan', '7'])), /the plan of a finding/);
  const options = readOptions(['--runs', '20000', '--seed=3', '--json']);
  assert.ok(typeof options !== 'string');
  assert.deepEqual([options.runs, options.seed, options.json], [20_000, 3, true]);
});
