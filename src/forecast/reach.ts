import type { Bounds } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { DAY_MS } from '../units/index.ts';
import { type DailyRate, dailyRate, HORIZON_MS } from './daily-use.ts';

/** When a limit is, or was, reached: early ≤ likely ≤ late. */
export type Reach = { readonly early: InstantMs; readonly likely: InstantMs; readonly late: InstantMs };

type ReachInput = {
  readonly used: Bounds;
  readonly limit: number;
  readonly now: InstantMs;
  /** Last days' use, oldest first; see `dailyUseOf`. */
  readonly dailyUse: readonly number[];
  /** The limit can't have been reached before, e.g. the moment of fitting. */
  readonly notBefore?: InstantMs;
};

/** Time to pass `amount` at `perDay`; never longer than the horizon, also where nothing is used at all. */
const timeFor = (amount: number, perDay: number): number =>
  perDay <= 0 ? (amount <= 0 ? 0 : HORIZON_MS) : Math.min(HORIZON_MS, (amount / perDay) * DAY_MS);

/**
 * Early rests on the upper bound of use and the busy weeks, late on the lower bound and the quiet ones. A limit not yet
 * reached by the best figure is never dated into the past; one that is reached is dated back by the same rates. Null
 * where no rate is known, or nothing was used lately and so no date can be named.
 */
export const reachWhen = (input: ReachInput): Reach | null => {
  const rate = dailyRate(input.dailyUse);
  if (rate === null || rate.likely <= 0) return null;
  return reachAt(input, rate);
};

/** Calendar limits run at exactly one day a day. */
export const reachByAge = (input: Omit<ReachInput, 'dailyUse'>): Reach =>
  reachAt(input, { low: 1, likely: 1, high: 1 });

const reachAt = ({ used, limit, now, notBefore }: Omit<ReachInput, 'dailyUse'>, rate: DailyRate): Reach => {
  const ahead = (amount: number, perDay: number): InstantMs => now + timeFor(limit - amount, perDay);
  // Going back, a slow rate means longer ago.
  const ago = (amount: number, perDay: number): InstantMs =>
    Math.max(notBefore ?? Number.NEGATIVE_INFINITY, now - timeFor(amount - limit, perDay));
  const isReached = used.best >= limit;
  const likely = isReached ? ago(used.best, rate.likely) : ahead(used.best, rate.likely);
  const early = isReached ? ago(used.high, rate.low) : used.high >= limit ? now : ahead(used.high, rate.high);
  const late = isReached && used.low >= limit ? ago(used.low, rate.high) : ahead(used.low, rate.low);
  return { early: Math.min(early, likely), likely, late: Math.max(late, likely) };
};
