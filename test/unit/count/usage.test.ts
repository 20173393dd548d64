import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { daysSince, project, usageBetween, usageOf, usageSince, whyRows } from '../../../src/count/index.ts';
import { DAY_MS, HOUR_MS, localTime, MINUTE_MS } from '../../../src/units/index.ts';
import { foldRows, lamp, type Row } from './make.ts';

const H0 = Date.UTC(2026, 0, 5, 10);
const at = (minutes: number, value: number | null): Row => [H0 + minutes * MINUTE_MS, value];
const exact = (amount: number) => ({ low: amount, best: amount, high: amount });

describe('usage of a part', () => {
  test('since a kept baseline: bounds subtracted one by one', () => {
    const before = foldRows(lamp, [at(0, 0), at(60, 1), at(120, null), at(180, 1)]).state;
    const baseline = project(lamp, before, H0 + 240 * MINUTE_MS)['on-hours'];
    const { state } = foldRows(lamp, [at(300, 0)], before);
    const usage = usageOf(lamp, state, 'on-hours', H0 + 600 * MINUTE_MS, baseline);
    assert.deepEqual(usage, { ...exact(1), measure: 'on-hours', countingSince: H0 });
  });

  test('days by the clock', () => {
    assert.equal(daysSince(H0, H0 + 36 * HOUR_MS).best, 1.5);
    assert.deepEqual(daysSince(null, H0), { ...exact(0), measure: 'days', countingSince: null });
  });
});

describe('usage of a period, from hours', () => {
  const { slices } = foldRows(lamp, [at(0, 0), at(30, 1), at(150, 0)]);

  test('full hours are exact, of an hour cut by a border only what must or may lie inside', () => {
    assert.deepEqual(usageBetween(slices, 'on-hours', H0, H0 + 3 * HOUR_MS), exact(2));
    assert.deepEqual(usageSince(slices, 'on-hours', H0 + HOUR_MS), exact(1.5));
    // 11:00 to 12:00 was on throughout: whatever part of it is asked for was on.
    assert.deepEqual(usageBetween(slices, 'on-hours', H0 + 75 * MINUTE_MS, H0 + 105 * MINUTE_MS), exact(0.5));
    // 10:00 to 11:00 was on for half of it, nobody knows which half.
    const cut = usageBetween(slices, 'on-hours', H0 + 15 * MINUTE_MS, H0 + HOUR_MS);
    assert.deepEqual(cut, { low: 0.25, best: 0.375, high: 0.5 });
    assert.deepEqual(usageBetween(slices, 'starts', H0 + 15 * MINUTE_MS, H0 + HOUR_MS), {
      low: 0,
      best: 0.75,
      high: 1,
    });
  });

  test('a lamp that burns from ten to six: eight hours, seven in the spring night, nine in the autumn night', () => {
    // dst-lamp-night and dst-lamp-night-autumn: computed with Python zoneinfo and tzdata 2026.6.
    const nights: readonly (readonly [string, string, number])[] = [
      ['2025-03-28', '2025-03-29', 28_800],
      ['2025-03-29', '2025-03-30', 25_200],
      ['2025-03-30', '2025-03-31', 28_800],
      ['2025-10-24', '2025-10-25', 28_800],
      ['2025-10-25', '2025-10-26', 32_400],
      ['2025-10-26', '2025-10-27', 28_800],
    ];
    for (const [evening, morning, wantedS] of nights) {
      const on = localTime(evening, '22:00', 'Europe/Berlin');
      const off = localTime(morning, '06:00', 'Europe/Berlin');
      const { state } = foldRows(lamp, [
        [on - DAY_MS, 0],
        [on, 1],
        [off, 0],
      ]);
      assert.equal((state.amounts['on-hours']?.best ?? 0) * 3600, wantedS, evening);
    }
  });
});

describe('what a usage is made of', () => {
  test('stretches by origin, oldest first', () => {
    const { slices } = foldRows(lamp, [at(0, 1), at(120, null), at(240, 1), at(270, 0), at(900, 1), at(930, 0)]);
    assert.deepEqual(whyRows(slices, 'on-hours'), [
      { from: H0, to: H0 + 2 * HOUR_MS, origin: 'live', ...exact(2) },
      { from: H0 + 2 * HOUR_MS, to: H0 + 4 * HOUR_MS, origin: 'assumed', low: 0, best: 2, high: 2 },
      { from: H0 + 4 * HOUR_MS, to: H0 + 5 * HOUR_MS, origin: 'live', ...exact(0.5) },
      { from: H0 + 15 * HOUR_MS, to: H0 + 16 * HOUR_MS, origin: 'live', ...exact(0.5) },
    ]);
  });
});
