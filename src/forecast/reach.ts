import type { Bounds } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { DAY_MS, HOUR_MS } from '../units/index.ts';
import { type DailyRate, dailyRate, HORIZON_MS, RATE_DAYS } from './daily-use.ts';
import { restsOn } from './rests-on.ts';
import { type UseOutlook, useOutlook, type Which } from './use-outlook.ts';

/** When a limit is, or was, reached: early ≤ likely ≤ late; eight of ten limits lie between early and late. */
export type Reach = { readonly early: InstantMs; readonly likely: InstantMs; readonly late: InstantMs };

/** A reach, and in words what it rests on: "from 56 days of use". */
export type Foreseen = { readonly reach: Reach; readonly restsOn: string };

export type ReachInput = {
  readonly used: Bounds;
  readonly limit: number;
  readonly now: InstantMs;
  /** Last days' use, oldest first; see `dailyUseOf`. The more, the better the season is known. */
  readonly dailyUse: readonly number[];
  /** The limit can't have been reached before, e.g. the moment of fitting. */
  readonly notBefore?: InstantMs;
};

type Dated = Omit<ReachInput, 'dailyUse'>;

/** Time to pass `amount` at `perDay`; never longer than the horizon, also where nothing is used at all. */
const timeFor = (amount: number, perDay: number): number =>
  perDay <= 0 ? (amount <= 0 ? 0 : HORIZON_MS) : Math.min(HORIZON_MS, (amount / perDay) * DAY_MS);

/**
 * Early rests on the upper bound of use and the busy edge of what is expected, late on the lower bound and the quiet one. A
 * limit not yet reached by the best figure is never dated into the past; one that is reached is dated back by the rates of
 * the last weeks. Null where no rate is known, or nothing was used lately and so no date can be named.
 */
export const foresee = (input: ReachInput): Foreseen | null => {
  const rate = dailyRate(input.dailyUse.slice(-RATE_DAYS));
  if (rate === null || rate.likely <= 0) return null;
  const outlook = outlookOf(input.dailyUse, input.now);
  return {
    reach: reachAt(input, rate, outlook),
    restsOn: restsOn(input.dailyUse.length, outlook, input.now),
  };
};

export const reachWhen = (input: ReachInput): Reach | null => foresee(input)?.reach ?? null;

/** Calendar limits run at exactly one day a day. */
export const reachByAge = (input: Dated): Reach => reachAt(input, { low: 1, likely: 1, high: 1 }, null);

const reachAt = ({ used, limit, now, notBefore }: Dated, rate: DailyRate, outlook: UseOutlook | null): Reach => {
  const plain: Readonly<Record<Which, number>> = { early: rate.high, likely: rate.likely, late: rate.low };
  const ahead = (amount: number, which: Which): InstantMs =>
    now +
    (outlook === null
      ? timeFor(limit - amount, plain[which])
      : Math.min(HORIZON_MS, outlook.timeFor(limit - amount, which)));
  // Going back, a slow rate means longer ago.
  const ago = (amount: number, perDay: number): InstantMs =>
    Math.max(notBefore ?? Number.NEGATIVE_INFINITY, now - timeFor(amount - limit, perDay));
  const isReached = used.best >= limit;
  const likely = isReached ? ago(used.best, rate.likely) : ahead(used.best, 'likely');
  const early = isReached ? ago(used.high, rate.low) : used.high >= limit ? now : ahead(used.high, 'early');
  const late = isReached && used.low >= limit ? ago(used.low, rate.high) : ahead(used.low, 'late');
  return { early: Math.min(early, likely), likely, late: Math.max(late, likely) };
};

/** Of each list of days the outlook is worked out once: several limits and every review ask for the same. */
const KNOWN = new WeakMap<readonly number[], { readonly endsAt: InstantMs; readonly outlook: UseOutlook | null }>();

const outlookOf = (dailyUse: readonly number[], now: InstantMs): UseOutlook | null => {
  const endsAt = now - (now % HOUR_MS);
  const known = KNOWN.get(dailyUse);
  if (known?.endsAt === endsAt) return known.outlook;
  const outlook = useOutlook(dailyUse, endsAt);
  KNOWN.set(dailyUse, { endsAt, outlook });
  return outlook;
};
