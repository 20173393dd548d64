import { mannKendall, median, theilSen } from '../condition/index.ts';
import type { InstantMs } from '../units/index.ts';
import { DAY_MS } from '../units/index.ts';
import { HORIZON_MS } from './daily-use.ts';
import { passedWithin } from './first-passage.ts';
import type { Foreseen } from './reach.ts';

export type TrendInput = {
  /** One value a day, oldest first, the last of today: a pump's steady watts, a share of rejection. No gaps. */
  readonly values: readonly number[];
  /** The value at which the part is due, on either side. */
  readonly limit: number;
  readonly now: InstantMs;
};

/** Fewer days show no trend that can be told from chance. */
const LEAST_DAYS = 14;
/** Older days say little of the present trend, and all pairs of days are compared. */
const MOST_DAYS = 180;
/** The present level is the median of so many days. */
const LEVEL_DAYS = 7;
const LAGS = [5, 10, 20];
/** The wander itself is known from few days: so much wider is its part of the slope's doubt, from other drifts than those tested. */
const WALK_DOUBT = 1.2;
const LEAST_WANDER = 0.05;
/** Points at which the slope's own doubt is taken: middles of eight equal shares of a normal. */
const DOUBT = [-1.5341, -0.8871, -0.4888, -0.1573, 0.1573, 0.4888, 0.8871, 1.5341];
/** The same for the present level: middles of three equal shares. */
const NEAR = [-0.9674, 0, 0.9674];
const HORIZON_DAYS = HORIZON_MS / DAY_MS;

/**
 * When a monitored value reaches its limit: a robust line gives the drift, the scatter about it how far the value wanders
 * by itself, and first-passage times both together, with the doubt about the line's slope. Null where no trend leads
 * there: a level that only scatters gets no date.
 */
export function conditionReach({ values, limit, now }: TrendInput): Foreseen | null {
  const y = values.slice(-MOST_DAYS);
  if (y.length < LEAST_DAYS) return null;
  const days = Array.from(y.keys());
  const line = theilSen(days, y, CONFIDENCE);
  if (line === null || !isTrend(y)) return null;
  const recent = y.slice(-LEVEL_DAYS);
  const level = median(recent) + (line.slope * (recent.length - 1)) / 2;
  const way = Math.sign(limit - level);
  const restsOn = `from a trend over ${y.length} days`;
  if (way === 0 || Math.sign(limit - (y[0] ?? level)) !== way)
    return { reach: { early: now, likely: now, late: now }, restsOn };
  if (line.slope * way <= 0) return null;
  const { wander, error: reading } = scatterOf(y, line.slope);
  // A value that walks drifts by chance, too: over so many days that alone makes a slope.
  const error = Math.hypot((line.high - line.low) / 2, (WALK_DOUBT * wander) / Math.sqrt(y.length));
  const distance = Math.abs(limit - level);
  const levelError = Math.sqrt((wander * wander * LEVEL_DAYS) / 3 + (reading * reading) / LEVEL_DAYS);
  const passed = (ahead: number): number => {
    let sum = 0;
    for (const z of DOUBT)
      for (const near of NEAR) {
        const drift = { distance: distance + near * levelError, perDay: way * (line.slope + z * error), wander };
        sum += drift.distance <= 0 ? 1 : passedWithin(drift, ahead);
      }
    return sum / (DOUBT.length * NEAR.length);
  };
  const at = (share: number): InstantMs => now + dayWhen(passed, share) * DAY_MS;
  return { reach: { early: at(0.1), likely: at(0.5), late: at(0.9) }, restsOn };
}

/** What successive days have in common makes a trend less sure; where they alternate, it is at least as sure as it looks. */
function isTrend(y: readonly number[]): boolean {
  const plain = mannKendall(y);
  if (plain.trend === 'no trend') return false;
  const corrected = mannKendall(y, { correction: 'hamed-rao' });
  return corrected.varS < plain.varS || corrected.trend !== 'no trend';
}

/** Of the slope's bounds, so that half their width is one standard error. */
const CONFIDENCE = 0.6827;

/**
 * What the value wanders in a day beside its trend, and the error of a reading: that is the same over one day and over many,
 * a walk grows with the days between.
 */
function scatterOf(y: readonly number[], slope: number): { readonly wander: number; readonly error: number } {
  const square = (lag: number): number => {
    const steps = y.slice(lag).map((value, index) => Math.abs(value - (y[index] ?? 0) - lag * slope));
    return (1.4826 * median(steps)) ** 2;
  };
  const walked = Math.max(
    ...LAGS.filter((lag) => 2 * lag < y.length).map((lag) => (square(lag) - square(1)) / (lag - 1)),
  );
  // A value that hardly walks still does not reach its limit to the minute.
  const least = Math.abs(slope) * LEAST_WANDER;
  const wander = Math.sqrt(Math.max(walked, least * least, 1e-18));
  return { wander, error: Math.sqrt(Math.max(0, square(1) - wander * wander) / 2) };
}

const HALVINGS = 60;

function dayWhen(passed: (days: number) => number, share: number): number {
  if (passed(HORIZON_DAYS) < share) return HORIZON_DAYS;
  let low = 0;
  let high = HORIZON_DAYS;
  for (let step = 0; step < HALVINGS && high - low > 1e-4; step += 1) {
    const middle = (low + high) / 2;
    if (passed(middle) < share) low = middle;
    else high = middle;
  }
  return high;
}
