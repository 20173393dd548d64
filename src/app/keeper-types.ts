import type { ResetEntry } from '../count/index.ts';
import type { Actor, AnsweredQuestion, Bounds, CounterId, EntityId, Measure, PartId, Usage } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import type { PartUsage } from './types.ts';

/** How a part was replaced or serviced. Without any of these: all of it, now. */
export type HowFitted = {
  readonly at?: InstantMs;
  readonly note?: string;
  /** So many of the oldest pieces, or those at these places. */
  readonly pieces?: number;
  readonly places?: readonly number[];
  /** The rotable spare that went in. */
  readonly with?: string;
  /** It is new or was overhauled and begins at zero. */
  readonly asNew?: boolean;
  /** What came out was found worn out: limits are learned from it. */
  readonly worn?: boolean;
};

/** One limit of a part, and what past lives say of it. Amounts in `unit`. */
export type LimitView = {
  readonly part: PartId;
  readonly name: string;
  readonly measure: Measure;
  readonly unit: string;
  readonly configured: number;
  /** What standings go by: the configuration's, or one that a person accepted. */
  readonly inForce: number;
  readonly acceptedBy: string | null;
  readonly acceptedAt: InstantMs | null;
  readonly safety: boolean;
  /** Lives that were looked at, the present ones included, and how many of them were found worn out. */
  readonly lives: number;
  readonly worn: number;
  /** What nine of ten like these last; null where nothing can be learned. */
  readonly learned: number | null;
  /** Waits for a person's consent; null = stays as it is. */
  readonly proposed: number | null;
  readonly why: string;
};

export type PastOfPart = {
  readonly fittedAt: InstantMs;
  /** What is on it now by the keeper's word, in the unit of each measure. */
  readonly used?: Readonly<Partial<Record<Measure, Bounds>>>;
  readonly note?: string;
};

export type RecountView = {
  readonly part: PartId;
  readonly name: string;
  readonly measure: Measure;
  readonly unit: string;
  readonly thresholdW: number;
  readonly old: Bounds;
  readonly now: Bounds;
  readonly keptMinutes: number;
  readonly allMinutes: number;
  /** The new figure is in force. */
  readonly taken: boolean;
};

export const PERIODS = ['today', 'week', 'month', 'service', 'lifetime'] as const;
export type Period = (typeof PERIODS)[number];

/** Use within a period, whichever part was in at the time; `service` is the present life, `lifetime` all that was counted. */
export type PeriodUsage = {
  readonly part: PartId;
  readonly name: string;
  readonly period: Period;
  /** Null = nobody knows when it began. */
  readonly from: InstantMs | null;
  readonly measures: readonly (Usage & { readonly unit: string })[];
};

export type SourceView = {
  readonly counter: CounterId;
  readonly from: InstantMs;
  readonly entity: EntityId | null;
  readonly how: string;
  readonly by: string;
};

export type ResetView = ResetEntry & { readonly name: string; readonly unit: string };

/** What the service knows of itself. */
export type StatusDetails = {
  /** How far the hub's clock is ahead of ours. */
  readonly clockSkewMs: number | null;
  /** The longest absence that the hub's history bridges; null = it has not told. */
  readonly bridgeableMs: number | null;
  /** The earliest moment any counter counts from. */
  readonly countingSince: InstantMs | null;
  readonly openQuestions: number;
  /** What sessions left out of service and nobody has seen back. */
  readonly leftOut: readonly {
    readonly equipment: string;
    readonly name: string;
    readonly since: InstantMs;
    /** Hub entity that was suspended for it and not given back. */
    readonly driver?: string;
  }[];
  /** Where counters read something else than the configuration says. */
  readonly warnings: readonly string[];
  readonly version: string;
};

/** What a keeper does to the record, beside what `AppFace` had from the first. */
export type KeeperFace = {
  fitted(part: PartId, by: Actor, how: HowFitted): Promise<PartUsage>;
  /** Takes the latest of what was recorded for the part back; `what` says it in words. */
  undo(part: PartId, by: Actor): Promise<{ readonly usage: PartUsage; readonly what: string }>;
  seed(part: PartId, by: Actor, past: PastOfPart): Promise<PartUsage>;
  limits(part: PartId): readonly LimitView[];
  /** Takes what is proposed, or goes back to the configuration; `measure` where several limits could be meant. */
  setLimit(
    part: PartId,
    by: Actor,
    change: 'accepted' | 'given-back',
    measure?: Measure,
  ): Promise<readonly LimitView[]>;
  /** `take` puts the new figure in force; without it both are only shown. */
  recount(part: PartId, by: Actor, thresholdW: number, take: boolean): Promise<RecountView>;
  changeSource(
    name: CounterId,
    by: Actor,
    change: { readonly how: 'replace' | 'move'; readonly entity: EntityId },
  ): Promise<readonly SourceView[]>;
  questions(all: boolean): readonly AnsweredQuestion[];
  answer(question: string, by: Actor, choice: string): Promise<AnsweredQuestion>;
  resets(): readonly ResetView[];
  usageIn(period: Period): readonly PeriodUsage[];
};
