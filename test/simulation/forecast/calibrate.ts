// Makes the tables in src/forecast/calibration.ts from the training settings alone: `node test/simulation/forecast/calibrate.ts`.
// For each kind of steadiness, length of history and time ahead it notes how far the true totals lay from the expected ones,
// in the spread that was foretold, and takes the places that a tenth and nine tenths of them lay above.
import { AHEAD_WEEKS, HISTORY_DAYS, STEADINESS, useOutlook } from '../../../src/forecast/index.ts';
import { DAY_MS } from '../../../src/units/index.ts';
import { quantile } from './backtest.ts';
import { makeSeries } from './generate.ts';
import { TRAINING } from './settings.ts';

const SEEDS = Number(process.argv[2] ?? 150);
const WEEK = 7;
const longest = Math.max(...HISTORY_DAYS);
const furthest = Math.max(...AHEAD_WEEKS) * WEEK;

const surprises = new Map<string, number[]>();
for (const setting of TRAINING)
  for (let seed = 1; seed <= SEEDS; seed += 1) {
    const { use, firstDayOfYear } = makeSeries(setting, seed, longest + furthest);
    for (const days of HISTORY_DAYS) {
      const endsAt = (firstDayOfYear + longest) * DAY_MS;
      const made = useOutlook(Array.from(use.subarray(longest - days, longest)), endsAt);
      if (made === null) continue;
      // One week says nothing of how steady it is: all share what such a short history is worth.
      const kinds = days < 2 * WEEK ? STEADINESS.map(({ name }) => name) : [made.steadiness];
      for (const weeks of AHEAD_WEEKS) {
        const actual = use.subarray(longest, longest + weeks * WEEK).reduce((sum, one) => sum + one, 0);
        const mean = made.total.mean[weeks - 1] ?? 0;
        const spread = made.total.spread[weeks - 1] ?? 0;
        if (actual <= 0 || mean <= 0 || spread <= 0) continue;
        for (const kind of kinds) {
          const key = `${kind} ${days} ${weeks}`;
          const list = surprises.get(key) ?? [];
          list.push(Math.log(actual / mean) / spread);
          surprises.set(key, list);
        }
      }
    }
  }

for (const { name } of STEADINESS) {
  console.log(`  ${name}: [`);
  for (const days of HISTORY_DAYS) {
    const row = AHEAD_WEEKS.flatMap((weeks) => {
      const sorted = (surprises.get(`${name} ${days} ${weeks}`) ?? []).toSorted((a, b) => a - b);
      return [0.1, 0.9].map((share) => Number(quantile(sorted, share).toFixed(2)));
    });
    console.log(`    [${row.join(', ')}], // ${days} days`);
  }
  console.log('  ],');
}
