import type { DurationMs } from '../../units/index.ts';

/** Anything later than this is a moment, in milliseconds; no amount, count or duration that is kept comes near it. */
const LEAST_MOMENT = 1e11;

/**
 * The wall clock was set: every moment that was kept moves with it, so that what has run for a minute has still run for a
 * minute. Readings are dated by the hub and stay as they are.
 */
export function shifted<T>(value: T, byMs: DurationMs): T {
  if (typeof value === 'number') return (value > LEAST_MOMENT ? value + byMs : value) as T;
  if (Array.isArray(value)) return value.map((one) => shifted(one, byMs)) as T;
  if (typeof value !== 'object' || value === null) return value;
  return Object.fromEntries(
    Object.entries(value).map(([key, one]) => [key, key === 'readings' ? one : shifted(one, byMs)]),
  ) as T;
}
