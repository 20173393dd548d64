import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { project } from '../../../src/count/index.ts';
import { HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';
import { counter, ENTITY, foldRows, heldPower, meter, type Row, T0 } from './make.ts';

const minutes = (...rows: readonly (readonly [number, number | null])[]): readonly Row[] =>
  rows.map(([at, value]) => [T0 + at * MINUTE_MS, value]);
const exact = (amount: number) => ({ low: amount, best: amount, high: amount });

describe('a total that counts up', () => {
  const water = meter('confirmed', 60);

  test('differences, in the unit of the measure', () => {
    const gallons = counter({ kind: 'total', entity: ENTITY, unitsPerReading: 3.785411784, maxPerHour: 600 }, 'litres');
    assert.deepEqual(foldRows(gallons, minutes([0, 100], [60, 110])).state.amounts.litres, exact(37.854118));
    assert.deepEqual(foldRows(water, minutes([0, 100.1], [10, 100.2], [20, 100.3])).state.amounts.litres, exact(0.2));
  });

  test('the meter itself spans a gap: what it shows after is exact, its time is not', () => {
    const { state, slices } = foldRows(water, minutes([0, 1000], [30, null], [200, 1050]));
    assert.deepEqual(state.amounts.litres, exact(50));
    assert.ok(slices.length > 1 && slices.every(({ origin }) => origin === 'assumed'));
    const open = foldRows(water, minutes([0, 100], [30, null])).state;
    assert.deepEqual(project(water, open, T0 + 90 * MINUTE_MS).litres, { low: 0, best: 0, high: 60 });
  });

  test('a meter so low that it could have begun again inside the gap: all of the gap is possible', () => {
    const { state } = foldRows(water, minutes([0, 100], [30, null], [200, 150]));
    assert.deepEqual(state.amounts.litres, { low: 50, best: 50, high: 170 });
  });

  test('a false zero adds nothing and is told', () => {
    const { state, resets, doubts } = foldRows(water, minutes([0, 35.6], [1, 0], [2, 35.6], [3, 35.7]));
    assert.deepEqual(state.amounts.litres, exact(0.1));
    assert.deepEqual(resets, []);
    assert.deepEqual(doubts, [
      { counter: 'counter', kind: 'fall-taken-back', at: T0 + MINUTE_MS, before: 35.6, after: 0 },
    ]);
    const across = foldRows(water, minutes([0, 35.6], [1, null], [2, 0], [3, null], [4, 35.6]));
    assert.deepEqual([across.state.amounts.litres?.low, across.state.amounts.litres?.best], [0, 0]);
  });

  test('a false zero that is read twice does not double the total either', () => {
    const { state } = foldRows(meter('confirmed', 5), minutes([0, 356], [1, 0], [2, 0], [3, 356], [4, 356.1]));
    assert.ok(Math.abs((state.amounts.litres?.best ?? 0) - 0.1) < 1e-9);
    assert.ok(
      (state.amounts.litres?.high ?? 0) >= 356,
      'it may have been a new meter that ran this far: possible only',
    );
  });

  test('until a fall is confirmed, the new count is possible but not shown as used', () => {
    const { state } = foldRows(water, minutes([0, 100], [10, 2]));
    assert.deepEqual(project(water, state, T0 + 11 * MINUTE_MS).litres, { low: 0, best: 0, high: 2 });
    assert.deepEqual(foldRows(water, minutes([20, 3]), state).state.amounts.litres, exact(3));
  });

  test('after a reset across a gap, what ran up unseen before it is possible', () => {
    const { state } = foldRows(water, minutes([0, 100], [60, null], [120, 2], [121, 2]));
    assert.deepEqual(state.amounts.litres, { low: 2, best: 2, high: 62 });
  });

  test('a restart at a stale high value is a reset whose first reading is not believed', () => {
    const { state, doubts } = foldRows(meter('confirmed', 1), minutes([0, 1000], [1, 600], [2, 600.1]));
    assert.equal(state.amounts.litres?.best.toFixed(6), '0.100000');
    assert.ok((state.amounts.litres?.high ?? 0) >= 600);
    assert.deepEqual(
      doubts.map(({ kind }) => kind),
      ['reset-to-a-high-value'],
    );
  });

  test('a rise faster than the source can be: kept out of low and best, in high if it stays', () => {
    const gone = foldRows(water, minutes([0, 100], [1, 99_999], [2, 101]));
    assert.deepEqual(gone.state.amounts.litres, exact(1));
    assert.deepEqual(
      gone.doubts.map(({ kind }) => kind),
      ['jump-taken-back'],
    );
    const stays = foldRows(water, minutes([0, 100], [1, 500], [2, 501]));
    assert.deepEqual(stays.state.amounts.litres, { low: 1, best: 1, high: 401 });
    assert.deepEqual(
      stays.doubts.map(({ kind }) => kind),
      ['jump-too-fast'],
    );
  });

  test('a wobble of the last digit adds nothing to any bound', () => {
    const wobble = minutes([0, 215], [1, 214.9], [2, 215], [3, 214.9], [4, 215]);
    assert.deepEqual(foldRows(water, wobble).state.amounts.litres, exact(0));
  });

  test('a meter that fell back a little and goes on from there: the total stands until it is passed, the rest is possible', () => {
    const { state } = foldRows(water, minutes([0, 100], [1, 95], [2, 97], [3, 99], [4, 102]));
    assert.deepEqual(state.amounts.litres, { low: 2, best: 2, high: 7 });
  });

  test('hours that a device counts itself', () => {
    const def = counter({ kind: 'total', entity: ENTITY, unitsPerReading: 1, maxPerHour: 1 }, 'on-hours');
    assert.deepEqual(foldRows(def, minutes([0, 1200.5], [60, 1201.25])).state.amounts['on-hours'], exact(0.75));
  });
});

describe('energy from watts', () => {
  test('a gap: nothing proven, nothing likely, all the device can draw possible', () => {
    const def = heldPower(10 * MINUTE_MS, 120);
    const { state } = foldRows(def, minutes([0, 60], [10, null], [70, 60]));
    assert.deepEqual(state.amounts.energy, { low: 0.01, best: 0.01, high: 0.13 });
  });

  test('the reading being held is likely at once, proven when the next one comes in time', () => {
    const def = heldPower(10 * MINUTE_MS, 120);
    const { state } = foldRows(def, minutes([0, 60]));
    assert.deepEqual(project(def, state, T0 + 5 * MINUTE_MS).energy, { low: 0, best: 0.005, high: 0.005 });
    assert.deepEqual(project(def, state, T0 + HOUR_MS).energy, { low: 0, best: 0.01, high: 0.11 });
    assert.deepEqual(foldRows(def, minutes([5, 0]), state).state.amounts.energy, exact(0.005));
  });

  test('years of a large consumer stay exact', () => {
    const def = heldPower(HOUR_MS, 2_000);
    const rows: Row[] = [];
    for (let hour = 0; hour <= 50_000; hour++) rows.push([T0 + hour * HOUR_MS, 1234.5]);
    assert.deepEqual(foldRows(def, rows).state.amounts.energy, exact(61_725));
  });
});
