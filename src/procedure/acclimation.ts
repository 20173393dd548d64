import { type RuleOverrides, ruleSetting } from '../rules/index.ts';
import { DAY_MS, type DurationMs, type InstantMs } from '../units/index.ts';

/** One day of a new lamp set: what share of its full hours it burns, and how long that is. */
export type LightDay = { readonly day: number; readonly share: number; readonly litMs: DurationMs };

/** K24: share of the full hours so long after the change: the first day's share, evenly up to all of them. */
export function lightShare(sinceMs: DurationMs, overrides: RuleOverrides = {}): number {
  const start = ruleSetting(overrides, 'K24', 'startShare');
  const rampMs = ruleSetting(overrides, 'K24', 'rampMs');
  const days = Math.max(0, Math.floor(sinceMs / DAY_MS));
  return Math.min(1, start + ((1 - start) * days * DAY_MS) / rampMs);
}

/** Day by day until the full hours are reached; the first day is the day of the change. */
export function acclimation(fullMs: DurationMs, overrides: RuleOverrides = {}): readonly LightDay[] {
  const days: LightDay[] = [];
  for (let day = 0; days.at(-1)?.share !== 1; day++) {
    const share = lightShare(day * DAY_MS, overrides);
    days.push({ day: day + 1, share, litMs: Math.round(share * fullMs) });
  }
  return days;
}

/** Until when the lamps may burn on that day, with their usual beginning; null = as usual again. */
export function lampsOutBy(
  changedAt: InstantMs,
  beginsAt: InstantMs,
  fullMs: DurationMs,
  overrides: RuleOverrides = {},
): InstantMs | null {
  const share = lightShare(beginsAt - changedAt, overrides);
  return share >= 1 ? null : beginsAt + Math.round(share * fullMs);
}
