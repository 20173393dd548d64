// What a plug can do wrong.
import type { DurationMs } from '../../units/index.ts';

export const PLUG_FAULTS = [
  'none',
  // Says "off" while its contacts are welded.
  'echo-off-keeps-watts',
  // Answers the call with an error and does nothing.
  'refuses',
  // Switches at once, reports long after.
  'late',
  // Switches, but nothing it reports arrives any more.
  'lost-reports',
  // Comes back on by itself some time after it was switched off.
  'revives',
] as const;
export type PlugFault = (typeof PLUG_FAULTS)[number];

export function isPlugFault(text: string): text is PlugFault {
  return (PLUG_FAULTS as readonly string[]).includes(text);
}

export const LATE_REPORT_MS: DurationMs = 25_000;
export const REVIVE_AFTER_MS: DurationMs = 40_000;
