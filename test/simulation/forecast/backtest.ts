// Forecasts held against what came: for many invented tanks a limit that will be reached so many days ahead, foretold by
// the product, by a bootstrap of whole weeks and by two plain rates.
import { type Steadiness, useOutlook } from '../../../src/forecast/index.ts';
import { type Prng, prng, seedFor } from '../../../src/sim/index.ts';
import { DAY_MS } from '../../../src/units/index.ts';
import { makeSeries, type Setting } from './generate.ts';

export const DAYS_AHEAD = [14, 30, 60, 90, 120, 180] as const;
const LONGEST = 600;
const FURTHEST = 180;
/** Nothing is foretold beyond ten years; figures beyond are cut there. */
const HORIZON = 3650;

export type Band = { readonly early: number; readonly likely: number; readonly late: number };

/** One limit, foretold once by each method. All in days from the moment of foretelling. */
export type Foretold = {
  readonly setting: string;
  readonly tank: string;
  readonly history: number;
  readonly steadiness: Steadiness;
  readonly truth: number;
  readonly ours: Band;
  readonly bootstrap: Band;
  readonly overallMean: number;
  readonly lastSeven: number;
};

export function foretell(settings: readonly Setting[], seeds: readonly number[]): readonly Foretold[] {
  return settings.flatMap((setting) => seeds.flatMap((seed) => ofTank(setting, seed)));
}

function ofTank(setting: Setting, seed: number): readonly Foretold[] {
  const random = prng(seedFor(seed, `history ${setting.name}`));
  const history = Math.round(28 * (LONGEST / 28) ** random.next());
  const { use, firstDayOfYear } = makeSeries(setting, seed, LONGEST + FURTHEST);
  const seen = Array.from(use.subarray(LONGEST - history, LONGEST));
  const made = useOutlook(seen, (firstDayOfYear + LONGEST) * DAY_MS);
  if (made === null) return [];
  const weeks = resampledTotals(seen, random);
  return DAYS_AHEAD.flatMap((truth) => {
    const amount = sum(use.subarray(LONGEST, LONGEST + truth));
    // A limit that is reached on a day without use would be reached on an earlier one.
    if ((use[LONGEST + truth - 1] ?? 0) <= 0) return [];
    const days = (which: 'early' | 'likely' | 'late'): number =>
      Math.min(HORIZON, made.timeFor(amount, which) / DAY_MS);
    return {
      setting: setting.name,
      tank: `${setting.name} ${seed}`,
      history,
      steadiness: made.steadiness,
      truth,
      ours: { early: days('early'), likely: days('likely'), late: days('late') },
      bootstrap: weeks(amount),
      overallMean: Math.min(HORIZON, amount / (sum(seen) / seen.length)),
      lastSeven: Math.min(HORIZON, amount / (sum(seen.slice(-7)) / 7)),
    };
  });
}

const sum = (list: Iterable<number>): number => {
  let total = 0;
  for (const one of list) total += one;
  return total;
};

const PATHS = 400;
const PATH_WEEKS = 104;

/** Whole weeks of the history drawn with replacement, each method's usual way: dates are those of the drawn paths. */
function resampledTotals(seen: readonly number[], random: Prng): (amount: number) => Band {
  const count = Math.floor(seen.length / 7);
  const from = seen.length - count * 7;
  const paths = Array.from({ length: PATHS }, () => {
    const totals = new Float64Array(PATH_WEEKS * 7 + 1);
    for (let week = 0; week < PATH_WEEKS; week += 1) {
      const drawn = from + 7 * Math.floor(random.next() * count);
      for (let day = 0; day < 7; day += 1) {
        const at = week * 7 + day;
        totals[at + 1] = (totals[at] ?? 0) + (seen[drawn + day] ?? 0);
      }
    }
    return totals;
  });
  return (amount) => {
    const dates = paths.map((totals) => firstDay(totals, amount)).sort((a, b) => a - b);
    return { early: quantile(dates, 0.1), likely: quantile(dates, 0.5), late: quantile(dates, 0.9) };
  };
}

function firstDay(totals: Float64Array, amount: number): number {
  let low = 0;
  let high = totals.length - 1;
  if ((totals[high] ?? 0) < amount) return HORIZON;
  while (high - low > 1) {
    const middle = (low + high) >> 1;
    if ((totals[middle] ?? 0) < amount) low = middle;
    else high = middle;
  }
  const before = totals[low] ?? 0;
  return low + (amount - before) / ((totals[high] ?? 0) - before);
}

export function quantile(sorted: readonly number[], share: number): number {
  const place = (sorted.length - 1) * share;
  const below = sorted[Math.floor(place)] ?? Number.NaN;
  return below + ((sorted[Math.ceil(place)] ?? below) - below) * (place - Math.floor(place));
}
