import type { Misread, Parsed } from './parse.ts';
import { dateStart, localTime } from './periods.ts';
import type { InstantMs } from './quantity.ts';

/**
 * "2026-01-05 14:30" in the tank's zone. In the hour that an autumn night has twice, the offset is added, since the wall
 * time alone would name two moments.
 */
export function formatInstant(at: InstantMs, zone: string, options: { readonly seconds?: boolean } = {}): string {
  if (!Number.isFinite(at)) return 'unknown';
  const there = zoned(at, zone);
  const text = `${there.toPlainDate()} ${clock(there, options.seconds === true)}`;
  const wall = there.toPlainDateTime();
  const earlier = wall.toZonedDateTime(zone, { disambiguation: 'earlier' }).epochMilliseconds;
  const later = wall.toZonedDateTime(zone, { disambiguation: 'later' }).epochMilliseconds;
  return earlier === later ? text : `${text} ${there.offset}`;
}

/** "14:30" or "14:30:05". */
export function formatClock(at: InstantMs, zone: string, options: { readonly seconds?: boolean } = {}): string {
  return Number.isFinite(at) ? clock(zoned(at, zone), options.seconds === true) : 'unknown';
}

/**
 * Reads a day ("2026-01-05": its start in the zone), a wall time ("2026-01-05 14:30": in the zone) or an instant with
 * its offset ("2026-01-05T14:30Z", "2026-01-05T14:30+01:00").
 */
export function parseInstant(text: string, zone: string): Parsed<InstantMs> {
  const match = /^(\d{4}-\d{2}-\d{2})(?:[T ](\d{2}:\d{2}(?::\d{2}(?:\.\d{1,3})?)?)\s*(Z|[+-]\d{2}:?\d{2})?)?$/.exec(
    text.trim(),
  );
  if (match === null) return misread(text);
  const [, date = '', time, offset] = match;
  try {
    if (time === undefined) return { ok: true, value: dateStart(date, zone) };
    if (offset === undefined) return { ok: true, value: localTime(date, time, zone) };
    return { ok: true, value: Temporal.Instant.from(`${date}T${time}${offset}`).epochMilliseconds };
  } catch {
    // 30 February and 25 o'clock have the right form and still do not exist.
    return misread(text);
  }
}

function misread(text: string): Misread {
  return {
    ok: false,
    found: `"${text}"`,
    expected: 'a day or an instant',
    example: '2026-01-05 or 2026-01-05T14:30Z',
  };
}

function zoned(at: InstantMs, zone: string): Temporal.ZonedDateTime {
  return Temporal.Instant.fromEpochMilliseconds(Math.floor(at)).toZonedDateTimeISO(zone);
}

function clock(there: Temporal.ZonedDateTime, seconds: boolean): string {
  return there.toPlainTime().toString({ smallestUnit: seconds ? 'second' : 'minute' });
}
