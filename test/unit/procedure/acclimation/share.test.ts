import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { acclimation } from '../../../../src/procedure/acclimation/index.ts';
import { settingsOf } from '../../../../src/rules/index.ts';

const HOUR = 3_600_000;

describe('light after a set change', () => {
  test('starts at 60 % and is full after 18 days: common practice, no source', () => {
    const days = acclimation(9 * HOUR);
    assert.equal(days[0]?.share, 0.6);
    assert.ok(Math.abs((days[9]?.share ?? 0) - 0.8) < 1e-9);
    assert.equal(days[18]?.share, 1);
  });

  test('a lamp of 9 h burns 5 h 24 min on the first day and every hour of it on the nineteenth', () => {
    const days = acclimation(9 * HOUR);
    assert.equal(days[0]?.litMs, 5.4 * HOUR);
    assert.equal(days.at(-1)?.litMs, 9 * HOUR);
    assert.equal(days.length, 19);
  });

  test('it grows by about 5 % of the full hours every two to three days', () => {
    // Common practice, no source.
    const days = acclimation(9 * HOUR);
    const step = (days[1]?.share ?? 0) - (days[0]?.share ?? 0);
    const daysFor5 = 0.05 / step;
    assert.ok(daysFor5 >= 2 && daysFor5 <= 3, `${daysFor5}`);
  });

  test('never falls, never passes the full hours, whatever the tank sets', () => {
    const { startShare, rampMs } = settingsOf('K24');
    fc.assert(
      fc.property(
        fc.double({ min: startShare?.min ?? 0, max: startShare?.max ?? 1, noNaN: true }),
        fc.double({ min: rampMs?.min ?? 0, max: rampMs?.max ?? 1, noNaN: true }),
        (share, ms) => {
          const days = acclimation(9 * HOUR, { K24: { startShare: share, rampMs: ms } });
          assert.ok(Math.abs((days[0]?.share ?? 0) - share) < 1e-9);
          assert.equal(days.at(-1)?.share, 1);
          assert.ok(days.length <= 30);
          for (const [i, day] of days.entries()) if (i > 0) assert.ok(day.share > (days[i - 1]?.share ?? 1));
        },
      ),
    );
  });
});
