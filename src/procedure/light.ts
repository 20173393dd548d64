import type { Tank } from '../model/index.ts';
import { type DurationMs, dayStart, formatDuration, type InstantMs, MINUTE_MS, nextDayStart } from '../units/index.ts';

/** The lit hours that hold `at`, or null in the dark; undefined where nobody told them. */
function litHours(
  tank: Pick<Tank, 'lights' | 'timeZone'>,
  at: InstantMs,
): { readonly from: InstantMs; readonly to: InstantMs } | null {
  const lights = tank.lights;
  if (!lights) return null;
  // Hours that run over midnight began the day before.
  const today = dayStart(at, tank.timeZone);
  const yesterday = dayStart(today - MINUTE_MS, tank.timeZone);
  for (const day of [yesterday, today]) {
    const from = day + lights.onMinute * MINUTE_MS;
    const length = (lights.offMinute - lights.onMinute + 1440) % 1440 || 1440;
    const to = from + length * MINUTE_MS;
    if (at >= from && at < to) return { from, to };
  }
  return null;
}

/** Whether that is outside the declared light. */
export const isDark = (lights: NonNullable<Tank['lights']>, timeZone: string, at: InstantMs): boolean =>
  litHours({ lights, timeZone }, at) === null;

/** Whether the display is dark then; unknown is not dark. */
export const darkAt = (tank: Tank, at: InstantMs | undefined): boolean =>
  tank.lights !== undefined && at !== undefined && litHours(tank, at) === null;

export type LightFit =
  | { readonly fits: true; readonly endBy: InstantMs }
  | { readonly fits: false; readonly why: string; readonly hint: string };

/** K33: does a long stop that begins then and takes so long end with its margin before dark? */
export function fitsLight(tank: Tank, at: InstantMs, takesMs: DurationMs, marginMs: DurationMs): LightFit | null {
  if (!tank.lights) return null;
  const lit = litHours(tank, at);
  const clock = (minute: number): string =>
    `${String(Math.floor(minute / 60)).padStart(2, '0')}:${String(minute % 60).padStart(2, '0')}`;
  const hours = `${clock(tank.lights.onMinute)} to ${clock(tank.lights.offMinute)}`;
  if (!lit) {
    return {
      fits: false,
      why: `the display is dark now, it is lit from ${hours}`,
      hint: `Begin about an hour after ${clock(tank.lights.onMinute)}.`,
    };
  }
  const endBy = lit.to - marginMs;
  const late = at + takesMs - endBy;
  if (late <= 0) return { fits: true, endBy };
  const latest = (((tank.lights.offMinute - Math.ceil((marginMs + takesMs) / MINUTE_MS)) % 1440) + 1440) % 1440;
  const fitsAtAll = takesMs + marginMs <= lit.to - lit.from;
  return {
    fits: false,
    why: `it takes about ${formatDuration(Math.ceil(takesMs / MINUTE_MS) * MINUTE_MS)} and must be over ${formatDuration(marginMs)} before the lights go out (${hours})`,
    hint: fitsAtAll
      ? `Begin by ${clock(latest)}, or take less into one sitting.`
      : 'Take less into one sitting: it does not fit between lights-on and lights-out.',
  };
}

/** Start of the next day, for those who plan ahead. */
export const nextLightsOn = (tank: Tank, at: InstantMs): InstantMs | null =>
  tank.lights ? nextDayStart(at, tank.timeZone) + tank.lights.onMinute * MINUTE_MS : null;
