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
  /** `worn`: a person found it worn out. Absent: ended in time, for all that is known. */
  readonly endedBy?: 'worn';
  /** Usage at removal, so that lives can be learned from. */
  readonly usageAtRemoval?: Readonly<Partial<Record<Measure, Bounds>>>;
  /**
   * What to take off the counters' amounts to get this life's usage. Where the counter was not being read at the moment
   * of fitting, `low` holds the most and `high` the least it can have been, so that the difference stays a true bound.
   * Absent where the fitting lies before counting began.
   */
  readonly baseline?: Readonly<Record<CounterId, Readonly<Partial<Record<Measure, Bounds>>>>>;
  /** What it had before the counters' share: earlier stints of a rotable spare, or a past that somebody vouched for. */
  readonly carried?: Readonly<Partial<Record<Measure, Carried>>>;
  /** Which of the part's rotable spares is in; absent = the first of them. */
  readonly spare?: string;
  /** Only of a set whose pieces are not all of one age. The life's own fields are then those of the oldest piece. */
  readonly pieces?: readonly PartPiece[];
  /** Taken back by a person: as if it had never begun. */
  readonly undone?: { readonly at: InstantMs; readonly by: string };
};

/** An amount brought along, up to a moment: the counters add to it from there on. */
export type Carried = Bounds & {
  /** Absent = up to the fitting. */
  readonly until?: InstantMs;
  /** Who or what vouches for it. */
  readonly origin?: Origin;
};

/** One of several alike (tubes of a lamp), where they were not all fitted together. */
export type PartPiece = {
  /** 1, 2, 3 … by its place. */
  readonly piece: number;
  readonly fittedAt: InstantMs;
  readonly fittedBy: string;
  /** The life of the set in which it was fitted; 1 = it came with the first set. */
  readonly life: number;
  readonly baseline?: NonNullable<PartLife['baseline']>;
  readonly carried?: NonNullable<PartLife['carried']>;
};
