// The simulated home's own calendar: day numbers D0, D1 … of the demo tank, in the library's local time.
import { DAY_MS, HOUR_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';

export const DEMO_ZONE = 'Europe/London';
/** D0: a Monday in early September. */
const DAY_ZERO_UTC = Date.UTC(2025, 8, 1);
/** The day the demo opens on; the record of the past ends here. */
export const DEMO_DAY = 547;

/** Summer time runs from the last Sunday of March to the last Sunday of October, both at 01:00 UTC. */
export function londonOffsetMs(at: InstantMs): number {
  const { from, to } = summerOf(new Date(at).getUTCFullYear());
  return at >= from && at < to ? HOUR_MS : 0;
}

type Summer = { readonly from: InstantMs; readonly to: InstantMs };

/** Asked for every row of the past; a handful of years are worked out once. */
const summers = new Map<number, Summer>();

function summerOf(year: number): Summer {
  const known = summers.get(year);
  if (known !== undefined) return known;
  const summer = { from: lastSunday(year, 2) + HOUR_MS, to: lastSunday(year, 9) + HOUR_MS };
  summers.set(year, summer);
  return summer;
}

function lastSunday(year: number, month: number): InstantMs {
  const lastDay = Date.UTC(year, month + 1, 0);
  return lastDay - new Date(lastDay).getUTCDay() * DAY_MS;
}

/** The instant of a wall-clock time on day D `day`. */
export function atLocal(day: number, hours: number, minutes = 0): InstantMs {
  const wall = DAY_ZERO_UTC + day * DAY_MS + hours * HOUR_MS + minutes * MINUTE_MS;
  const guess = wall - londonOffsetMs(wall);
  return wall - londonOffsetMs(guess);
}

export type LocalTime = {
  /** Day number D. */
  readonly day: number;
  /** Wall-clock milliseconds since midnight. */
  readonly ofDayMs: number;
  /** 0 = Monday. */
  readonly weekday: number;
};

export function localTime(at: InstantMs): LocalTime {
  const wall = at + londonOffsetMs(at) - DAY_ZERO_UTC;
  const day = Math.floor(wall / DAY_MS);
  return { day, ofDayMs: wall - day * DAY_MS, weekday: ((day % 7) + 7) % 7 };
}

/** Tuesday morning after the library has opened. */
export const DEMO_NOW: InstantMs = atLocal(DEMO_DAY, 10);
