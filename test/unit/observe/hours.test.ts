import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { foldObservations, initialStates } from '../../../src/count/index.ts';
import type { CounterDef, CounterSource, Measure } from '../../../src/model/index.ts';
import {
  type HourStatistic,
  hourlyEntities,
  hoursAsObservations,
  type Observation,
} from '../../../src/observe/index.ts';
import { HOUR_MS } from '../../../src/units/index.ts';

const T0 = 1_000 * 24 * HOUR_MS;
const ENTITY = 'sensor.a';
const hour = (index: number, figures: Partial<HourStatistic>): HourStatistic => ({
  entity: ENTITY,
  from: T0 + index * HOUR_MS,
  to: T0 + (index + 1) * HOUR_MS,
  state: null,
  sum: null,
  min: null,
  mean: null,
  max: null,
  ...figures,
});
const watts = (index: number, min: number, mean: number, max: number): HourStatistic =>
  hour(index, { min, mean, max, unit: 'W' });

const lit: CounterSource = {
  kind: 'power-threshold',
  entity: ENTITY,
  onAboveW: 60,
  offBelowW: 20,
  minOnMs: 0,
  minOffMs: 0,
};
const total: CounterSource = { kind: 'total', entity: ENTITY, unitsPerReading: 1, maxPerHour: 60 };

const gapAt = (at: number, entity = ENTITY): Observation => ({
  entity,
  value: null,
  at,
  receivedAt: at,
  origin: 'assumed',
});

function amount(source: CounterSource, measure: Measure, rows: readonly Observation[]) {
  const def: CounterDef = { id: 'c', name: 'c', source, measures: [measure] };
  return foldObservations([def], initialStates([def]), rows).states.get('c')?.amounts[measure];
}

const inHours = (rows: readonly Observation[]): readonly (readonly [number, number | null])[] =>
  rows.map(({ at, value }) => [(at - T0) / HOUR_MS, value]);

describe('hours of statistics for a lamp lit above a threshold', () => {
  test('an hour above is on, one below is off, one that crossed is open; nothing follows the last', () => {
    const rows = hoursAsObservations([watts(0, 160, 170, 175), watts(1, 0, 80, 175), watts(2, 0, 0.2, 0.4)], lit, 0);
    const end = 3 - 1 / HOUR_MS;
    assert.deepEqual(inHours(rows), [
      [0, 160],
      [1, null],
      [2, 0.4],
      [end, null],
    ]);
    assert.deepEqual(
      rows.map((row) => row.origin),
      ['statistics', 'assumed', 'statistics', 'assumed'],
    );
  });

  test('counted: the lit hour adds to all three, the crossed one to high and half of it to best', () => {
    const before: Observation = { ...gapAt(T0 - HOUR_MS), value: 0 };
    const hours = [watts(0, 160, 170, 175), watts(1, 0, 80, 175), watts(2, 0, 0.2, 0.4)];
    const found = amount(lit, 'on-hours', [before, ...hoursAsObservations(hours, lit, 0)]);
    assert.deepEqual(found, { low: 1, best: 1.5, high: 2 });
  });

  test('a missing hour is open, and so are the two beside it, which it may have begun or ended in', () => {
    const hours = [0, 1, 3, 4].map((index) => watts(index, 160, 170, 175));
    const rows = hoursAsObservations(hours, lit, 0);
    const before: Observation = { ...gapAt(T0 - 1), value: 0 };
    const found = amount(lit, 'on-hours', [before, ...rows]);
    assert.equal(Math.round((found?.low ?? 0) * 100) / 100, 2);
    assert.ok((found?.high ?? 0) > 4.9);
  });

  test('an hour of which only the mean was kept decides nothing', () => {
    assert.equal(hoursAsObservations([hour(0, { mean: 170 })], lit, 0)[0]?.value, null);
  });
});

describe('hours of statistics for a running total', () => {
  test('each gives the reading when it ended; a hole is a gap that the next reading closes', () => {
    const rows = hoursAsObservations(
      [0, 1, 3].map((index) => hour(index, { state: 100 + index, unit: 'L' })),
      total,
      0,
    );
    assert.deepEqual(
      rows.map((row) => row.value),
      [100, null, 101, null, 103],
    );
    assert.ok(rows.every((row) => row.unit === 'L'));
    const found = amount(total, 'litres', [{ ...gapAt(T0 - 1), value: 99 }, ...rows]);
    assert.deepEqual([found?.low, found?.best], [4, 4]);
  });
});

describe('hours of statistics for energy from held power', () => {
  test('the mean holds all hour, however soon the counter loses faith in a reading', () => {
    for (const maxHoldMs of [20 * 60_000, 45 * 60_000, 3 * HOUR_MS]) {
      const source: CounterSource = { kind: 'held-power', entity: ENTITY, maxHoldMs, maxPowerW: 60 };
      const found = amount(
        source,
        'energy',
        hoursAsObservations([watts(0, 10, 50, 60), watts(1, 10, 30, 60)], source, 0),
      );
      assert.ok(Math.abs((found?.low ?? 0) - 0.08) < 1e-6, `${maxHoldMs}: ${found?.low} kWh`);
      assert.deepEqual(found?.low, found?.high);
    }
  });
});

describe('hours of statistics for a counter of two entities', () => {
  const solids: CounterSource = {
    kind: 'dissolved',
    entity: ENTITY,
    unitsPerReading: 1,
    maxPerHour: 60,
    tdsEntity: 'sensor.tds',
    tdsMaxAgeMs: 2 * HOUR_MS,
    maxTdsMgPerL: 20,
  };
  test('litres by their reading, solids by least, mean and most, so that the grams stay bounded', () => {
    assert.deepEqual(hourlyEntities(solids), [ENTITY, 'sensor.tds']);
    const hours = [0, 1].flatMap((index) => [
      hour(index, { state: 100 + 10 * index }),
      { ...watts(index, 8, 10, 12), entity: 'sensor.tds' },
    ]);
    const found = amount(solids, 'grams', hoursAsObservations(hours, solids, 0));
    assert.ok(found !== undefined && found.low <= 0.08 + 1e-9 && found.high >= 0.12 - 1e-9, JSON.stringify(found));
    assert.ok(found.low > 0.07 && found.high < 0.13, JSON.stringify(found));
  });

  test('a switch has no hours of its own, a meter beside it has', () => {
    const plain: CounterSource = { kind: 'on-state', entity: 'switch.a' };
    const beside = {
      entity: 'sensor.kwh',
      unitsPerReading: 1,
      leastPerHourOn: 0.1,
      mostPerHourOn: 0.2,
      mostPerHourOff: 0,
      coarseness: 0.01,
    };
    assert.deepEqual(hourlyEntities(plain), []);
    assert.deepEqual(hourlyEntities({ ...plain, narrowedBy: beside }), ['sensor.kwh']);
    const rows = hoursAsObservations(
      [{ ...hour(0, { state: 5 }), entity: 'sensor.kwh' }],
      { ...plain, narrowedBy: beside },
      0,
    );
    assert.deepEqual(
      rows.map(({ entity, value }) => [entity, value]),
      [['sensor.kwh', 5]],
    );
  });
});
