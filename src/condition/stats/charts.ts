// Control charts: what has drifted or stepped away from a target, as values come in one by one.

/** One step of an exponentially weighted mean. */
export const ewmaStep = (before: number, value: number, lambda: number): number => before + lambda * (value - before);

/** Means after each value; the first rests on the target. */
export function ewma(values: readonly number[], lambda: number, target: number): number[] {
  let mean = target;
  return values.map((value) => {
    mean = ewmaStep(mean, value, lambda);
    return mean;
  });
}

/** Weight of a new value such that half of it is forgotten after `halfLife` steps of `dt`. */
export const lambdaOf = (halfLife: number, dt = 1): number => 1 - Math.exp((-Math.LN2 * dt) / halfLife);

export type ChartLimits = { readonly upper: number; readonly lower: number };

/** Limits of an EWMA chart `width` standard deviations wide; with `count`, those after so many values, else the final ones. */
export function ewmaLimits(chart: {
  readonly target: number;
  readonly sd: number;
  readonly lambda: number;
  readonly width: number;
  readonly count?: number;
}): ChartLimits {
  const { target, sd, lambda, width, count } = chart;
  const grown = count === undefined ? 1 : 1 - (1 - lambda) ** (2 * count);
  const reach = width * sd * Math.sqrt((lambda / (2 - lambda)) * grown);
  return { upper: target + reach, lower: target - reach };
}

/** Sums of what lies more than `slack` above and below the target, never below zero. Plain data. */
export type CusumState = { readonly high: number; readonly low: number };
export const CUSUM_START: CusumState = { high: 0, low: 0 };

export const cusumStep = ({ high, low }: CusumState, value: number, target: number, slack: number): CusumState => ({
  high: Math.max(0, high + value - target - slack),
  low: Math.max(0, low + target - slack - value),
});

export type Cusum = {
  readonly high: readonly number[];
  readonly low: readonly number[];
  /** 0-based places at which either sum is above the limit. */
  readonly signals: readonly number[];
};

/** Tabular CUSUM with slack k and decision limit h, both in the unit of the values. */
export function cusum(
  values: readonly number[],
  chart: { readonly target: number; readonly slack: number; readonly limit: number },
): Cusum {
  const { target, slack, limit } = chart;
  let state = CUSUM_START;
  const high: number[] = [];
  const low: number[] = [];
  const signals: number[] = [];
  for (const [i, value] of values.entries()) {
    state = cusumStep(state, value, target, slack);
    high.push(state.high);
    low.push(state.low);
    if (state.high > limit || state.low > limit) signals.push(i);
  }
  return { high, low, signals };
}
