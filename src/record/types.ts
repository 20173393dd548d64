import type { Bounds, CounterId, EquipmentId, Measure, PartId, PartLife, PartPiece } from '../model/index.ts';
import type { Programme } from '../procedure/acclimation/index.ts';
import type { AfterWatch } from '../procedure/guards/index.ts';
import type { SessionEvent } from '../procedure/index.ts';
import type { StandingWord } from '../remind/index.ts';
import type { InstantMs } from '../units/index.ts';

/**
 * Journal entries: append-only, versioned, replayed after a start. `v` is the shape's version; a reader knows every
 * version ever shipped. Session events are stored before their effects go out.
 */
export type JournalEntry =
  | {
      readonly v: 1;
      readonly kind: 'session-event';
      readonly at: InstantMs;
      readonly session: string;
      readonly event: SessionEvent;
    }
  | {
      readonly v: 1;
      readonly kind: 'part-fitted';
      readonly at: InstantMs;
      readonly part: PartId;
      readonly life: number;
      readonly fittedAt: InstantMs;
      readonly by: string;
      readonly note: string;
      /** The old one was found worn out. */
      readonly worn?: true;
      readonly usageAtRemoval: Readonly<Partial<Record<Measure, Bounds>>>;
      readonly baseline: Readonly<Record<CounterId, Readonly<Partial<Record<Measure, Bounds>>>>>;
    }
  | {
      readonly v: 1;
      readonly kind: 'put-off';
      readonly at: InstantMs;
      readonly part: PartId;
      readonly until: InstantMs;
      readonly by: string;
    }
  | {
      readonly v: 1;
      readonly kind: 'reminder';
      readonly at: InstantMs;
      readonly key: string;
      readonly change: 'sending' | 'raised' | 'cleared';
      readonly token: string;
      /** What was told of which part, so that the same change is not told again; `reminderEntry` fills these in. */
      readonly part?: PartId;
      readonly life?: number;
      readonly word?: StandingWord;
    }
  | {
      readonly v: 1;
      readonly kind: 'reading';
      readonly at: InstantMs;
      readonly what: string;
      readonly value: number;
      readonly unit: string;
      readonly by: string;
    }
  | { readonly v: 1; readonly kind: 'note'; readonly at: InstantMs; readonly text: string }
  | PieceFitted
  | SpareFitted
  | PartUndone
  | Seeded
  | Recounted
  | Answered
  | LimitSet
  | GuardChange
  | AfterWatchChange
  | AcclimationChange;

type Amounts = Readonly<Partial<Record<Measure, Bounds>>>;

/** A keeper agreed to another limit than the configuration's, or went back to that. */
export type LimitSet = {
  readonly v: 1;
  readonly kind: 'limit-set';
  readonly at: InstantMs;
  readonly part: PartId;
  readonly measure: Measure;
  readonly change: 'accepted' | 'given-back';
  readonly amount: number;
  readonly before: number;
  readonly configured: number;
  readonly by: string;
  readonly why: string;
};

/** Some of the pieces of a set were replaced. */
export type PieceFitted = {
  readonly v: 1;
  readonly kind: 'piece-fitted';
  readonly at: InstantMs;
  readonly part: PartId;
  /** The set's life afterwards: a new one where none of the oldest pieces is left. */
  readonly life: number;
  readonly fittedAt: InstantMs;
  readonly by: string;
  readonly note: string;
  readonly worn?: true;
  /** The pieces that went, with what each had. */
  readonly removed: readonly (PartPiece & { readonly usage: Amounts })[];
  readonly before: PartLife;
};

/** A rotable spare took over from the one that was in. */
export type SpareFitted = {
  readonly v: 1;
  readonly kind: 'spare-fitted';
  readonly at: InstantMs;
  readonly part: PartId;
  readonly life: number;
  readonly fittedAt: InstantMs;
  readonly by: string;
  readonly note: string;
  readonly spare: string;
  readonly worn?: true;
  /** What it brought along from its earlier stints; nothing for one that is new or was overhauled. */
  readonly carried: Amounts;
  readonly removed: string | null;
  readonly usageAtRemoval: Amounts;
  readonly baseline: NonNullable<PartLife['baseline']>;
};

/** A "done" (or a seeding, a recount) was taken back; the part is as it was before. */
export type PartUndone = {
  readonly v: 1;
  readonly kind: 'part-undone';
  readonly at: InstantMs;
  readonly part: PartId;
  /** The life that is in again; 0 where none was known. */
  readonly life: number;
  /** Journal entry that no longer counts. */
  readonly undoes: number;
  readonly by: string;
};

/** A past from before counting began, by a person's word or from what the hub still knows. */
export type Seeded = {
  readonly v: 1;
  readonly kind: 'seeded';
  readonly at: InstantMs;
  readonly part: PartId;
  readonly life: number;
  readonly fittedAt: InstantMs;
  readonly by: string;
  readonly note: string;
  readonly carried: NonNullable<PartLife['carried']>;
  readonly before: PartLife | null;
};

/** On-time counted again with another threshold, from the minutes of power that were kept. */
export type Recounted = {
  readonly v: 1;
  readonly kind: 'recounted';
  readonly at: InstantMs;
  readonly part: PartId;
  readonly life: number;
  readonly by: string;
  readonly measure: Measure;
  readonly thresholdW: number;
  readonly old: Bounds;
  readonly now: Bounds;
  readonly before: PartLife;
};

/** A doubtful amount of a meter was settled by a person. */
export type Answered = {
  readonly v: 1;
  readonly kind: 'answered';
  readonly at: InstantMs;
  readonly part: PartId;
  readonly life: number;
  readonly by: string;
  readonly question: string;
  readonly choice: string;
  readonly measure: Measure;
  readonly amount: number;
  readonly before: PartLife;
};

/** A guard latched, or a person reset it. What is latched after a restart follows from these alone. */
export type GuardChange = {
  readonly v: 1;
  readonly kind: 'guard';
  readonly at: InstantMs;
  readonly change: 'latched' | 'reset';
  readonly guard: string;
  /** What it holds off. */
  readonly equipment: readonly EquipmentId[];
  /** The reason of the latch, or the reset's note. */
  readonly text: string;
  readonly by: string;
};

/** What is looked at after a session, and what came of it. */
export type AfterWatchChange = {
  readonly v: 1;
  readonly kind: 'after-watch';
  readonly at: InstantMs;
  readonly change: 'began' | 'ended';
  readonly session: string;
  readonly text: string;
  /** As it began, or as it ended. */
  readonly watch: AfterWatch;
};

/** The light programme of a new lamp set, whole, as it stood after each change. What runs after a restart follows from these. */
export type AcclimationChange = {
  readonly v: 1;
  readonly kind: 'acclimation';
  readonly at: InstantMs;
  readonly change: 'started' | 'kept' | 'ended';
  readonly lamp: EquipmentId;
  readonly programme: Programme;
};

export type JournalRow = { readonly seq: number; readonly entry: JournalEntry };
