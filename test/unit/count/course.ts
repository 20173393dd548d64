import assert from 'node:assert/strict';
import fc from 'fast-check';
import { project } from '../../../src/count/index.ts';
import type { Bounds, CounterDef, Measure } from '../../../src/model/index.ts';
import { foldRows, type Row, T0 } from './make.ts';

/** A true course of things: `value` from `from` until the next piece. */
export type Piece = { readonly from: number; readonly value: number };
export type Hidden = { readonly from: number; readonly to: number };

export const valueAt = (pieces: readonly Piece[], at: number): number =>
  pieces.findLast((piece) => piece.from <= at)?.value ?? 0;

/** What a service sees of it: changes outside the hidden stretches, a gap where one begins, the present value where it ends. */
export function visible(pieces: readonly Piece[], hidden: readonly Hidden[]): readonly Row[] {
  const inside = (at: number): boolean => hidden.some(({ from, to }) => from <= at && at < to);
  const changes = pieces.filter(({ from }) => !inside(from)).map(({ from, value }): Row => [from, value]);
  const gaps = hidden.map(({ from }): Row => [from, null]);
  const ends = hidden.map(({ to }): Row => [to, valueAt(pieces, to)]);
  const known = new Map<number, Row>();
  for (const row of [...gaps, ...ends, ...changes]) known.set(row[0], row);
  return [...known.values()].sort((a, b) => a[0] - b[0]);
}

export const hiddenIn = (start: number, end: number): fc.Arbitrary<readonly Hidden[]> =>
  fc
    .uniqueArray(fc.integer({ min: start + 1, max: end - 1 }), { maxLength: 8 })
    .map((borders) => borders.sort((a, b) => a - b))
    .map((borders) =>
      borders.flatMap((from, index) => {
        const to = borders[index + 1];
        return index % 2 === 0 && to !== undefined ? [{ from, to }] : [];
      }),
    );

export const pieces = (lengths: readonly number[], value: (index: number) => number): readonly Piece[] => {
  let at = T0;
  return lengths.map((length, index) => {
    const piece = { from: at, value: value(index) };
    at += length;
    return piece;
  });
};

export function inside(truth: number, bounds: Bounds | undefined, tolerance = 0): void {
  assert.ok(bounds !== undefined);
  const shown = `${bounds.low} ≤ ${truth} ≤ ${bounds.high}`;
  assert.ok(bounds.low <= truth + tolerance && truth <= bounds.high + tolerance, shown);
}

export function shownAt(
  def: CounterDef,
  rows: readonly Row[],
  end: number,
): Readonly<Partial<Record<Measure, Bounds>>> {
  return project(def, foldRows(def, rows).state, end);
}

export const total = (lengths: readonly number[]): number => lengths.reduce((sum, length) => sum + length, 0);
export const hiddenMs = (hidden: readonly Hidden[]): number => total(hidden.map(({ from, to }) => to - from));

export const courses = (shortest: number, longest: number) =>
  fc
    .array(fc.integer({ min: shortest, max: longest }), { minLength: 2, maxLength: 30 })
    .chain((lengths) => fc.tuple(fc.constant(lengths), hiddenIn(T0, T0 + total(lengths))));
