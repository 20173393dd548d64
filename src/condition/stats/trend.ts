// Trends that a few wild values don't make: Theil-Sen lines and Mann-Kendall tests.
import { normalCdf, normalQuantile } from './normal.ts';
import { median, quantileOf } from './robust.ts';

export type TheilSen = {
  /** Median of the slopes between all pairs of points. */
  readonly slope: number;
  /** Median y less slope × median x. */
  readonly intercept: number;
  /** Bounds of the slope at the asked confidence. */
  readonly low: number;
  readonly high: number;
};

/** Null where no two points differ in x. Confidence as by Sen (1968), ties in x and y allowed for. O(n²): thin long series first. */
export function theilSen(x: readonly number[], y: readonly number[], confidence = 0.95): TheilSen | null {
  const n = Math.min(x.length, y.length);
  const slopes: number[] = [];
  for (let i = 0; i < n; i += 1) {
    for (let j = i + 1; j < n; j += 1) {
      const dx = (x[j] ?? 0) - (x[i] ?? 0);
      if (dx !== 0) slopes.push(((y[j] ?? 0) - (y[i] ?? 0)) / dx);
    }
  }
  if (slopes.length === 0) return null;
  const list = Float64Array.from(slopes).sort();
  const slope = quantileOf(list, 0.5);
  const z = normalQuantile(0.5 + confidence / 2);
  const variance = (n * (n - 1) * (2 * n + 5) - tieTerm(x.slice(0, n)) - tieTerm(y.slice(0, n))) / 18;
  const reach = z * Math.sqrt(Math.max(0, variance));
  const upper = Math.min(halfEven((list.length + reach) / 2), list.length - 1);
  const lower = Math.max(halfEven((list.length - reach) / 2) - 1, 0);
  const intercept = median(y.slice(0, n)) - slope * median(x.slice(0, n));
  return { slope, intercept, low: list[lower] ?? slope, high: list[upper] ?? slope };
}

/** Halves go to the even neighbour. */
function halfEven(value: number): number {
  const floor = Math.floor(value);
  if (value - floor !== 0.5) return Math.round(value);
  return floor % 2 === 0 ? floor : floor + 1;
}

/** Σ k(k−1)(2k+5) over groups of equal values. */
function tieTerm(values: readonly number[]): number {
  const counts = new Map<number, number>();
  for (const value of values) counts.set(value, (counts.get(value) ?? 0) + 1);
  let sum = 0;
  for (const k of counts.values()) sum += k * (k - 1) * (2 * k + 5);
  return sum;
}

export type MannKendall = {
  readonly trend: 'increasing' | 'decreasing' | 'no trend';
  readonly s: number;
  readonly varS: number;
  readonly z: number;
  /** Two-sided. */
  readonly p: number;
  readonly tau: number;
};

export type MannKendallOptions = {
  readonly alpha?: number;
  /** `hamed-rao` widens the variance by what successive values have in common (Hamed & Rao 1998). */
  readonly correction?: 'none' | 'hamed-rao';
};

/** Values in order of time, evenly spaced. */
export function mannKendall(
  y: readonly number[],
  { alpha = 0.05, correction = 'none' }: MannKendallOptions = {},
): MannKendall {
  const n = y.length;
  let s = 0;
  for (let i = 0; i < n; i += 1) for (let j = i + 1; j < n; j += 1) s += Math.sign((y[j] ?? 0) - (y[i] ?? 0));
  const plain = (n * (n - 1) * (2 * n + 5) - tieTerm(y)) / 18;
  const varS = correction === 'none' ? plain : plain * commonFactor(y, alpha);
  const z = varS <= 0 || s === 0 ? 0 : (s - Math.sign(s)) / Math.sqrt(varS);
  const p = 2 * (1 - normalCdf(Math.abs(z)));
  const trend = p >= alpha || z === 0 ? 'no trend' : z > 0 ? 'increasing' : 'decreasing';
  return { trend, s, varS, z, p, tau: n < 2 ? 0 : s / ((n * (n - 1)) / 2) };
}

/** By how much autocorrelation of the detrended ranks widens the variance of S. */
function commonFactor(y: readonly number[], alpha: number): number {
  const n = y.length;
  const slope = theilSen(Array.from(y.keys()), y)?.slope ?? 0;
  const ranks = ranksOf(y.map((value, i) => value - (i + 1) * slope));
  const mean = ranks.reduce((sum, rank) => sum + rank, 0) / n;
  const off = ranks.map((rank) => rank - mean);
  const at = (lag: number): number => {
    let sum = 0;
    for (let i = 0; i + lag < n; i += 1) sum += (off[i] ?? 0) * (off[i + lag] ?? 0);
    return sum;
  };
  const whole = at(0);
  if (whole === 0) return 1;
  const bound = normalQuantile(1 - alpha / 2) / Math.sqrt(n);
  let sum = 0;
  for (let lag = 1; lag < n; lag += 1) {
    const r = at(lag) / whole;
    if (Math.abs(r) > bound) sum += (n - lag) * (n - lag - 1) * (n - lag - 2) * r;
  }
  return 1 + (2 / (n * (n - 1) * (n - 2))) * sum;
}

/** Ranks from 1; equal values share the mean of theirs. */
export function ranksOf(values: readonly number[]): number[] {
  const order = Array.from(values.keys()).sort((a, b) => (values[a] ?? 0) - (values[b] ?? 0));
  const ranks = new Array<number>(values.length).fill(0);
  for (let from = 0; from < order.length; ) {
    let to = from;
    while (to + 1 < order.length && values[order[to + 1] ?? 0] === values[order[from] ?? 0]) to += 1;
    for (let k = from; k <= to; k += 1) ranks[order[k] ?? 0] = (from + to) / 2 + 1;
    from = to + 1;
  }
  return ranks;
}
