import assert from 'node:assert/strict';
import { test } from 'node:test';
import { createRates } from '../../../src/app/rates.ts';
import { GRAINS_PER_UNIT, type Slice } from '../../../src/count/index.ts';
import type { UsageSources } from '../../../src/record/index.ts';
import { DAY_MS, HOUR_MS } from '../../../src/units/index.ts';

const NOW = Date.UTC(2026, 4, 4, 9);
const SINCE = NOW - 100 * DAY_MS;
const sources = {
  counters: new Map([['lit', { folded: { countingSince: SINCE } }]]),
  slices: () => [],
} as unknown as UsageSources;

/** A lamp that is on all the time; each asking is noted by how far back it went. */
function storeOf() {
  const asked: number[] = [];
  const add = GRAINS_PER_UNIT['on-hours'];
  return {
    asked,
    slices: (counter: string, measure: Slice['measure'], from: number): readonly Slice[] => {
      asked.push(Math.round((NOW - from) / DAY_MS));
      const slices: Slice[] = [];
      for (let hour = Math.max(from, SINCE); hour < NOW + 3 * DAY_MS; hour += HOUR_MS)
        slices.push({ counter, measure, hour, origin: 'live', add: { low: add, best: add, high: add } });
      return slices;
    },
  };
}

test('days as far back as counting goes; weeks are read by the hour, years by the day', () => {
  const store = storeOf();
  const rates = createRates(store);
  const at = (ms: number) => rates.daily('lit', 'on-hours', NOW + ms, sources);
  const days = at(0);
  assert.equal(days.length, 100);
  assert.ok(days.every((use) => Math.abs(use - 24) < 1e-9));
  assert.deepEqual(store.asked, [730, 30]);
  assert.equal(at(30 * 60_000), days);
  assert.equal(store.asked.length, 2);
  at(HOUR_MS);
  assert.equal(store.asked.length, 3);
  at(DAY_MS);
  assert.equal(store.asked.length, 5);
});

test('a changed record reads the weeks anew, a history that was read all of the past', () => {
  const store = storeOf();
  const rates = createRates(store);
  const days = () => rates.daily('lit', 'on-hours', NOW, sources);
  days();
  rates.forget();
  days();
  assert.equal(store.asked.length, 3);
  rates.forgetPast();
  days();
  assert.equal(store.asked.length, 5);
});
