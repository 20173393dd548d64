import { type DurationMs, type InstantMs, MINUTE_MS } from '../units/index.ts';
import type { Observation } from './types.ts';

/**
 * One minute of a power reading, each value held until the next: least, mean and most of the time in which it was known.
 * `knownMs` is that time; where it is less than a minute, the rest of the minute proves nothing.
 */
export type MinutePower = {
  /** Start of the minute, UTC. */
  readonly minute: InstantMs;
  readonly knownMs: DurationMs;
  readonly minW: number;
  readonly meanW: number;
  readonly maxW: number;
};

/**
 * Memory of one entity between observations: plain data, safe to store as JSON. Like a counter it advances on observations
 * alone, so batches, duplicates and restarts cannot alter what comes out.
 */
export type MinuteState = {
  /** What is held; null = not known. */
  readonly watts: number | null;
  /** `at` of the newest observation taken; older or equal ones are duplicates. Null before the first. */
  readonly at: InstantMs | null;
  /** The minute `at` lies in, as far as it is known: time, whole microjoules, least and most. */
  readonly knownMs: DurationMs;
  readonly microjoules: number;
  readonly minW: number;
  readonly maxW: number;
};

export type MinuteOptions = {
  /** A reading older than this proves nothing any more; default: held until the next. */
  readonly maxHoldMs?: DurationMs;
};

export type MinutesTaken = { readonly state: MinuteState; readonly minutes: readonly MinutePower[] };

const NOTHING = { knownMs: 0, microjoules: 0, minW: 0, maxW: 0 };

export const initialMinutes: MinuteState = { watts: null, at: null, ...NOTHING };

type Sum = { knownMs: number; microjoules: number; minW: number; maxW: number };

const minuteOf = (at: InstantMs): InstantMs => at - (at % MINUTE_MS);

function hold(sum: Sum, watts: number, ms: DurationMs): void {
  sum.minW = sum.knownMs === 0 ? watts : Math.min(sum.minW, watts);
  sum.maxW = sum.knownMs === 0 ? watts : Math.max(sum.maxW, watts);
  sum.knownMs += ms;
  sum.microjoules += Math.round(watts * 1000) * ms;
}

function finished(minute: InstantMs, { knownMs, microjoules, minW, maxW }: Sum): MinutePower {
  // The mean of whole milliwatts may fall outside readings finer than that.
  const meanW = Math.min(maxW, Math.max(minW, microjoules / (1000 * knownMs)));
  return { minute, knownMs, minW, meanW, maxW };
}

/** Holds `watts` from `from` to `to` and closes every minute that ends by then; what is left stays in `sum`. */
function pass(
  sum: Sum,
  watts: number | null,
  from: InstantMs,
  heldUntil: InstantMs,
  to: InstantMs,
  out: MinutePower[],
): void {
  let start = from;
  while (start < to) {
    // Long unknown stretches have no minutes to tell of.
    if (sum.knownMs === 0 && (watts === null || start >= heldUntil)) return;
    const minute = minuteOf(start);
    const end = Math.min(to, minute + MINUTE_MS);
    const known = watts === null ? 0 : Math.min(end, heldUntil) - start;
    if (watts !== null && known > 0) hold(sum, watts, known);
    if (end === minute + MINUTE_MS) {
      if (sum.knownMs > 0) out.push(finished(minute, sum));
      Object.assign(sum, NOTHING);
    }
    start = end;
  }
}

/** Takes observations of one entity in order of time; gives the minutes that ended with them. Gaps are unknown, never zero. */
export function takeMinutes(
  state: MinuteState,
  observations: Iterable<Pick<Observation, 'at' | 'value'>>,
  { maxHoldMs = Number.MAX_SAFE_INTEGER }: MinuteOptions = {},
): MinutesTaken {
  const minutes: MinutePower[] = [];
  const sum: Sum = {
    knownMs: state.knownMs,
    microjoules: state.microjoules,
    minW: state.minW,
    maxW: state.maxW,
  };
  let { watts, at } = state;
  for (const next of observations) {
    if (at !== null) {
      if (next.at <= at) continue;
      pass(sum, watts, at, at + maxHoldMs, next.at, minutes);
    }
    at = next.at;
    // A plug reads a little below zero when idle; nothing here feeds power back.
    watts = next.value === null ? null : Math.max(0, next.value);
  }
  return { state: { watts, at, ...sum }, minutes };
}
