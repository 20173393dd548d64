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
    [-1.28, 1.6],
    [-1.47, 1.89],
    [-1.45, 2.21],
    [-1.62, 2.47],
    [-1.56, 2.93],
    [-1.49, 3.08],
  ], // 7 days
  [
    [-2.22, 2.43],
    [-2.5, 2.53],
    [-2.4, 2.42],
    [-2.21, 2.67],
    [-1.99, 3.08],
    [-1.86, 3.3],
  ], // 14 days
  [
    [-1.57, 1.65],
    [-1.72, 1.64],
    [-1.75, 1.74],
    [-1.85, 1.89],
    [-1.63, 1.94],
    [-1.52, 2.09],
  ], // 28 days
  [
    [-1.43, 1.49],
    [-1.53, 1.53],
    [-1.6, 1.61],
    [-1.54, 1.66],
    [-1.53, 1.73],
    [-1.52, 1.84],
  ], // 56 days
  [
    [-1.34, 1.32],
    [-1.49, 1.38],
    [-1.56, 1.56],
    [-1.66, 1.67],
    [-1.71, 1.71],
    [-1.71, 1.95],
  ], // 120 days
  [
    [-1.16, 1.22],
    [-1.29, 1.3],
    [-1.4, 1.45],
    [-1.46, 1.53],
    [-1.53, 2.01],
    [-1.52, 2.48],
  ], // 210 days
  [
    [-0.97, 1.12],
    [-1.07, 1.3],
    [-1.29, 1.44],
    [-1.51, 1.64],
    [-1.48, 1.93],
    [-1.42, 2.08],
  ], // 400 days
  [
    [-0.96, 1.15],
    [-1.11, 1.37],
    [-1.29, 1.51],
    [-1.49, 1.6],
    [-1.57, 2.09],
    [-1.5, 2.35],
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
