import { problem } from '../errors/index.ts';
import type { Actor, Part, PartId, PartLife } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { actorName, FROM_CONFIGURATION } from './lives.ts';
import type { JournalEntry, JournalRow, PartUndone } from './types.ts';

/** Entries that change which life a part is in, and can be taken back. */
export const LIFE_KINDS = ['part-fitted', 'piece-fitted', 'spare-fitted', 'seeded', 'recounted', 'answered'] as const;
export type LifeEntry = Extract<JournalEntry, { readonly kind: (typeof LIFE_KINDS)[number] }>;
type LifeRow = { readonly seq: number; readonly entry: LifeEntry };

const isLifeEntry = (entry: JournalEntry): entry is LifeEntry => (LIFE_KINDS as readonly string[]).includes(entry.kind);

/** What was done to a part and not taken back since, oldest first. */
export const standingEntries = (rows: readonly JournalRow[], part: PartId): readonly LifeRow[] => {
  let standing: LifeRow[] = [];
  for (const { seq, entry } of rows) {
    if (isLifeEntry(entry) && entry.part === part) standing.push({ seq, entry });
    if (entry.kind === 'part-undone' && entry.part === part)
      standing = standing.filter((row) => row.seq !== entry.undoes);
  }
  return standing;
};

export type UndoInput = {
  readonly part: Part;
  /** Of the kinds in LIFE_KINDS and 'part-undone'. */
  readonly rows: readonly JournalRow[];
  /** All stored lives of the part. */
  readonly stored: readonly PartLife[];
  readonly now: InstantMs;
  readonly by: Actor;
};

export type Undone = {
  /** As it must be stored: the life that no longer counts (marked), or the one that is as it was. */
  readonly life: PartLife;
  /** The one before, in again. */
  readonly restored: PartLife | null;
  readonly entry: PartUndone;
  readonly what: LifeEntry;
};

/** The latest of what was done to a part is taken back: the life before it goes on with all its usage. */
export const undoLatest = ({ part, rows, stored, now, by }: UndoInput): Undone => {
  const last = standingEntries(rows, part.id).at(-1);
  if (last === undefined) throw problem('SW-REC-010', { part: part.name });
  const { entry: what, seq } = last;
  const find = (number: number): PartLife | undefined =>
    stored.find((life) => life.part === part.id && life.number === number && life.undone === undefined);
  const begun = find(what.life);
  if (begun === undefined) throw problem('SW-REC-010', { part: part.name });
  const before = 'before' in what ? what.before : (reopened(find(what.life - 1)) ?? null);
  const undone = { at: now, by: actorName(by) };
  const isSame = before !== null && before.number === what.life;
  // A life that only the configuration speaks of is left to it again.
  const restored =
    before?.fittedBy === FROM_CONFIGURATION && before.pieces === undefined ? { ...before, undone } : before;
  return {
    life: isSame ? (restored ?? begun) : { ...begun, undone },
    restored: isSame ? null : restored,
    entry: { v: 1, kind: 'part-undone', at: now, part: part.id, life: before?.number ?? 0, undoes: seq, by: undone.by },
    what,
  };
};

const reopened = (life: PartLife | undefined): PartLife | undefined => {
  if (life === undefined) return undefined;
  const { removedAt: _at, usageAtRemoval: _usage, endedBy: _by, ...open } = life;
  return open;
};
