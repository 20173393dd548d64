import {
  cusum,
  ewma,
  ewmaLimits,
  individualsChart,
  lambdaOf,
  levelShift,
  mannKendall,
  normalCdf,
  normalQuantile,
  pettitt,
  quantileOf,
  spreadOf,
  theilSen,
} from '../../src/condition/index.ts';
import type { Solvers } from './types.ts';

type Series = { readonly x: readonly number[] };
type Chart = { readonly sigma: number; readonly L: number; readonly lambda: number; readonly target: number };

const places = (y: readonly number[]): number[] => Array.from(y.keys());

/** The least and the most of a Theil-Sen slope with the test of its sign. */
const trendOf = (y: readonly number[], correction: 'none' | 'hamed-rao') => {
  const line = theilSen(places(y), y);
  if (line === null) throw new Error('no line');
  return { ...mannKendall(y, { correction }), slope: line.slope, low: line.low, high: line.high };
};

export const solvers: Solvers = {
  'mann-kendall': ({ y }: { readonly y: readonly number[] }) => trendOf(y, 'none'),
  'mann-kendall-autocorrelated': ({ y }: { readonly y: readonly number[] }) => trendOf(y, 'hamed-rao'),
  'theil-sen': ({ x, y }: { readonly x: readonly number[]; readonly y: readonly number[] }) => theilSen(x, y),
  cusum: ({ x, target, k, h }: Series & { readonly target: number; readonly k: number; readonly h: number }) => {
    const { high, low, signals } = cusum(x, { target, slack: k, limit: h });
    return { high, low, signals: signals.map((place) => place + 1) };
  },
  ewma: ({ x, lambda, target }: Series & { readonly lambda: number; readonly target: number }) =>
    ewma(x, lambda, target),
  'ewma-limits': ({ sigma, L, lambda, target }: Chart) => ewmaLimits({ target, sd: sigma, lambda, width: L }),
  'ewma-limits-growing': ({ sigma, L, lambda, target, i }: Chart & { readonly i: readonly number[] }) =>
    i.map((count) => ewmaLimits({ target, sd: sigma, lambda, width: L, count }).upper),
  'ewma-half-life': ({ halfLife, dt }: { readonly halfLife: number; readonly dt: number }) => lambdaOf(halfLife, dt),
  quantiles: ({ x, p, method }: Series & { readonly p: readonly number[]; readonly method: 'R6' | 'R7' | 'R8' }) => {
    const sorted = [...x].sort((a, b) => a - b);
    return p.map((one) => quantileOf(sorted, one, method));
  },
  spread: ({ x }: Series) => spreadOf(x),
  individuals: ({ x }: Series) => individualsChart(x),
  'level-shift': ({ y }: { readonly y: readonly number[] }) => levelShift(y),
  pettitt: ({ y }: { readonly y: readonly number[] }) => pettitt(y),
  'normal-cdf': ({ z }: { readonly z: readonly number[] }) => z.map(normalCdf),
  'normal-quantile': ({ p }: { readonly p: readonly number[] }) => p.map(normalQuantile),
};
