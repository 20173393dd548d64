import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  conditionReach,
  fitWeibull,
  kaplanMeier,
  type Life,
  lastingBeyond,
  learnedLimit,
  weibullUsed,
} from '../../../src/forecast/index.ts';
import { DAY_MS } from '../../../src/units/index.ts';
import { driftScore } from '../../simulation/forecast/drift.ts';

const NOW = Date.UTC(2026, 5, 1);

describe('when a condition reaches its limit', () => {
  test('of four hundred drifting pumps about eight in ten come to their limit within their bands', () => {
    const { drifts, dated, inside } = driftScore(Array.from({ length: 400 }, (_, index) => index + 1));
    assert.ok(dated > 0.98 * drifts, `${dated} of ${drifts} dated`);
    // Three standard errors of so many about 80 %.
    assert.ok(Math.abs(inside / dated - 0.8) < 0.06, `${inside} of ${dated}`);
  });

  test('a level that only scatters gets no date, nor one that drifts away from its limit', () => {
    const flat = Array.from({ length: 60 }, (_, day) => 26 + 0.5 * Math.sin(17.3 * day));
    assert.equal(conditionReach({ values: flat, limit: 28, now: NOW }), null);
    const falling = Array.from({ length: 60 }, (_, day) => 26 - 0.02 * day + 0.05 * Math.sin(17.3 * day));
    assert.equal(conditionReach({ values: falling, limit: 28, now: NOW }), null);
    assert.notEqual(conditionReach({ values: falling, limit: 24, now: NOW }), null);
    assert.equal(conditionReach({ values: falling.slice(0, 13), limit: 24, now: NOW }), null);
  });

  test('one that has passed its limit is due now, and a few wild days change the date little', () => {
    const rising = Array.from({ length: 90 }, (_, day) => 48 + 0.03 * day + 0.05 * Math.sin(17.3 * day));
    const due = conditionReach({ values: rising, limit: 50, now: NOW });
    assert.equal(due?.reach.likely, NOW);
    const clean = conditionReach({ values: rising, limit: 52, now: NOW });
    const wild = conditionReach({ values: rising.map((w, day) => (day % 17 === 5 ? w + 20 : w)), limit: 52, now: NOW });
    assert.ok(clean !== null && wild !== null);
    assert.equal(clean.restsOn, 'from a trend over 90 days');
    // Own arithmetic: from 50.67 on day 89 to 52 at 0.03 a day are 44 days.
    assert.ok(Math.abs((clean.reach.likely - NOW) / DAY_MS - 44) < 3);
    assert.ok(Math.abs(wild.reach.likely - clean.reach.likely) / DAY_MS < 6);
  });
});

const worn = (...used: number[]): Life[] => used.map((one) => ({ used: one, worn: true }));
const ended = (...used: number[]): Life[] => used.map((one) => ({ used: one, worn: false }));

describe('what past lives say of a limit', () => {
  test('parts that wore out before the limit ask for a shorter one, safety parts too', () => {
    const lives = [...worn(1_250, 1_320, 1_380), ...ended(1_100)];
    for (const isSafety of [false, true]) {
      const { amount, why, lives: all, worn: count } = learnedLimit(lives, 1_500, isSafety);
      assert.equal(why, 'shorter');
      assert.deepEqual([all, count], [4, 3]);
      assert.ok(amount !== null && amount < 1_320 && amount > 1_000, `${amount}`);
    }
  });

  test('parts that last longer may ask for a longer limit, after five lives; a safety part never', () => {
    const lives = worn(5_400, 5_600, 5_900);
    assert.equal(learnedLimit(lives, 3_600, false).why, 'too-few-to-lengthen');
    const more = [...lives, ...ended(4_000, 4_200)];
    const longer = learnedLimit(more, 3_600, false);
    assert.equal(longer.why, 'longer');
    assert.ok(longer.amount !== null && longer.amount > 3_600 && longer.amount <= 1.5 * 3_600);
    assert.deepEqual(learnedLimit(more, 3_600, true).amount, null);
    assert.equal(learnedLimit(more, 3_600, true).why, 'safety');
  });

  test('lives that were ended in time show no length, however many', () => {
    const { amount, why, learned } = learnedLimit(ended(365, 366, 360, 370, 365, 362), 365, false);
    assert.deepEqual([amount, why, learned], [null, 'too-few', null]);
  });

  test('leaving out lives ended in time would shorten what is learned', () => {
    const all = [...worn(200, 240, 300), ...ended(280, 310, 320)];
    const fitted = fitWeibull(all);
    const without = fitWeibull(all.filter((life) => life.worn));
    assert.ok(fitted !== null && without !== null);
    assert.ok(weibullUsed(fitted, 0.5) > weibullUsed(without, 0.5));
  });

  const life = fc.record({ used: fc.integer({ min: 1, max: 5_000 }), worn: fc.boolean() });
  test('the share that lasts never rises; a proposal keeps within its step and no safety part gets longer', () => {
    fc.assert(
      fc.property(
        fc.array(life, { maxLength: 25 }),
        fc.integer({ min: 10, max: 5_000 }),
        fc.boolean(),
        (lives, limit, safe) => {
          const steps = kaplanMeier(lives);
          for (const [index, step] of steps.entries())
            assert.ok(step.lasting >= 0 && step.lasting <= (steps[index - 1]?.lasting ?? 1));
          assert.equal(lastingBeyond(steps, 0), 1);
          const { amount } = learnedLimit(lives, limit, safe);
          if (amount === null) return;
          assert.ok(amount >= 0.5 * limit && amount <= 1.5 * limit);
          if (safe) assert.ok(amount < limit);
        },
      ),
    );
  });
});
