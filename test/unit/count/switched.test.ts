import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { project } from '../../../src/count/index.ts';
import { HOUR_MS, MINUTE_MS, SECOND_MS } from '../../../src/units/index.ts';
import { counter, ENTITY, foldRows, lamp, type Row, T0 } from './make.ts';

const minutes = (...rows: readonly (readonly [number, number | null])[]): readonly Row[] =>
  rows.map(([at, value]) => [T0 + at * MINUTE_MS, value]);

const exact = (amount: number) => ({ low: amount, best: amount, high: amount });

describe('a device that is on or off', () => {
  test('hours while on, starts at proven edges, nothing before the first value', () => {
    const { state } = foldRows(lamp, minutes([0, null], [30, 0], [60, 1], [90, 0], [95, 1], [125, 0]));
    assert.deepEqual(state.amounts, { 'on-hours': exact(1), starts: exact(2) });
    assert.equal(state.countingSince, T0 + 30 * MINUTE_MS);
  });

  test('already on when first seen: hours from then, no start', () => {
    const { state } = foldRows(lamp, minutes([0, 1], [60, 0]));
    assert.deepEqual(state.amounts, { 'on-hours': exact(1), starts: exact(0) });
  });

  test('an off seen first, and for less than ten seconds, is the jump of a hub that wakes up and proves no start', () => {
    const first = (offMs: number) =>
      foldRows(lamp, [
        [T0, 0],
        [T0 + offMs, 1],
        [T0 + HOUR_MS, 0],
      ]).state.amounts.starts;
    assert.deepEqual(first(9_999), { low: 0, best: 0, high: 1 });
    assert.deepEqual(first(10_000), exact(1));
    const again = foldRows(lamp, [
      [T0, 1],
      [T0 + HOUR_MS, 0],
      [T0 + HOUR_MS + 5, 1],
    ]).state.amounts.starts;
    assert.deepEqual(again, exact(1), 'one that was seen to begin is an off, however short');
  });

  test('on before and after a gap: no start is proven or likely, the hours of the gap are likely but not proven', () => {
    const { state, slices } = foldRows(lamp, minutes([0, 0], [60, 1], [120, null], [180, 1], [240, 0]));
    assert.deepEqual(state.amounts['on-hours'], { low: 2, best: 3, high: 3 });
    assert.equal(state.amounts.starts?.low, 1);
    assert.equal(state.amounts.starts?.best, 1);
    assert.ok((state.amounts.starts?.high ?? 0) > 1);
    const doubtful = slices.filter(({ origin }) => origin === 'assumed');
    assert.ok(doubtful.length > 0 && doubtful.every(({ add }) => add.low === 0));
  });

  test('off before, on after: one start is likely, half the gap is likely, nothing is proven', () => {
    const { state } = foldRows(lamp, minutes([0, 0], [60, null], [180, 1]));
    assert.deepEqual(state.amounts['on-hours'], { low: 0, best: 1, high: 2 });
    // At most one start a minute.
    assert.deepEqual(state.amounts.starts, { low: 0, best: 1, high: 121 });
  });

  test('several gap reports are one gap', () => {
    const once = foldRows(lamp, minutes([0, 0], [60, null], [180, 1]));
    const thrice = foldRows(lamp, minutes([0, 0], [60, null], [61, null], [170, null], [180, 1]));
    assert.deepEqual(thrice.state, once.state);
  });

  test('what has passed since the last observation is added without touching the state', () => {
    const { state } = foldRows(lamp, minutes([0, 0], [60, 1]));
    const kept = JSON.stringify(state);
    assert.deepEqual(project(lamp, state, T0 + 90 * MINUTE_MS)['on-hours'], exact(0.5));
    assert.deepEqual(project(lamp, state, T0 + 150 * MINUTE_MS)['on-hours'], exact(1.5));
    assert.deepEqual(project(lamp, state, T0)['on-hours'], exact(0), 'never less than folded');
    assert.equal(JSON.stringify(state), kept);
    const dark = foldRows(lamp, minutes([0, 0], [60, 1], [120, null])).state;
    assert.deepEqual(project(lamp, dark, T0 + 180 * MINUTE_MS)['on-hours'], { low: 1, best: 1.5, high: 2 });
  });

  test('older and repeated observations change nothing; only older ones are reported as late', () => {
    const rows = minutes([0, 0], [60, 1], [90, 0]);
    const again = foldRows(lamp, [...rows, ...rows]);
    assert.deepEqual(again.state, foldRows(lamp, rows).state);
    assert.equal(again.late, 2);
  });

  test('another source under the same counter: hours are kept, the time between is a gap, its first value no start', () => {
    const before = foldRows(lamp, minutes([0, 0], [60, 1])).state;
    const moved = { ...lamp, source: { kind: 'on-state' as const, entity: 'switch.other_plug' } };
    const { state } = foldRows(moved, minutes([120, 1], [180, 0]), before);
    assert.deepEqual(state.amounts['on-hours'], { low: 1, best: 1, high: 2 });
    assert.equal(state.amounts.starts?.low, 1);
    assert.equal(state.countingSince, T0);
  });
});

describe('on by power', () => {
  const pump = (minOnMs: number, minOffMs: number) =>
    counter(
      { kind: 'power-threshold', entity: ENTITY, onAboveW: 10, offBelowW: 5, minOnMs, minOffMs },
      'on-hours',
      'starts',
    );
  const seconds = (...rows: readonly (readonly [number, number | null])[]): readonly Row[] =>
    rows.map(([at, value]) => [T0 + at * SECOND_MS, value]);

  test('between the two thresholds it stays what it was', () => {
    const { state } = foldRows(
      pump(0, 0),
      minutes([0, 0], [60, 10], [70, 10.1], [80, 7], [100, 5], [130, 4.9], [140, 7]),
    );
    assert.deepEqual(state.amounts, { 'on-hours': exact(1), starts: exact(1) });
  });

  test('a first reading between them says nothing yet, nor does one after a gap', () => {
    assert.equal(foldRows(pump(0, 0), minutes([0, 7])).state.countingSince, null);
    const { state } = foldRows(pump(0, 0), minutes([0, 40], [60, null], [90, 7], [120, 40], [180, 0]));
    assert.deepEqual(state.amounts['on-hours'], { low: 2, best: 3, high: 3 });
  });

  test('a run shorter than the minimum is no start, but its time is time', () => {
    const rows = seconds([0, 0], [100, 40], [103, 0], [200, 40], [260, 0]);
    const { state } = foldRows(pump(5_000, 30_000), rows);
    assert.deepEqual(state.amounts.starts, exact(1));
    assert.equal(Math.round((state.amounts['on-hours']?.low ?? 0) * 3600), 63);
  });

  test('a pause shorter than the minimum does not end a run', () => {
    const rows = seconds([0, 0], [100, 40], [160, 0], [170, 40], [230, 0], [300, 40], [400, 0]);
    assert.deepEqual(foldRows(pump(5_000, 30_000), rows).state.amounts.starts, exact(2));
    assert.deepEqual(foldRows(pump(0, 0), rows).state.amounts.starts, exact(3));
  });

  test('a start counts once the run is long enough, in the hour in which it began', () => {
    const def = pump(90 * MINUTE_MS, 30_000);
    const begun = foldRows(def, minutes([0, 0], [60, 40]));
    assert.deepEqual(begun.state.amounts.starts, exact(0));
    assert.deepEqual(project(def, begun.state, T0 + 150 * MINUTE_MS - 1).starts, exact(0));
    assert.deepEqual(project(def, begun.state, T0 + 150 * MINUTE_MS).starts, exact(1));
    const { slices } = foldRows(def, minutes([200, 0]), begun.state);
    const edge = T0 + 60 * MINUTE_MS;
    assert.deepEqual(
      slices.filter(({ measure }) => measure === 'starts').map(({ hour }) => hour),
      [edge - (edge % HOUR_MS)],
    );
  });

  test('a run that a gap cuts short before it counts is possible on top of what the gap itself has room for', () => {
    // It may have become long enough at once, paused, and begun again just before the gap ended: two starts.
    const { state } = foldRows(pump(20_000, 45_000), seconds([0, 0], [100, 40], [119, null], [165, 40], [300, 0]));
    assert.deepEqual(state.amounts.starts, { low: 0, best: 1, high: 2 });
  });

  test('a short off after a gap may be the end of a long one: the rise after it is possible', () => {
    // On from 100.1 s to 121 s unseen, off from then to 170 s: two starts, one of them in plain sight.
    const { state } = foldRows(pump(20_000, 45_000), seconds([0, 0], [100, null], [150, 0], [170, 40], [300, 0]));
    assert.deepEqual(state.amounts.starts, { low: 0, best: 0, high: 2 });
  });

  test('a gap hides at most as many starts as the minimum times leave room for', () => {
    const { state } = foldRows(pump(20_000, 40_000), minutes([0, 0], [10, null], [70, 0]));
    assert.deepEqual(state.amounts.starts, { low: 0, best: 0, high: 61 });
  });
});

describe('litres by runtime and by pulses', () => {
  test('runtime × rate', () => {
    const def = counter({ kind: 'runtime-rate', entity: ENTITY, litresPerHour: 7.5 }, 'litres');
    assert.deepEqual(foldRows(def, minutes([0, 0], [10, 1], [50, 0])).state.amounts.litres, exact(5));
  });

  test('another rate counts from then on, not backwards', () => {
    const at = (litresPerHour: number) => counter({ kind: 'runtime-rate', entity: ENTITY, litresPerHour }, 'litres');
    const before = foldRows(at(6), minutes([0, 1], [60, 0])).state;
    assert.deepEqual(foldRows(at(12), minutes([120, 1], [180, 0]), before).state.amounts.litres, exact(18));
  });

  test('a contact: each closing is a pulse, closing seen after a gap is only likely', () => {
    const def = counter({ kind: 'pulses', entity: 'binary_sensor.meter', litresPerPulse: 0.5 }, 'litres');
    const { state } = foldRows(def, minutes([0, 0], [1, 1], [2, 0], [3, 1], [4, 0]));
    assert.deepEqual(state.amounts.litres, exact(1));
    const gap = foldRows(def, minutes([0, 0], [1, null], [2, 1])).state.amounts.litres;
    // A minute has room for one pulse a second.
    assert.deepEqual(gap, { low: 0, best: 0.5, high: 30.5 });
  });

  test('a number that counts pulses: differences, also across a gap and a restart from zero', () => {
    const def = counter({ kind: 'pulses', entity: 'sensor.pulses', litresPerPulse: 0.5 }, 'litres');
    assert.deepEqual(foldRows(def, minutes([0, 100], [1, 110])).state.amounts.litres, exact(5));
    assert.deepEqual(foldRows(def, minutes([0, 10_000], [1, null], [9, 10_010])).state.amounts.litres, exact(5));
    const { state, resets } = foldRows(def, minutes([0, 100], [1, 110], [2, 0], [3, 4]));
    assert.deepEqual(state.amounts.litres, exact(7));
    assert.deepEqual(resets, [{ counter: 'counter', at: T0 + 2 * MINUTE_MS, before: 110, after: 0 }]);
  });
});

describe('actuations of a contact', () => {
  const float = (edges: 'both' | 'rising') =>
    counter({ kind: 'edges', entity: 'binary_sensor.float', edges }, 'actuations');
  const moves = minutes([0, 0], [10, 1], [12, 0], [20, 1], [25, 0]);

  test('every change between two known states, or only off to on', () => {
    assert.deepEqual(foldRows(float('both'), moves).state.amounts, { actuations: exact(4) });
    assert.deepEqual(foldRows(float('rising'), moves).state.amounts, { actuations: exact(2) });
  });

  test('the first state seen is no change, nor is the same again', () => {
    assert.deepEqual(foldRows(float('both'), minutes([0, 1], [5, 1], [6, 1])).state.amounts.actuations, exact(0));
  });

  test('in a gap: none proven, one likely where the ends differ, as many possible as there is room for', () => {
    // One every ten seconds in ten minutes, and one at once.
    assert.deepEqual(foldRows(float('both'), minutes([0, 1], [10, null], [20, 0])).state.amounts.actuations, {
      low: 0,
      best: 1,
      high: 61,
    });
    assert.equal(foldRows(float('both'), minutes([0, 0], [10, null], [20, 0])).state.amounts.actuations?.best, 0);
    assert.equal(foldRows(float('rising'), minutes([0, 1], [10, null], [20, 0])).state.amounts.actuations?.best, 0);
  });

  test('a stated shortest time bounds what a gap hides', () => {
    const source = { kind: 'edges', entity: 'binary_sensor.float', edges: 'both', shortestMs: 5 * MINUTE_MS } as const;
    const { state } = foldRows(counter(source, 'actuations'), minutes([0, 1], [10, null], [20, 0]));
    assert.equal(state.amounts.actuations?.high, 3);
  });
});
