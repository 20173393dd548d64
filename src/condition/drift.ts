// A daily figure against what was learned of it: drift by EWMA and CUSUM over days, ragged readings by their spread.
import { DAY_MS, type InstantMs } from '../units/index.ts';
import { CUSUM_START, type CusumState, cusumStep, ewmaStep, median, spreadOf } from './stats/index.ts';

export type DayValue = { readonly day: number; readonly value: number; readonly spread: number };

/** What is usual, learned from the first days after a service. */
export type Signature = {
  readonly value: number;
  /** From day to day. */
  readonly sd: number;
  /** Within a day. */
  readonly spread: number;
  readonly learnedAt: InstantMs;
};

/** Plain data. */
export type DriftMemory = {
  days: DayValue[];
  signature: Signature | null;
  level: number | null;
  ragged: number | null;
  cusum: CusumState;
  /** Day on which the higher of the two sums last left zero. */
  highFrom: number | null;
  lowFrom: number | null;
};

export const newDrift = (): DriftMemory => ({
  days: [],
  signature: null,
  level: null,
  ragged: null,
  cusum: CUSUM_START,
  highFrom: null,
  lowFrom: null,
});

export type DriftOptions = {
  readonly learnDays?: number;
  /** Least spread from day to day that is believed, as a share of the value. */
  readonly leastSd?: number;
  readonly lambda?: number;
  readonly cusumLimit?: number;
};

export type Drifted = {
  /** Level against the learned one, as a share of it. */
  readonly rel: number;
  /** In standard deviations from day to day. */
  readonly z: number;
  readonly level: number;
  /** Spread within the day against the learned one. */
  readonly spreadRatio: number;
  readonly signalled: boolean;
  /** When the drift began, by the CUSUM. */
  readonly since: InstantMs;
  readonly signature: Signature;
};

const KEPT_DAYS = 90;
const LEARN_DAYS = 5;
const SLACK_SD = 0.5;
/** One wild day counts for no more than this. */
const MOST_SD = 8;

/** Takes one day; null while the signature is still being learned. */
export function takeDay(memory: DriftMemory, day: DayValue, options: DriftOptions = {}): Drifted | null {
  const { learnDays = LEARN_DAYS, leastSd = 0.005, lambda = 0.3, cusumLimit = 8 } = options;
  memory.days.push(day);
  if (memory.days.length > KEPT_DAYS) memory.days.shift();
  const signature = memory.signature ?? learned(memory.days, learnDays, leastSd);
  if (signature === null) return null;
  memory.signature = signature;
  // The middle of three days: no single day moves it.
  const lately = memory.days.slice(-3);
  const value = median(lately.map((one) => one.value));
  const spread = median(lately.map((one) => one.spread));
  memory.level = ewmaStep(memory.level ?? signature.value, value, lambda);
  memory.ragged = ewmaStep(memory.ragged ?? signature.spread, spread, lambda);
  const z = Math.max(-MOST_SD, Math.min(MOST_SD, (value - signature.value) / signature.sd));
  memory.cusum = cusumStep(memory.cusum, z, 0, SLACK_SD);
  memory.highFrom = memory.cusum.high === 0 ? null : (memory.highFrom ?? day.day);
  memory.lowFrom = memory.cusum.low === 0 ? null : (memory.lowFrom ?? day.day);
  const rel = memory.level / signature.value - 1;
  const isHigh = rel >= 0;
  const from = (isHigh ? memory.highFrom : memory.lowFrom) ?? day.day;
  return {
    rel,
    z,
    level: memory.level,
    spreadRatio: memory.ragged / signature.spread,
    signalled: (isHigh ? memory.cusum.high : memory.cusum.low) > cusumLimit,
    since: from * DAY_MS,
    signature,
  };
}

function learned(days: readonly DayValue[], learnDays: number, leastSd: number): Signature | null {
  const last = days.at(-1);
  if (days.length < learnDays || last === undefined) return null;
  const { median: value, sd } = spreadOf(days.map((one) => one.value));
  const floor = Math.max(leastSd * Math.abs(value), 1e-6);
  const spread = Math.max(median(days.map((one) => one.spread)), 0.003 * Math.abs(value), 1e-6);
  return { value, sd: Math.max(sd, floor), spread, learnedAt: (last.day + 1) * DAY_MS };
}
