// Makes the table in src/forecast/calibration.ts from the training settings alone: `node test/simulation/forecast/calibrate.ts`.
// For each length of history and each time ahead it notes how far the true totals lay from the expected ones, in the spread
// that was foretold, and takes the places that a tenth, half and nine tenths of them lay above.
import { AHEAD_WEEKS, HISTORY_DAYS, useOutlook } from '../../../src/forecast/index.ts';
import { DAY_MS } from '../../../src/units/index.ts';
import { makeSeries } from './generate.ts';
import { TRAINING } from './settings.ts';

const SEEDS = Number(process.argv[2] ?? 60);
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
      for (const weeks of AHEAD_WEEKS) {
        const actual = use.subarray(longest, longest + weeks * WEEK).reduce((sum, one) => sum + one, 0);
        const mean = made.total.mean[weeks - 1] ?? 0;
        const spread = made.total.spread[weeks - 1] ?? 0;
        if (actual <= 0 || mean <= 0 || spread <= 0) continue;
        const key = `${days} ${weeks}`;
        surprises.set(key, [...(surprises.get(key) ?? []), Math.log(actual / mean) / spread]);
      }
    }
  }

const at = (sorted: readonly number[], share: number): number => {
  const place = (sorted.length - 1) * share;
  const below = sorted[Math.floor(place)] ?? 0;
  return below + ((sorted[Math.ceil(place)] ?? below) - below) * (place - Math.floor(place));
};

for (const days of HISTORY_DAYS) {
  const row = AHEAD_WEEKS.map((weeks) => {
    const sorted = (surprises.get(`${days} ${weeks}`) ?? []).toSorted((a, b) => a - b);
    return `[${[0.1, 0.5, 0.9].map((share) => at(sorted, share).toFixed(2)).join(', ')}]`;
  });
  console.log(`  [${row.join(', ')}], // ${days} days`);
}
