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
  /** What the hours of the week usually are, packed; absent while nothing has been learned. */
  readonly habit?: string;
};

/**
 * What a fold adds to the hour starting at `hour` (UTC), by origin: the material of `usage --why` and of back-dating.
 * `add` is in grains (GRAINS_PER_UNIT), so that slices may be added up in any order without losing anything; turn them
 * into units with `usageSince`, `usageBetween` or `whyRows`. Adds to one hour and origin may come in several slices.
 */
export type Slice = {
  readonly counter: CounterId;
  readonly measure: Measure;
  readonly hour: InstantMs;
  readonly origin: Origin;
  readonly add: Bounds;
};

/** A fall of a total that was taken as a reset, with the readings before and after, as the meter gave them. */
export type ResetEntry = {
  readonly counter: CounterId;
  readonly at: InstantMs;
  readonly before: number;
  readonly after: number;
};

/**
 * - `fall-taken-back`: a sudden low reading was followed by one that went on from before it (a false zero)
 * - `reset-to-a-high-value`: a reset whose first reading is more than could have run up by then; left out of low and best
 * - `jump-too-fast`: a rise faster than the source can be that stayed; left out of low and best
 * - `jump-taken-back`: such a rise that was gone with the next reading; left out of everything
 * - `negative`: a reading below zero, left out
 */
export type DoubtKind = 'fall-taken-back' | 'reset-to-a-high-value' | 'jump-too-fast' | 'jump-taken-back' | 'negative';

/** A reading that was not taken at its word, with the readings before and after, as the meter gave them. */
export type Doubt = {
  readonly counter: CounterId;
  readonly kind: DoubtKind;
  readonly at: InstantMs;
  readonly before: number;
  readonly after: number;
};

export type FoldResult = {
  readonly states: ReadonlyMap<CounterId, CounterState>;
  readonly slices: readonly Slice[];
  readonly resets: readonly ResetEntry[];
  readonly doubts: readonly Doubt[];
  /** Observations older than the newest one taken of their entity: asked again after an absence, or out of order. Dropped. */
  readonly late: number;
};

export type CounterSet = readonly CounterDef[];
