import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  AHEAD_WEEKS,
  bandOf,
  foresee,
  HISTORY_DAYS,
  STEADINESS,
  steadinessOf,
  useOutlook,
} from '../../../src/forecast/index.ts';
import { DAY_MS } from '../../../src/units/index.ts';
import { foretell } from '../../simulation/forecast/backtest.ts';
import { forecastPage, SEEDS } from '../../simulation/forecast/page.ts';
import { score } from '../../simulation/forecast/score.ts';
import { HOLD_OUT, TRAINING } from '../../simulation/forecast/settings.ts';

const NOW = Date.UTC(2026, 0, 12, 9);
const YEAR = 365.25;
const exact = (amount: number) => ({ low: amount, best: amount, high: amount });

/** Ends at NOW; busiest in mid-January. */
const seasonal = (days: number, swing: number): readonly number[] =>
  Array.from({ length: days }, (_, index) => {
    const yearDay = ((NOW / DAY_MS - days + index) % YEAR) - 15;
    return 10 * (1 + swing * Math.cos((2 * Math.PI * yearDay) / YEAR));
  });

describe('use ahead', () => {
  test('after a whole year the season is foreseen: a winter rate does not go on into summer', () => {
    // Own arithmetic: the mean over a year of a wave about 10 is 10, so 1,830 are used in the 183 days of half a year about
    // it, less what the wave takes: from mid-January on, half a period of cosine adds up to nothing.
    const foreseen = foresee({ used: exact(0), limit: 1830, now: NOW, dailyUse: seasonal(730, 0.4) });
    const days = ((foreseen?.reach.likely ?? 0) - NOW) / DAY_MS;
    assert.ok(Math.abs(days - 183) < 6, `${days} days`);
    // By the rate of the last four weeks alone it would be 1,830 / 14 = 131 days.
    assert.equal(foreseen?.restsOn, 'from 730 days of use, busiest around January');
  });

  test('little history says nothing of a season, and leaves more room about the date', () => {
    const width = (days: number) => {
      const all = seasonal(730, 0.25).map((use, day) => use * (1 + 0.04 * Math.sin(7.3 * day)));
      const foreseen = foresee({ used: exact(0), limit: 900, now: NOW, dailyUse: all.slice(-days) });
      return { foreseen, days: ((foreseen?.reach.late ?? 0) - (foreseen?.reach.early ?? 0)) / DAY_MS };
    };
    const [short, long] = [width(56), width(730)];
    assert.equal(short.foreseen?.restsOn, 'from 56 days of use');
    assert.ok(short.days > long.days, `${short.days} against ${long.days}`);
  });

  test('the days of the week are kept: a tank that makes water on two days reaches its limit on one of them', () => {
    // Last day is the 7th of each week; water is made on the 1st and the 4th.
    const weeks = Array.from({ length: 84 }, (_, day) => (day % 7 === 0 || day % 7 === 3 ? 40 : 0));
    for (const [limit, low, high] of [
      [30, 0, 1],
      [70, 3, 4],
      [110, 7, 8],
    ] as const) {
      const reach = foresee({ used: exact(0), limit, now: NOW, dailyUse: weeks })?.reach;
      const days = ((reach?.likely ?? 0) - NOW) / DAY_MS;
      assert.ok(days > low && days <= high, `${limit} L in ${days} days`);
    }
  });

  test('one closed week moves the date little, a lasting change of schedule moves it at once after three weeks', () => {
    const likely = (use: readonly number[]) =>
      ((foresee({ used: exact(0), limit: 600, now: NOW, dailyUse: use })?.reach.likely ?? 0) - NOW) / DAY_MS;
    const lit = Array.from({ length: 140 }, (_, day) => 9 + 0.1 * Math.sin(2.1 * day));
    const closed = lit.map((use, day) => (day >= 119 && day < 126 ? use / 2 : use));
    const shorter = lit.map((use, day) => (day >= 119 ? use * (2 / 3) : use));
    assert.ok(Math.abs(likely(closed) / likely(lit) - 1) < 0.03, `${likely(closed)} against ${likely(lit)}`);
    assert.ok(likely(shorter) / likely(lit) > 1.4, `${likely(shorter)} against ${likely(lit)}`);
  });

  test('calibration: edges on either side of the expected, even between its own points and beyond them', () => {
    fc.assert(
      fc.property(
        fc.constantFrom(...STEADINESS.map(({ name }) => name)),
        fc.integer({ min: 1, max: 4000 }),
        fc.double({ min: 0.2, max: 600, noNaN: true }),
        (kind, days, weeks) => {
          const { early, likely, late } = bandOf(kind, days, weeks);
          // What keeps to a timer hardly spreads at all: there a rare change of the timer lies many spreads off.
          const most = kind === 'timed' ? 6 : 4;
          assert.ok(early > 0.3 && early < 4 && late < -0.3 && late > -most && likely === 0, `${early} ${late}`);
        },
      ),
    );
    const first = bandOf('even', HISTORY_DAYS[0], AHEAD_WEEKS[0]);
    assert.deepEqual(bandOf('even', 1, 0.5), first);
  });

  test('how even the weeks are: a timer, a pump, water, a heater; a single week tells nothing', () => {
    const weeks = (step: number) => Array.from({ length: 20 }, (_, week) => 60 * (1 + (week % 2) * step));
    assert.deepEqual(
      [0.002, 0.01, 0.03, 0.2].map((step) => steadinessOf(weeks(step))),
      ['timed', 'even', 'uneven', 'ragged'],
    );
    assert.equal(steadinessOf([60]), 'ragged');
    assert.equal(steadinessOf([]), 'ragged');
    assert.equal(steadinessOf([0, 0, 0]), 'ragged');
    // One closed week in ten does not make a timer ragged.
    assert.equal(steadinessOf(weeks(0.002).map((use, week) => (week % 10 === 4 ? use / 2 : use))), 'timed');
  });

  test('totals never fall and dates come in order, for any days', () => {
    const days = fc.array(fc.double({ min: 0, max: 30, noNaN: true }), { minLength: 7, maxLength: 120 });
    fc.assert(
      fc.property(days, fc.double({ min: 0.01, max: 500, noNaN: true }), (use, amount) => {
        const made = useOutlook(use, NOW);
        assert.ok(made !== null);
        if (use.every((day) => day === 0)) return;
        const [early, likely, late] = (['early', 'likely', 'late'] as const).map((which) =>
          made.timeFor(amount, which),
        );
        assert.ok((early ?? 0) <= (likely ?? 0) && (likely ?? 0) <= (late ?? 0), `${early} ${likely} ${late}`);
        assert.ok((likely ?? 0) >= 0 && made.timeFor(2 * amount, 'likely') >= (likely ?? 0));
      }),
      { numRuns: 200 },
    );
  });
});

describe('backtest on settings the calibration never saw', () => {
  const all = foretell(HOLD_OUT, SEEDS);
  const result = score(all);

  test('no setting of the hold-out is one of the training', () => {
    const trained = TRAINING.map((one) => JSON.stringify({ ...one, name: '' }));
    for (const setting of HOLD_OUT)
      assert.ok(!trained.includes(JSON.stringify({ ...setting, name: '' })), setting.name);
  });

  test('of more than a thousand dates eight in ten lie in their bands, within five in a hundred', () => {
    const { share, low, high, forecasts } = result.coverage;
    assert.ok(forecasts >= 1_000);
    assert.ok(share >= 0.75 && share <= 0.85, `${share}`);
    assert.ok(low <= 0.8 && high >= 0.8, `${low} to ${high}`);
  });

  test('30 and 60 days ahead the likely date is nearer than both plain rates say', () => {
    for (const days of [30, 60]) {
      const errors = result.byDaysAhead[days]?.errorDays;
      assert.ok(errors !== undefined);
      assert.ok(errors.ours < errors.overallMeanRate && errors.ours < errors.lastSevenDays, JSON.stringify(errors));
    }
  });

  test('the band is narrower than that of a weekly bootstrap which covers as much', () => {
    assert.ok(result.widthDays.mean.ours < result.widthDays.mean.bootstrapStretched);
    assert.ok(result.widthDays.median.ours < result.widthDays.median.bootstrapStretched);
    assert.ok(result.coverage.share > result.bootstrapCoverage.share);
  });

  test('docs/forecast.md tells these figures', () => {
    assert.equal(readFileSync(new URL('../../../docs/forecast.md', import.meta.url), 'utf8'), forecastPage(result));
  });
});
