import type { Bounds, CounterDef, CounterId, Measure, Origin } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';

/**
 * State of one counter's fold. Plain data, safe to store as JSON. It advances on observations alone; what has passed
 * since the last one is added by `project`, which changes nothing, so batches and restarts cannot alter the result.
 */
export type CounterState = {
  readonly id: CounterId;
  readonly amounts: Readonly<Partial<Record<Measure, Bounds>>>;
  readonly countingSince: InstantMs | null;
  /** `at` of the newest observation taken; older or equal ones are duplicates. */
  readonly lastAt: InstantMs | null;
  /** Fold-internal memory (level, pending edge, last valid reading …). */
  readonly memory: Readonly<Record<string, number | null>>;
};

/** What a fold adds to the hour starting at `hour` (UTC), by origin: the material of `usage --why` and of back-dating. */
export type Slice = {
  readonly counter: CounterId;
  readonly measure: Measure;
  readonly hour: InstantMs;
  readonly origin: Origin;
  readonly add: Bounds;
};

/** A fall of a total that was taken as a reset, with before and after. */
export type ResetEntry = {
  readonly counter: CounterId;
  readonly at: InstantMs;
  readonly before: number;
  readonly after: number;
};

export type FoldResult = {
  readonly states: ReadonlyMap<CounterId, CounterState>;
  readonly slices: readonly Slice[];
  readonly resets: readonly ResetEntry[];
};

export type CounterSet = readonly CounterDef[];
