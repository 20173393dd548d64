import type { Which } from './use-outlook.ts';

/** Lengths of history and times ahead at which the band was calibrated; between them it is read off evenly by ratio. */
export const HISTORY_DAYS = [7, 14, 28, 56, 120, 210, 400, 600] as const;
export const AHEAD_WEEKS = [1, 2, 4, 8, 17, 26] as const;

/**
 * How even the weeks of a history are: the usual step from one week to the next, as a share of a week. What keeps to a timer
 * errs by a rare change of it, what hangs on weather by the season that it has not seen: each by what its like did.
 */
export const STEADINESS = [
  { name: 'timed', below: 0.006 },
  { name: 'even', below: 0.02 },
  { name: 'uneven', below: 0.05 },
  { name: 'ragged', below: Number.POSITIVE_INFINITY },
] as const;
export type Steadiness = (typeof STEADINESS)[number]['name'];

export function steadinessOf(weeks: readonly number[]): Steadiness {
  const usual = middle(weeks);
  if (weeks.length < 2 || !(usual > 0)) return 'ragged';
  const step = middle(weeks.slice(1).map((use, index) => Math.abs(use - (weeks[index] ?? 0)))) / usual;
  return STEADINESS.find(({ below }) => step < below)?.name ?? 'ragged';
}

const middle = (list: readonly number[]): number => list.toSorted((a, b) => a - b)[list.length >> 1] ?? 0;

/**
 * Where a tenth and nine tenths of the true totals lay below, in the foretold spread of the logarithm: -1.28 and 1.28 if
 * the model were right in everything. Learned from the training settings of the simulated tanks alone, whose totals move
 * for reasons no model knows (closed houses, heat, another schedule); `test/simulation/forecast/calibrate.ts` prints it.
 * A row holds both places for each time ahead.
 */
const BANDS: Readonly<Record<Steadiness, readonly (readonly number[])[]>> = {
  timed: [
    [-1.13, 1.25, -1.07, 1.16, -0.83, 1.11, -0.72, 0.97, -0.68, 1, -0.67, 1.09], // 7 days
    [-2.2, 2.09, -2.11, 1.67, -1.98, 1.43, -2.14, 1.09, -1.49, 1.16, -1.25, 1.38], // 14 days
    [-1.62, 1.49, -1.51, 1.3, -1.32, 1.06, -1.36, 0.73, -1.28, 0.48, -0.95, 0.44], // 28 days
    [-1.41, 1.18, -1.21, 1.12, -1.08, 0.92, -1.17, 0.69, -1.71, 0.47, -1.31, 0.41], // 56 days
    [-1.43, 1.08, -1.33, 0.99, -1.26, 0.88, -1.42, 0.74, -3.34, 0.52, -2.62, 0.47], // 120 days
    [-1.31, 0.96, -1.23, 0.91, -1.4, 0.84, -1.85, 0.75, -4.94, 0.64, -4.66, 0.68], // 210 days
    [-1.09, 0.74, -1.19, 0.81, -1.39, 0.78, -1.79, 0.85, -2.82, 0.92, -5.12, 0.94], // 400 days
    [-0.91, 0.55, -1.14, 0.64, -1.35, 0.72, -1.75, 0.77, -2.67, 0.94, -3.88, 1.05], // 600 days
  ],
  even: [
    [-1.13, 1.25, -1.07, 1.16, -0.83, 1.11, -0.72, 0.97, -0.68, 1, -0.67, 1.09], // 7 days
    [-2.82, 2.58, -2.89, 2.81, -2.82, 2.31, -2.47, 2.05, -2, 1.94, -1.77, 2.02], // 14 days
    [-1.82, 1.77, -1.93, 1.96, -1.84, 1.95, -1.68, 1.7, -1.28, 1.49, -1.1, 1.52], // 28 days
    [-1.57, 1.47, -1.57, 1.64, -1.54, 1.66, -1.61, 1.56, -1.26, 1.58, -1.15, 1.55], // 56 days
    [-1.46, 1.38, -1.42, 1.58, -1.54, 1.74, -1.87, 1.85, -1.58, 1.86, -1.52, 1.95], // 120 days
    [-1.18, 1.35, -1.13, 1.64, -1.16, 1.76, -1.45, 1.84, -1.64, 2.19, -1.55, 2.47], // 210 days
    [-1.14, 1.34, -1.16, 1.37, -1.2, 1.59, -1.28, 1.84, -1.59, 2.05, -1.67, 2.26], // 400 days
    [-1.14, 1.3, -1.22, 1.44, -1.29, 1.63, -1.32, 1.82, -1.55, 2.27, -1.54, 2.45], // 600 days
  ],
  uneven: [
    [-1.13, 1.25, -1.07, 1.16, -0.83, 1.11, -0.72, 0.97, -0.68, 1, -0.67, 1.09], // 7 days
    [-2.13, 1.92, -2.1, 1.95, -1.86, 1.82, -1.59, 1.53, -1.43, 1.41, -1.29, 1.4], // 14 days
    [-1.73, 1.62, -1.88, 1.66, -1.9, 1.57, -1.59, 1.27, -1.24, 1.01, -1.05, 1.01], // 28 days
    [-1.42, 1.4, -1.69, 1.41, -1.72, 1.49, -1.58, 1.33, -1.36, 1.15, -1.35, 1.12], // 56 days
    [-1.37, 1.16, -1.52, 1.28, -1.62, 1.25, -1.63, 1.19, -1.45, 1.04, -1.42, 1.15], // 120 days
    [-1.3, 1, -1.46, 1.08, -1.56, 1.16, -1.64, 1.13, -1.53, 1.03, -1.57, 1.07], // 210 days
    [-1.04, 1, -1.27, 1.09, -1.52, 1.22, -1.65, 1.31, -1.69, 1.22, -1.59, 1.24], // 400 days
    [-1.03, 0.88, -1.17, 0.95, -1.39, 1.14, -1.43, 1.23, -1.55, 1.28, -1.42, 1.25], // 600 days
  ],
  ragged: [
    [-1.13, 1.25, -1.07, 1.16, -0.83, 1.11, -0.72, 0.97, -0.68, 1, -0.67, 1.09], // 7 days
    [-1.75, 1.6, -1.65, 1.49, -1.44, 1.35, -1.31, 1.3, -1.15, 1.31, -1.02, 1.33], // 14 days
    [-1.56, 1.4, -1.6, 1.42, -1.49, 1.3, -1.22, 1.2, -1.01, 1.05, -0.98, 1.09], // 28 days
    [-1.53, 1.27, -1.51, 1.26, -1.4, 1.2, -1.29, 1.16, -1.15, 1.06, -1.17, 1.07], // 56 days
    [-1.4, 1.14, -1.5, 1.18, -1.38, 1.18, -1.36, 1.13, -1.34, 1.04, -1.28, 1.03], // 120 days
    [-1.29, 1.02, -1.39, 1.13, -1.38, 1.12, -1.39, 1.17, -1.31, 1.08, -1.1, 1.06], // 210 days
    [-1.27, 1.05, -1.33, 1.17, -1.43, 1.23, -1.43, 1.3, -1.39, 1.43, -1.4, 1.33], // 400 days
    [-1.26, 1.03, -1.29, 1.24, -1.45, 1.34, -1.46, 1.38, -1.46, 1.38, -1.47, 1.38], // 600 days
  ],
};

/** Edges of the band in spreads of the logarithm: the late date goes with the lower total. */
export function bandOf(steadiness: Steadiness, days: number, weeks: number): Readonly<Record<Which, number>> {
  const [row, down] = placeIn(HISTORY_DAYS, days);
  const [column, across] = placeIn(AHEAD_WEEKS, weeks);
  const edge = (side: 0 | 1): number => {
    const at = (r: number, c: number): number => BANDS[steadiness][r]?.[2 * c + side] ?? 0;
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
