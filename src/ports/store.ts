import type { CounterState, Doubt, ResetEntry, Slice } from '../count/index.ts';
import type {
  AnsweredQuestion,
  CounterId,
  CounterSource,
  EntityId,
  Measure,
  PartId,
  PartLife,
  Question,
} from '../model/index.ts';
import type { MinutePower, MinuteState } from '../observe/index.ts';
import type { JournalEntry, JournalRow } from '../record/index.ts';
import type { InstantMs } from '../units/index.ts';

/** Minutes of one entity that have ended, in order of time. Parts of one minute do not add up: each is given once. */
export type MinuteCommit = {
  readonly entity: EntityId;
  readonly minutes: readonly MinutePower[];
  /** The accumulator's memory, to go on from after a restart. */
  readonly state?: MinuteState;
};

/** What one batch of observations did, written in one transaction: all of it or nothing. */
export type CountCommit = {
  readonly states: readonly CounterState[];
  readonly slices: readonly Slice[];
  readonly resets: readonly ResetEntry[];
  /** Up to where each entity has been taken; from here history is asked again. */
  readonly cursors: ReadonlyMap<EntityId, InstantMs>;
  /** The hub's clock was set: the cursors go where they are told, also back. */
  readonly clockSet?: boolean;
  readonly minutes?: readonly MinuteCommit[];
  readonly doubts?: readonly Doubt[];
  readonly questions?: readonly Question[];
  /** A report is not kept waiting: packing what is over is left to `tidy`. */
  readonly isLive?: boolean;
};

export type Answer = NonNullable<AnsweredQuestion['answer']>;

/** What fed a counter from a moment on. */
export type SourceEntry = {
  readonly counter: CounterId;
  readonly from: InstantMs;
  /** Null: nothing from here on. */
  readonly source: CounterSource | null;
  /** `replace`: the same device on another plug. `move`: another device. `rename`: the same entity under another name. */
  readonly how: 'first' | 'replace' | 'move' | 'rename' | 'edit';
  readonly by: string;
};

export type StorePort = {
  counterStates(): ReadonlyMap<CounterId, CounterState>;
  cursors(): ReadonlyMap<EntityId, InstantMs>;
  commitCounts(commit: CountCommit): void;
  /** Slices of a counter from `from` on, oldest first. */
  slices(counter: CounterId, measure: Measure, from: InstantMs): readonly Slice[];
  resets(counter: CounterId): readonly ResetEntry[];
  /** Readings not taken at their word, oldest first. */
  doubts(counter: CounterId): readonly Doubt[];
  /**
   * Minutes of power that begin in [from, to), oldest first; minutes of which nothing is known are left out. Kept to steps
   * of 0.05 W below 12.8 W and of less than 0.8 % above: least rounded down, most rounded up, mean to the nearest.
   */
  minutePower(entity: EntityId, from: InstantMs, to: InstantMs): readonly MinutePower[];
  minuteStates(): ReadonlyMap<EntityId, MinuteState>;
  /** Minutes alone, e.g. of a past that was counted before they were kept. */
  commitMinutes(minutes: readonly MinuteCommit[]): void;
  /** Open questions, oldest first; with `all` also the answered ones. */
  questions(which?: 'open' | 'all'): readonly AnsweredQuestion[];
  /** False where one of that id is open already; the same doubt is put once. */
  putQuestion(question: Question): boolean;
  /** False where none of that id is open. */
  answerQuestion(id: string, answer: Answer): boolean;
  /** What fed a counter, oldest first. */
  sources(counter: CounterId): readonly SourceEntry[];
  putSource(entry: SourceEntry): void;
  /** Appends with full sync before returning: what is returned is on disk. */
  append(entry: JournalEntry): JournalRow;
  journal(kinds: readonly JournalEntry['kind'][], afterSeq?: number): readonly JournalRow[];
  lives(): readonly PartLife[];
  /** The new life and the one it ended (null: nobody had said when that began), with the journal entry, in one transaction. */
  putLife(life: PartLife, entry: JournalEntry, ended: PartLife | null): void;
  /** Packs a day of one meter and the weeks of one counter where they are over: a small piece, to be asked for often. */
  tidy(): void;
  setting(key: string): string | null;
  putSetting(key: string, value: string): void;
  close(): void;
};

export type { AnsweredQuestion, PartId, Question };
