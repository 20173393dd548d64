// Figures of a sample that a few wild values don't move.

const ascending = (values: readonly number[]): Float64Array => Float64Array.from(values).sort();

/**
 * Quantile of an ascending list. `R7` draws straight lines between the values, the least at 0 and the most at 1; `R6` and
 * `R8` place them at k/(n+1) and (k − 1/3)/(n + 1/3). NaN for an empty list.
 */
export function quantileOf(sorted: ArrayLike<number>, p: number, method: 'R6' | 'R7' | 'R8' = 'R7'): number {
  const n = sorted.length;
  if (n === 0) return Number.NaN;
  const place = method === 'R7' ? (n - 1) * p : method === 'R6' ? (n + 1) * p - 1 : (n + 1 / 3) * p + 1 / 3 - 1;
  const at = Math.min(n - 1, Math.max(0, place));
  const below = sorted[Math.floor(at)] ?? Number.NaN;
  const above = sorted[Math.ceil(at)] ?? below;
  return below + (above - below) * (at - Math.floor(at));
}

export const quantile = (values: readonly number[], p: number): number => quantileOf(ascending(values), p);
export const median = (values: readonly number[]): number => quantile(values, 0.5);

/** Mean of the middle eight tenths: finer than the steps a sensor reads in, and without its wild readings. */
export function trimmedMean(values: readonly number[]): number {
  const sorted = ascending(values);
  const cut = Math.floor(sorted.length / 10);
  const kept = sorted.subarray(cut, sorted.length - cut);
  return kept.reduce((sum, value) => sum + value, 0) / kept.length;
}

/** 1 / Φ⁻¹(3/4): the MAD of normal values times this is their standard deviation. */
export const MAD_TO_SD = 1.482602218505602;

export type Spread = { readonly median: number; readonly mad: number; readonly sd: number };

/** Median, median absolute deviation from it, and the standard deviation that this would be of normal values. */
export function spreadOf(values: readonly number[]): Spread {
  const middle = median(values);
  const mad = median(values.map((value) => Math.abs(value - middle)));
  return { median: middle, mad, sd: mad * MAD_TO_SD };
}

/** Individuals chart: mean, mean moving range, and limits three standard deviations (moving range / 1.128) away. */
export function individualsChart(values: readonly number[]) {
  const n = values.length;
  const centre = values.reduce((sum, value) => sum + value, 0) / n;
  let moved = 0;
  for (let i = 1; i < n; i += 1) moved += Math.abs((values[i] ?? 0) - (values[i - 1] ?? 0));
  const movingRange = moved / (n - 1);
  const reach = (3 * movingRange) / 1.128;
  return { centre, movingRange, upper: centre + reach, lower: centre - reach };
}
