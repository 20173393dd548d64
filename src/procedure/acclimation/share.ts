import { type RuleOverrides, ruleSetting } from '../../rules/index.ts';
import { DAY_MS, type DurationMs } from '../../units/index.ts';

/** One day of a new lamp set: what share of its full hours it burns, and how long that is. */
export type LightDay = { readonly day: number; readonly share: number; readonly litMs: DurationMs };

/** K24: share of the full hours on a day (0 = the first): the first day's share, evenly up to all of them. */
export function shareOf(day: number, startShare: number, rampMs: DurationMs): number {
  return Math.min(1, startShare + ((1 - startShare) * Math.max(0, day) * DAY_MS) / rampMs);
}

/** Day by day until the full hours are reached; the first day is the day of the change. */
export function acclimation(fullMs: DurationMs, overrides: RuleOverrides = {}): readonly LightDay[] {
  const start = ruleSetting(overrides, 'K24', 'startShare');
  const rampMs = ruleSetting(overrides, 'K24', 'rampMs');
  const days: LightDay[] = [];
  for (let day = 0; days.at(-1)?.share !== 1; day++) {
    const share = shareOf(day, start, rampMs);
    days.push({ day: day + 1, share, litMs: Math.round(share * fullMs) });
  }
  return days;
}
