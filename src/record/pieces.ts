import { problem } from '../errors/index.ts';
import type { Actor, Part, PartLife, PartPiece, Usage } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { actorName, checkDate, removedUsage } from './lives.ts';
import type { PieceFitted } from './types.ts';
import { baselineOf, lifeUsage, type UsageSources } from './usage.ts';

/** Which pieces were replaced: so many of the oldest, or those at these places. */
export type WhichPieces = { readonly count: number } | { readonly places: readonly number[] };

export type FitPiecesInput = {
  readonly part: Part;
  readonly present: PartLife | null;
  readonly which: WhichPieces;
  readonly now: InstantMs;
  readonly fittedAt?: InstantMs;
  readonly by: Actor;
  readonly note?: string;
  readonly sources: UsageSources;
};

export type PiecesFitted = {
  readonly life: PartLife;
  /** The set's life that is over because none of its oldest pieces is left; null = the set goes on. */
  readonly ended: PartLife | null;
  readonly entry: PieceFitted;
};

/** Every piece of the set in that life, by place. */
export const piecesOf = (part: Part, life: PartLife): readonly PartPiece[] =>
  life.pieces ?? Array.from({ length: part.pieces }, (_, index) => pieceOfSet(life, index + 1));

const pieceOfSet = ({ fittedAt, fittedBy, number, baseline, carried }: PartLife, piece: number): PartPiece => ({
  piece,
  fittedAt,
  fittedBy,
  life: number,
  ...(baseline === undefined ? {} : { baseline }),
  ...(carried === undefined ? {} : { carried }),
});

const lifeOfPiece = (part: Part, { piece: _, life, ...own }: PartPiece): PartLife => ({
  part: part.id,
  number: life,
  ...own,
});

const byAge = (a: PartPiece, b: PartPiece): number => a.fittedAt - b.fittedAt || a.piece - b.piece;

/** What each piece has on it; only for a set whose pieces differ. */
export const pieceUsages = (
  part: Part,
  life: PartLife | null,
  now: InstantMs,
  sources: UsageSources,
): readonly { readonly piece: number; readonly fittedAt: InstantMs; readonly usages: readonly Usage[] }[] =>
  (life?.pieces ?? []).map((piece) => ({
    piece: piece.piece,
    fittedAt: piece.fittedAt,
    usages: lifeUsage(part, lifeOfPiece(part, piece), now, sources),
  }));

/** The set as seen from outside: as old as its oldest piece. */
const lifeOfSet = (base: PartLife, number: number, pieces: readonly PartPiece[]): PartLife => {
  const [oldest] = [...pieces].sort(byAge);
  const { pieces: _pieces, carried: _carried, baseline: _baseline, ...rest } = base;
  if (oldest === undefined) return base;
  const { piece: _place, life: _life, ...own } = oldest;
  const alike = pieces.every((piece) => piece.fittedAt === oldest.fittedAt);
  return { ...rest, number, ...own, ...(alike ? {} : { pieces }) };
};

const chosen = (part: Part, pieces: readonly PartPiece[], which: WhichPieces): readonly PartPiece[] => {
  const refuse = (found: string) =>
    problem('SW-REC-005', { part: part.name, found, pieces: part.pieces, last: part.pieces - 1 });
  if ('count' in which) {
    const { count } = which;
    if (!Number.isInteger(count) || count < 1 || count >= part.pieces) throw refuse(String(count));
    return [...pieces].sort(byAge).slice(0, count);
  }
  const places = [...new Set(which.places)];
  const found = pieces.filter(({ piece }) => places.includes(piece));
  if (found.length === 0 || found.length !== places.length || found.length >= part.pieces)
    throw refuse(which.places.join(', '));
  return found;
};

/**
 * Some of a set were replaced. The set is as old as its oldest piece, so it stays as due as it was until the last of the
 * oldest is gone; then a new life of the set begins, which is already as old as the oldest that is left.
 */
export const fitPieces = (input: FitPiecesInput): PiecesFitted => {
  const { part, present, now, sources } = input;
  const fittedAt = input.fittedAt ?? now;
  if (present === null) throw problem('SW-REC-006', { part: part.name, id: part.id });
  const all = piecesOf(part, present);
  const gone = chosen(part, all, input.which);
  checkDate(part, fittedAt, now, Math.max(...gone.map((piece) => piece.fittedAt)));
  const baseline = baselineOf(part, fittedAt, now, sources);
  const by = actorName(input.by);
  const fresh = { fittedAt, fittedBy: by, life: present.number + 1, baseline };
  const pieces = all.map((piece) => (gone.includes(piece) ? { piece: piece.piece, ...fresh } : piece));
  const goesOn = pieces.some((piece) => piece.fittedAt === present.fittedAt);
  const life = lifeOfSet(present, goesOn ? present.number : present.number + 1, pieces);
  const ending = { part: part.id, number: fresh.life, fittedAt, fittedBy: by, baseline };
  const usageOf = (piece: PartPiece) => removedUsage({ part, present: lifeOfPiece(part, piece), now, sources }, ending);
  const oldest = [...gone].sort(byAge)[0];
  return {
    life,
    ended: goesOn || oldest === undefined ? null : { ...present, removedAt: fittedAt, usageAtRemoval: usageOf(oldest) },
    entry: {
      v: 1,
      kind: 'piece-fitted',
      at: now,
      part: part.id,
      life: life.number,
      fittedAt,
      by,
      note: input.note ?? '',
      removed: gone.map((piece) => ({ ...piece, usage: usageOf(piece) })),
      before: present,
    },
  };
};
