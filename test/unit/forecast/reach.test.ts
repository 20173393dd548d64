import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { GRAINS_PER_UNIT } from '../../../src/count/index.ts';
import { dailyRate, dailyUseOf, HORIZON_MS, reachByAge, reachWhen } from '../../../src/forecast/index.ts';
import { DAY_MS, HOUR_MS } from '../../../src/units/index.ts';

const NOW = Date.UTC(2025, 8, 2, 9);
const exact = (amount: number) => ({ low: amount, best: amount, high: amount });
const steady = (perDay: number, days = 28) => new Array<number>(days).fill(perDay);

describe('reachWhen', () => {
  // Own arithmetic: (3,600 - 3,096) h / 9 h a day = 56 days.
  test('a bank lit 9 h a day with 3,096 of 3,600 h behind it reaches its limit in 56 days', () => {
    const reach = reachWhen({ used: exact(3096), limit: 3600, now: NOW, dailyUse: steady(9) });
    assert.deepEqual(reach, { early: NOW + 56 * DAY_MS, likely: NOW + 56 * DAY_MS, late: NOW + 56 * DAY_MS });
  });

  // Own arithmetic: 256 h past the limit at 24 h a day is 10 days 16 hours.
  test('a lamp 256 h past its limit at 24 h a day reached it 10 days and 16 hours ago', () => {
    const reach = reachWhen({ used: exact(8256), limit: 8000, now: NOW, dailyUse: steady(24) });
    assert.equal(reach?.likely, NOW - (10 * 24 + 16) * HOUR_MS);
  });

  test('a closed day every week is no falling rate', () => {
    const weeks = Array.from({ length: 28 }, (_, day) => (day % 7 === 0 ? 0 : 7));
    assert.deepEqual(dailyRate(weeks), { low: 6, likely: 6, high: 6 });
  });

  test('one odd week moves the likely rate little and the interval more', () => {
    const rate = dailyRate([...steady(10, 21), ...steady(2, 7)]);
    assert.equal(rate?.likely, 10);
    assert.ok((rate?.low ?? 10) < 5, `low ${rate?.low}`);
  });

  test('no rate from less than three days, and no date where nothing runs', () => {
    assert.equal(reachWhen({ used: exact(1), limit: 10, now: NOW, dailyUse: [5, 5] }), null);
    assert.equal(reachWhen({ used: exact(1), limit: 10, now: NOW, dailyUse: steady(0) }), null);
  });

  test('age runs one day a day', () => {
    const reach = reachByAge({ used: exact(344), limit: 365, now: NOW });
    assert.equal(reach.likely, NOW + 21 * DAY_MS);
    assert.equal(reach.early, reach.late);
  });

  test('the limit is never dated before the fitting', () => {
    const fitted = NOW - 5 * DAY_MS;
    const reach = reachWhen({ used: exact(200), limit: 100, now: NOW, dailyUse: steady(1), notBefore: fitted });
    assert.equal(reach?.likely, fitted);
  });

  const input = fc.record({
    a: fc.double({ min: 0, max: 5000, noNaN: true }),
    b: fc.double({ min: 0, max: 5000, noNaN: true }),
    c: fc.double({ min: 0, max: 5000, noNaN: true }),
    limit: fc.double({ min: 1, max: 5000, noNaN: true }),
    dailyUse: fc.array(fc.double({ min: 0, max: 24, noNaN: true }), { minLength: 0, maxLength: 28 }),
  });

  test('early ≤ likely ≤ late, in the past only when reached, never past the horizon', () => {
    fc.assert(
      fc.property(input, ({ a, b, c, limit, dailyUse }) => {
        const [low = 0, best = 0, high = 0] = [a, b, c].sort((x, y) => x - y);
        const reach = reachWhen({ used: { low, best, high }, limit, now: NOW, dailyUse });
        if (reach === null) return;
        assert.ok(reach.early <= reach.likely && reach.likely <= reach.late);
        if (best < limit) assert.ok(reach.early >= NOW);
        else assert.ok(reach.likely <= NOW);
        assert.ok(reach.late <= NOW + HORIZON_MS && reach.early >= NOW - HORIZON_MS);
      }),
      { numRuns: 1000 },
    );
  });

  test('more use never moves the likely date later', () => {
    fc.assert(
      fc.property(input, fc.double({ min: 0, max: 500, noNaN: true }), ({ a, limit, dailyUse }, more) => {
        const at = (used: number) => reachWhen({ used: exact(used), limit, now: NOW, dailyUse });
        const [less, after] = [at(a), at(a + more)];
        if (less === null || after === null) return assert.equal(less, after);
        assert.ok(after.likely <= less.likely);
      }),
      { numRuns: 1000 },
    );
  });
});

describe('dailyUseOf', () => {
  const sliceOf = (hour: number, hours: number) => {
    const grains = hours * GRAINS_PER_UNIT['on-hours'];
    return { hour, measure: 'on-hours' as const, add: { low: 0, best: grains, high: grains } };
  };
  const hourly = (hours: number, best: number) =>
    Array.from({ length: hours }, (_, i) => sliceOf(NOW - (i + 1) * HOUR_MS, best));

  test('sums whole 24-hour periods, oldest first, and leaves the running hour out', () => {
    const slices = [...hourly(48, 0.5), sliceOf(NOW, 99)];
    assert.deepEqual(dailyUseOf(slices, NOW - 60 * DAY_MS, NOW + 20 * 60_000, 3), [0, 12, 12]);
  });

  test('days before counting began are not days without use', () => {
    assert.deepEqual(dailyUseOf(hourly(30, 1), NOW - 30 * HOUR_MS, NOW), [24]);
    assert.deepEqual(dailyUseOf(hourly(30, 1), null, NOW), []);
  });
});
