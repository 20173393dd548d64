// What there is to aim at, and how often each cell has been aimed at and hit.
import type { Cell, Field, Ground } from './cells.ts';

/** Of one cell, on whatever tank: `due` is what the epoch that is being planned will add, as far as anybody can tell. */
export type Count = { hits: number; due: number; aims: number };

export type Aimed = { readonly cell: Cell; readonly count: Count };

export type Aims = {
  readonly ground: Ground;
  readonly cells: readonly Aimed[];
  /** After one of these there is seldom a next step. */
  readonly ends: readonly Aimed[];
  /** What a run here is worth now; null = to be reckoned anew. */
  worth: number | null;
};

export const LAST: ReadonlySet<string> = new Set(['aborts', 'person-silent']);

export function aimsOf(field: Field): {
  readonly grounds: readonly Aims[];
  readonly counts: ReadonlyMap<string, Count>;
} {
  const counts = new Map<string, Count>();
  const countOf = (name: string): Count => {
    const count = counts.get(name) ?? { hits: 0, due: 0, aims: 0 };
    counts.set(name, count);
    return count;
  };
  const grounds = field.grounds.map((ground): Aims => {
    const cells = ground.cells.map((cell) => ({ cell, count: countOf(cell.name) }));
    return { ground, cells, ends: cells.filter(({ cell }) => LAST.has(cell.kind)), worth: null };
  });
  return { grounds, counts };
}

export const levelOf = ({ count }: Aimed): number => count.hits + count.due;

const MOST_LEVELS = 64;
const urgency = Array.from({ length: MOST_LEVELS }, (_, level) => 1 / (1 + level) ** 2);

/** How urgent the so many least hit of these are, together. */
export function lowestSum(cells: readonly Aimed[], most: number): number {
  const atLevel = new Array<number>(MOST_LEVELS).fill(0);
  for (const each of cells) {
    const level = Math.min(MOST_LEVELS - 1, Math.floor(levelOf(each)));
    atLevel[level] = (atLevel[level] ?? 0) + 1;
  }
  let left = most;
  let sum = 0;
  for (let level = 0; level < MOST_LEVELS && left > 0; level++) {
    const some = Math.min(left, atLevel[level] ?? 0);
    sum += some * (urgency[level] ?? 0);
    left -= some;
  }
  return sum;
}
