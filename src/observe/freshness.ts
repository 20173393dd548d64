import type { DurationMs, InstantMs } from '../units/index.ts';
import type { Reading } from './types.ts';

export type Freshness = 'fresh' | 'stale' | 'gap';

/**
 * Freshness goes by when the device was last heard, not by when its value last changed: an unchanged 0.0 W is a good
 * reading as long as the device keeps saying so. A report from further ahead than its own maximum age is a clock gone
 * wrong, and proves as little as an old one.
 */
export function freshness(reading: Reading | undefined, now: InstantMs, maxAgeMs: DurationMs): Freshness {
  if (reading === undefined || reading.value === null) return 'gap';
  return Math.abs(now - reading.reportedAt) <= maxAgeMs ? 'fresh' : 'stale';
}
