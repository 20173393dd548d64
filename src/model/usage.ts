import type { InstantMs } from '../units/index.ts';
import type { Measure } from './roles.ts';
import type { CounterId, PartId } from './tank.ts';

/** Amount with bounds: low ≤ truth ≤ high; best is the single figure to show. */
export type Bounds = { readonly low: number; readonly best: number; readonly high: number };

export type Usage = Bounds & {
  readonly measure: Measure;
  /** Before this moment nothing was observed; null = never. */
  readonly countingSince: InstantMs | null;
};

export const ZERO: Bounds = { low: 0, best: 0, high: 0 };

/** Where a piece of knowledge came from. */
export const ORIGINS = ['live', 'history', 'statistics', 'person', 'assumed'] as const;
export type Origin = (typeof ORIGINS)[number];

/** A part fitted at some time and, later, taken out: the "back to birth" record. */
export type PartLife = {
  readonly part: PartId;
  /** 1, 2, 3 … */
  readonly number: number;
  readonly fittedAt: InstantMs;
  readonly fittedBy: string;
  readonly removedAt?: InstantMs;
  /** Usage at removal, so that lives can be learned from. */
  readonly usageAtRemoval?: Readonly<Partial<Record<Measure, Bounds>>>;
  /**
   * What to take off the counters' amounts to get this life's usage. Where the counter was not being read at the moment
   * of fitting, `low` holds the most and `high` the least it can have been, so that the difference stays a true bound.
   * Absent where the fitting lies before counting began.
   */
  readonly baseline?: Readonly<Record<CounterId, Readonly<Partial<Record<Measure, Bounds>>>>>;
};
