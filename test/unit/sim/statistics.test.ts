import assert from 'node:assert/strict';
import { test } from 'node:test';
import { hourlyRows } from '../../../src/sim/hub/index.ts';
import { heardBy } from '../../../src/sim/index.ts';
import { HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';

const T0 = 500 * 24 * HOUR_MS;
const rows = (list: readonly (readonly [minutes: number, state: string])[], downs = []) =>
  heardBy(
    {
      count: list.length,
      updatedAt: (index) => T0 + (list[index]?.[0] ?? 0) * MINUTE_MS,
      state: (index) => list[index]?.[1] ?? '',
      attributes: {},
    },
    downs,
  );
const span = { from: T0, to: T0 + 10 * HOUR_MS, now: T0 + 10 * HOUR_MS };

test('a measured value gives least, time-weighted mean and most of each hour, what held before included', () => {
  const [first, second] = hourlyRows(
    rows([
      [-30, '10'],
      [30, '20'],
      [90, '0'],
    ]),
    'measurement',
    span,
  );
  assert.deepEqual([first?.min, first?.mean, first?.max], [10, 15, 20]);
  assert.deepEqual([second?.min, second?.mean, second?.max], [0, 10, 20]);
});

test('an hour without any value has no row; a shorter silence is drawn over by the value before', () => {
  const found = hourlyRows(
    rows([
      [0, '10'],
      [20, 'unavailable'],
      [200, '30'],
    ]),
    'measurement',
    span,
  );
  assert.deepEqual(
    found.slice(0, 2).map(({ start, mean }) => [(start - T0) / HOUR_MS, mean]),
    [
      [0, 10],
      [3, 30],
    ],
  );
});

test('a total gives its reading at the end of the hour; hours that are not over have no row', () => {
  const found = hourlyRows(
    rows([
      [0, '100'],
      [59, '101'],
      [61, '102'],
    ]),
    'total',
    { ...span, now: T0 + 150 * MINUTE_MS },
  );
  assert.deepEqual(
    found.map(({ state, sum }) => [state, sum]),
    [
      [101, 1],
      [102, 2],
    ],
  );
});
