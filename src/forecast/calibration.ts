import type { Which } from './use-outlook.ts';

/** Lengths of history and times ahead at which the band was calibrated; between them it is read off evenly by ratio. */
export const HISTORY_DAYS = [7, 14, 28, 56, 120, 210, 400, 600] as const;
export const AHEAD_WEEKS = [1, 2, 4, 8, 17, 26] as const;

/**
 * Where a tenth and nine tenths of the true totals lay below, in the foretold spread of the logarithm: -1.28 and 1.28 if
 * the model were right in everything. Learned from the training settings of the simulated tanks alone, whose totals move
 * for reasons no model knows (closed houses, heat, another schedule); `test/simulation/forecast/calibrate.ts` prints it.
 */
const BANDS: readonly (readonly (readonly [number, number])[])[] = [
  [
    [-1.12, 1.25],
    [-1.07, 1.17],
    [-0.82, 1.11],
    [-0.71, 0.97],
    [-0.68, 0.98],
    [-0.67, 1.07],
  ], // 7 days
  [
    [-2.1, 2.01],
    [-2.03, 1.84],
    [-1.89, 1.6],
    [-1.72, 1.46],
    [-1.41, 1.49],
    [-1.28, 1.55],
  ], // 14 days
  [
    [-1.61, 1.51],
    [-1.68, 1.56],
    [-1.67, 1.42],
    [-1.46, 1.2],
    [-1.14, 1.03],
    [-1.01, 1.09],
  ], // 28 days
  [
    [-1.44, 1.32],
    [-1.5, 1.33],
    [-1.49, 1.28],
    [-1.4, 1.19],
    [-1.31, 1.09],
    [-1.23, 1.15],
  ], // 56 days
  [
    [-1.33, 1.16],
    [-1.41, 1.2],
    [-1.44, 1.21],
    [-1.43, 1.14],
    [-1.48, 1.08],
    [-1.47, 1.18],
  ], // 120 days
  [
    [-1.07, 0.96],
    [-1.13, 1.0],
    [-1.26, 1.09],
    [-1.42, 1.16],
    [-1.43, 1.24],
    [-1.32, 1.3],
  ], // 210 days
  [
    [-0.99, 0.92],
    [-1.12, 1.01],
    [-1.29, 1.1],
    [-1.39, 1.26],
    [-1.5, 1.4],
    [-1.44, 1.44],
  ], // 400 days
  [
    [-0.98, 0.88],
    [-1.08, 1.0],
    [-1.27, 1.18],
    [-1.35, 1.28],
    [-1.5, 1.37],
    [-1.48, 1.48],
  ], // 600 days
];

/** Edges of the band in spreads of the logarithm: the late date goes with the lower total. */
export function bandOf(days: number, weeks: number): Readonly<Record<Which, number>> {
  const [row, down] = placeIn(HISTORY_DAYS, days);
  const [column, across] = placeIn(AHEAD_WEEKS, weeks);
  const edge = (side: 0 | 1): number => {
    const at = (r: number, c: number): number => BANDS[r]?.[c]?.[side] ?? 0;
    const upper = at(row, column) * (1 - across) + at(row, column + 1) * across;
    return (
      upper * (1 - down) + (down > 0 ? at(row + 1, column) * (1 - across) + at(row + 1, column + 1) * across : 0) * down
    );
  };
  return { early: edge(1), likely: 0, late: edge(0) };
}

/** Index of the last one not above `value`, and how far on to the next by ratio; the ends hold beyond. */
function placeIn(list: readonly number[], value: number): readonly [number, number] {
  const last = list.length - 1;
  let index = 0;
  while (index < last && (list[index + 1] ?? 0) <= value) index += 1;
  const [low, high] = [list[index] ?? 1, list[index + 1] ?? 1];
  if (value <= low || index === last) return [index, 0];
  return [index, Math.log(value / low) / Math.log(high / low)];
}
