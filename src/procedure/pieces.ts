import type { PowerW } from '../units/index.ts';
import type { Step } from './types.ts';

const WORDS = ['none', 'one', 'two', 'three', 'four', 'five', 'six', 'seven', 'eight'] as const;
const word = (count: number): string => WORDS[count] ?? String(count);
/** Where nobody said how many pieces make the set, the plainest fraction this near to what is short is told. */
const NEAR_SHARE = 0.04;
const MOST_PIECES = 6;

/** "as if one of three were dark": the share of a set's watts that is missing, in pieces. */
export function darkText(meanW: PowerW, set: NonNullable<Step['expectW']>): string {
  const short = 1 - meanW / ((set.low + set.high) / 2);
  const pieces = set.pieces ?? plainest(short);
  if (pieces === null) return `${Math.round(short * 100)} % of its watts are missing`;
  const dark = Math.min(pieces, Math.max(1, Math.round(short * pieces)));
  if (dark === pieces) return pieces === 1 ? 'as if it were dark' : `as if all ${word(pieces)} were dark`;
  return `as if ${word(dark)} of ${word(pieces)} ${dark === 1 ? 'was' : 'were'} dark`;
}

function plainest(short: number): number | null {
  for (let pieces = 2; pieces <= MOST_PIECES; pieces++) {
    const dark = Math.round(short * pieces);
    if (dark > 0 && Math.abs(dark / pieces - short) <= NEAR_SHARE) return pieces;
  }
  return null;
}
