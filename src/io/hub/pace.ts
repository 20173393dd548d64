import { DAY_MS, type DurationMs, HOUR_MS, SECOND_MS } from '../../units/index.ts';

/** How much of its past the hub is asked for at a time: the same recorder also serves the home. */
const LONGEST_MS = 30 * DAY_MS;
const QUICK_MS = 500;
const MANY_ROWS = 50_000;

export const SHORTEST_MS = HOUR_MS;
export const SLOW_MS = 3 * SECOND_MS;
/** Answers that stay out before the reading is given up. */
export const TRIES = 3;

/** The length of the next slice, by how long the last one took. */
export function nextSliceMs(
  sliceMs: DurationMs,
  tookMs: DurationMs,
  rowCount: number,
  longestMs: DurationMs = LONGEST_MS,
): DurationMs {
  if (tookMs > SLOW_MS || rowCount > MANY_ROWS) return Math.max(SHORTEST_MS, sliceMs / 2);
  if (tookMs < QUICK_MS && rowCount < MANY_ROWS / 4) return Math.min(longestMs, sliceMs * 2);
  return sliceMs;
}
