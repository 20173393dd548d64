// One change of level in a series: where, from what to what, and how sure.
import { ranksOf } from './trend.ts';

export type LevelShift = {
  /** Values before the change; it lies between this and the next. */
  readonly before: number;
  readonly meanBefore: number;
  readonly meanAfter: number;
  /** Squared deviations from the two means that are left. */
  readonly sse: number;
};

/** The split into two constant means with the least squared error; null for fewer than two values. */
export function levelShift(values: readonly number[]): LevelShift | null {
  const n = values.length;
  if (n < 2) return null;
  let total = 0;
  let squares = 0;
  for (const value of values) {
    total += value;
    squares += value * value;
  }
  let best: LevelShift | null = null;
  let sum = 0;
  for (let k = 1; k < n; k += 1) {
    sum += values[k - 1] ?? 0;
    const rest = total - sum;
    const sse = squares - (sum * sum) / k - (rest * rest) / (n - k);
    if (best === null || sse < best.sse) best = { before: k, meanBefore: sum / k, meanAfter: rest / (n - k), sse };
  }
  return best;
}

/** Pettitt's test by ranks: place of the likeliest change, its statistic and approximate two-sided probability by chance. */
export function pettitt(values: readonly number[]): {
  readonly before: number;
  readonly k: number;
  readonly p: number;
} {
  const n = values.length;
  const ranks = ranksOf(values);
  let sum = 0;
  let before = 0;
  let k = 0;
  for (let i = 1; i < n; i += 1) {
    sum += ranks[i - 1] ?? 0;
    const u = Math.abs(2 * sum - i * (n + 1));
    if (u > k) {
      k = u;
      before = i;
    }
  }
  return { before, k, p: Math.min(1, 2 * Math.exp((-6 * k * k) / (n ** 3 + n ** 2))) };
}
