// Every condition in twenty windows of ninety days with all of the noise, on seeds that nothing was tuned on (from 1001);
// whole healthy tanks for false alarms. Two hundred: `node test/simulation/wear/main.ts --seeds 200`.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { summary } from '../simulation/wear/summary.ts';
import { PLANTS, runTrial, type Trial } from '../simulation/wear/trial.ts';

const FIRST_SEED = 1001;
const SEEDS = 20;
const LEAST_SHARE = 0.95;
const MOST_FALSE_A_YEAR = 1;

const seeds = Array.from({ length: SEEDS }, (_, index) => FIRST_SEED + index);
const all: Trial[] = [];

for (const plant of PLANTS)
  test(`found: ${plant.name}`, (t) => {
    const trials = seeds.map((seed) => runTrial(seed, plant));
    all.push(...trials);
    const [row] = summary(trials).conditions;
    assert.ok(row !== undefined);
    t.diagnostic(JSON.stringify(row));
    assert.ok(row.share >= LEAST_SHARE, `${row.found} of ${row.windows}`);
  });

test('healthy tanks are left in peace', (t) => {
  const trials = seeds.map((seed) => runTrial(seed, null));
  all.push(...trials);
  const { healthy } = summary(trials);
  t.diagnostic(JSON.stringify(healthy));
  assert.ok(healthy.tankYears > 4);
  const told = trials
    .flatMap(({ seed, falseAlarms }) => falseAlarms.map((one) => `${seed}: ${one.evidence}`))
    .join('\n');
  assert.ok(healthy.perTankYear <= MOST_FALSE_A_YEAR, told);
});

test('and so are the healthy parts of tanks with a condition', (t) => {
  const found = summary(all).all;
  t.diagnostic(JSON.stringify(found));
  assert.ok(found.perTankYear <= MOST_FALSE_A_YEAR);
});
