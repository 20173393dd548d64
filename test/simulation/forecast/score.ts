import { STEADINESS } from '../../../src/forecast/index.ts';
import { type Band, DAYS_AHEAD, type Foretold, quantile } from './backtest.ts';

/** A date within an hour of an edge lies on it. */
const EDGE_DAYS = 1 / 24;

export const within = ({ early, late }: Band, truth: number): boolean =>
  truth >= early - EDGE_DAYS && truth <= late + EDGE_DAYS;

export type Coverage = {
  readonly share: number;
  readonly low: number;
  readonly high: number;
  readonly forecasts: number;
};

/**
 * Share of dates inside their bands with a 95 % interval. Forecasts of one tank hang together, so the interval counts tanks:
 * the spread of the tanks' own sums about the whole.
 */
export function coverage(all: readonly Foretold[], of: (one: Foretold) => Band): Coverage {
  const tanks = new Map<string, { hits: number; count: number }>();
  let hits = 0;
  for (const one of all) {
    const tank = tanks.get(one.tank) ?? { hits: 0, count: 0 };
    const hit = within(of(one), one.truth) ? 1 : 0;
    hits += hit;
    tanks.set(one.tank, { hits: tank.hits + hit, count: tank.count + 1 });
  }
  const share = hits / all.length;
  let squares = 0;
  for (const tank of tanks.values()) squares += (tank.hits - share * tank.count) ** 2;
  const half = (1.96 * Math.sqrt((squares * tanks.size) / Math.max(1, tanks.size - 1))) / all.length;
  return { share, low: share - half, high: share + half, forecasts: all.length };
}

const mean = (list: readonly number[]): number => list.reduce((sum, one) => sum + one, 0) / list.length;
const median = (list: readonly number[]): number =>
  quantile(
    list.toSorted((a, b) => a - b),
    0.5,
  );

const width = ({ early, late }: Band): number => late - early;

/** Median distance between the likely date and the true one, for limits so many days ahead. */
const errors = (all: readonly Foretold[]) => ({
  ours: median(all.map((one) => Math.abs(one.ours.likely - one.truth))),
  weeklyBootstrap: median(all.map((one) => Math.abs(one.bootstrap.likely - one.truth))),
  overallMeanRate: median(all.map((one) => Math.abs(one.overallMean - one.truth))),
  lastSevenDays: median(all.map((one) => Math.abs(one.lastSeven - one.truth))),
});

type Widths = { readonly ours: number; readonly weeklyBootstrap: number; readonly bootstrapStretched: number };

/**
 * A bootstrap that covers less is narrower for nothing: for each time ahead its bands are stretched about their likely dates
 * by the one factor that makes them cover as many of these same dates as ours do. Knowing the answer, no other single factor
 * could be kinder to it.
 */
function stretched(all: readonly Foretold[]): readonly { readonly factor: number; readonly width: number }[] {
  return DAYS_AHEAD.flatMap((days) => {
    const part = all.filter((one) => one.truth === days);
    if (part.length === 0) return [];
    const needed = part.map(stretchNeeded).sort((a, b) => a - b);
    const factor = quantile(needed, coverage(part, (one) => one.ours).share);
    return part.map((one) => ({ factor, width: factor * width(one.bootstrap) }));
  });
}

/** By the mean, which a few far dates of ragged use decide, and by the median. */
function widths(all: readonly Foretold[]): { readonly mean: Widths; readonly median: Widths } {
  const own = {
    ours: all.map((one) => width(one.ours)),
    weeklyBootstrap: all.map((one) => width(one.bootstrap)),
    bootstrapStretched: stretched(all).map((one) => one.width),
  };
  const by = (of: (list: readonly number[]) => number): Widths => ({
    ours: of(own.ours),
    weeklyBootstrap: of(own.weeklyBootstrap),
    bootstrapStretched: of(own.bootstrapStretched),
  });
  return { mean: by(mean), median: by(median) };
}

function stretchNeeded({ bootstrap: { early, likely, late }, truth }: Foretold): number {
  const off = Math.abs(truth - likely);
  const side = truth < likely ? likely - early : late - likely;
  return off <= EDGE_DAYS ? 0 : side > 0 ? off / side : Number.MAX_VALUE;
}

function widestShare(all: readonly Foretold[]): number {
  const own = all.map((one) => width(one.ours)).sort((a, b) => b - a);
  const total = own.reduce((sum, one) => sum + one, 0);
  return own.slice(0, Math.round(own.length / 20)).reduce((sum, one) => sum + one, 0) / total;
}

export function score(all: readonly Foretold[]) {
  const ours = coverage(all, (one) => one.ours);
  const by = (key: (one: Foretold) => string | number, keys: readonly (string | number)[]) =>
    Object.fromEntries(
      keys.map((own) => {
        const part = all.filter((one) => key(one) === own);
        return [
          own,
          {
            ...{ forecasts: part.length, coverage: coverage(part, (one) => one.ours).share },
            bootstrapCoverage: coverage(part, (one) => one.bootstrap).share,
            ...{ widthDays: widths(part), errorDays: errors(part) },
          },
        ];
      }),
    );
  return {
    forecasts: all.length,
    tanks: new Set(all.map((one) => one.tank)).size,
    coverage: ours,
    bootstrapCoverage: coverage(all, (one) => one.bootstrap),
    widthDays: widths(all),
    bootstrapStretchedBy: mean(stretched(all).map(({ factor }) => factor)),
    /** Of all the days of width, those of the widest twentieth of the bands. */
    widestTwentieth: widestShare(all),
    byDaysAhead: by((one) => one.truth, DAYS_AHEAD),
    bySteadiness: by(
      (one) => one.steadiness,
      STEADINESS.map(({ name }) => name),
    ),
    bySetting: by((one) => one.setting, [...new Set(all.map((one) => one.setting))]),
  };
}
