import type { DurationMs, InstantMs } from './quantity.ts';

/** A calendar date, `2026-03-29`. */
export type IsoDate = string;

/** Start of the local day that holds `at`. Where midnight does not exist, the day starts at the first moment that does. */
export function dayStart(at: InstantMs, zone: string): InstantMs {
  return local(at, zone).startOfDay().epochMilliseconds;
}

/** Start of the local week, Monday first (ISO 8601). */
export function weekStart(at: InstantMs, zone: string): InstantMs {
  const date = local(at, zone).toPlainDate();
  return startOf(date.subtract({ days: date.dayOfWeek - 1 }), zone);
}

export function monthStart(at: InstantMs, zone: string): InstantMs {
  return startOf(local(at, zone).toPlainDate().with({ day: 1 }), zone);
}

/** Start of the day after the one that holds `at`: the moment the daily figure is cut. */
export function nextDayStart(at: InstantMs, zone: string): InstantMs {
  return startOf(local(at, zone).toPlainDate().add({ days: 1 }), zone);
}

/** The local date at `at`. */
export function localDate(at: InstantMs, zone: string): IsoDate {
  return local(at, zone).toPlainDate().toString();
}

export function dateStart(date: IsoDate, zone: string): InstantMs {
  return startOf(Temporal.PlainDate.from(date), zone);
}

/** Real length of a local day: 23, 24 or 25 h, 24.5 h, or 0 for a date that the zone skipped. */
export function dayLengthMs(date: IsoDate, zone: string): DurationMs {
  const day = Temporal.PlainDate.from(date);
  return startOf(day.add({ days: 1 }), zone) - startOf(day, zone);
}

/** A wall time as an instant. In a gap the later reading is taken, in an overlap the earlier one. */
export function localTime(date: IsoDate, time: string, zone: string): InstantMs {
  const wall = Temporal.PlainDate.from(date).toPlainDateTime(Temporal.PlainTime.from(time));
  return wall.toZonedDateTime(zone, { disambiguation: 'compatible' }).epochMilliseconds;
}

export type DaySlice = { readonly date: IsoDate; readonly from: InstantMs; readonly to: InstantMs };

/** Cuts a stretch at the local day starts inside it. */
export function splitByDay(from: InstantMs, to: InstantMs, zone: string): readonly DaySlice[] {
  const slices: DaySlice[] = [];
  let start = from;
  while (start < to) {
    const end = Math.min(to, nextDayStart(start, zone));
    slices.push({ date: localDate(start, zone), from: start, to: end });
    start = end;
  }
  return slices;
}

/** Whether this runtime's time zone data knows the name. Bare offsets are refused: they know no summer time. */
export function isZone(name: string): boolean {
  if (!/^[A-Za-z]/.test(name)) return false;
  try {
    return new Intl.DateTimeFormat('en', { timeZone: name }).resolvedOptions().timeZone !== '';
  } catch {
    return false;
  }
}

/** Names to suggest from. */
export function zoneNames(): readonly string[] {
  return Intl.supportedValuesOf('timeZone');
}

function local(at: InstantMs, zone: string): Temporal.ZonedDateTime {
  return Temporal.Instant.fromEpochMilliseconds(Math.floor(at)).toZonedDateTimeISO(zone);
}

function startOf(date: Temporal.PlainDate, zone: string): InstantMs {
  return date.toZonedDateTime(zone).epochMilliseconds;
}
