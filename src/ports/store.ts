import type { CounterState, ResetEntry, Slice } from '../count/index.ts';
import type { CounterId, EntityId, Measure, PartId, PartLife } from '../model/index.ts';
import type { JournalEntry, JournalRow } from '../record/index.ts';
import type { InstantMs } from '../units/index.ts';

/** What one batch of observations did, written in one transaction: all of it or nothing. */
export type CountCommit = {
  readonly states: readonly CounterState[];
  readonly slices: readonly Slice[];
  readonly resets: readonly ResetEntry[];
  /** Up to where each entity has been taken; from here history is asked again. */
  readonly cursors: ReadonlyMap<EntityId, InstantMs>;
};

export type StorePort = {
  counterStates(): ReadonlyMap<CounterId, CounterState>;
  cursors(): ReadonlyMap<EntityId, InstantMs>;
  commitCounts(commit: CountCommit): void;
  /** Slices of a counter from `from` on, oldest first. */
  slices(counter: CounterId, measure: Measure, from: InstantMs): readonly Slice[];
  resets(counter: CounterId): readonly ResetEntry[];
  /** Appends with full sync before returning: what is returned is on disk. */
  append(entry: JournalEntry): JournalRow;
  journal(kinds: readonly JournalEntry['kind'][], afterSeq?: number): readonly JournalRow[];
  lives(): readonly PartLife[];
  /** The new life and the one it ended (null: nobody had said when that began), with the journal entry, in one transaction. */
  putLife(life: PartLife, entry: JournalEntry, ended: PartLife | null): void;
  setting(key: string): string | null;
  putSetting(key: string, value: string): void;
  close(): void;
};

export type { PartId };
