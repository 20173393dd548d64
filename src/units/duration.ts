import { exactNumber, formatNumber, parseNumber } from './number.ts';
import type { Misread, Parsed } from './parse.ts';
import { DAY_MS, type DurationMs, HOUR_MS, MINUTE_MS, SECOND_MS } from './quantity.ts';

/** A year is 365 days and a month a twelfth of it, so that "12 mo", "1 y" and "365 d" are one limit. */
export const YEAR_MS = 365 * DAY_MS;
export const MONTH_MS = YEAR_MS / 12;
export const WEEK_MS = 7 * DAY_MS;

// "m" is missing on purpose: minute, month and metre all claim it.
const UNITS: Readonly<Record<string, number>> = {
  ms: 1,
  s: SECOND_MS,
  sec: SECOND_MS,
  second: SECOND_MS,
  seconds: SECOND_MS,
  min: MINUTE_MS,
  minute: MINUTE_MS,
  minutes: MINUTE_MS,
  h: HOUR_MS,
  hr: HOUR_MS,
  hour: HOUR_MS,
  hours: HOUR_MS,
  d: DAY_MS,
  day: DAY_MS,
  days: DAY_MS,
  wk: WEEK_MS,
  week: WEEK_MS,
  weeks: WEEK_MS,
  mo: MONTH_MS,
  month: MONTH_MS,
  months: MONTH_MS,
  y: YEAR_MS,
  yr: YEAR_MS,
  year: YEAR_MS,
  years: YEAR_MS,
};

/** Units in which durations may be written, for messages. */
export const DURATION_UNITS = ['ms', 's', 'min', 'h', 'd', 'wk', 'mo', 'y'] as const;

/** Reads "90 d", "3,600 h", "12 mo" or "3 h 20 min". */
export function parseDuration(text: string): Parsed<DurationMs> {
  const piece = /([\d.,]+)\s*([a-z]+)\s*/giy;
  let rest = text.trim();
  const sign = /^[-−–]/.test(rest) ? -1 : 1;
  rest = rest.replace(/^[+\-−–]\s*/, '');
  if (rest === '') return misread(`"${text}"`);
  if (parseNumber(rest) !== null) return misread(`"${text}" (no unit)`);
  let total = 0;
  while (piece.lastIndex < rest.length) {
    const match = piece.exec(rest);
    if (match === null) return misread(`"${text}"`);
    const amount = parseNumber(match[1] ?? '');
    if (amount === null) return misread(`"${text}" (a comma or point in the wrong place)`);
    const name = match[2] ?? '';
    const unitMs = Object.hasOwn(UNITS, name.toLowerCase()) ? UNITS[name.toLowerCase()] : undefined;
    if (unitMs === undefined) return misread(`"${text}" (${wrongUnit(name)})`);
    total += amount * unitMs;
  }
  return { ok: true, value: sign * total };
}

/** Exact: reads back as the same number. 5,400,000 → "1 h 30 min". */
export function formatDuration(ms: DurationMs): string {
  if (!Number.isFinite(ms)) return 'unknown';
  const whole = Math.abs(ms);
  if (!Number.isSafeInteger(whole)) return `${exactNumber(ms)} ms`;
  const pieces: string[] = [];
  let rest = whole;
  for (const [name, unitMs] of EXACT_PIECES) {
    const count = Math.floor(rest / unitMs);
    if (count === 0) continue;
    pieces.push(`${exactNumber(count)} ${name}`);
    rest -= count * unitMs;
  }
  if (pieces.length === 0) return '0 s';
  return `${ms < 0 ? '-' : ''}${pieces.join(' ')}`;
}

const EXACT_PIECES: readonly (readonly [string, number])[] = [
  ['d', DAY_MS],
  ['h', HOUR_MS],
  ['min', MINUTE_MS],
  ['s', SECOND_MS],
  ['ms', 1],
];

/** For reading at a glance, at most two units: "11 d", "2 d 5 h", "3 h 20 min", "47 min", "2 min 30 s", "20 s". */
export function formatSpan(ms: DurationMs): string {
  if (!Number.isFinite(ms)) return 'unknown';
  const size = Math.abs(ms);
  if (size < SECOND_MS) return `${formatNumber(ms / SECOND_MS, 1)} s`;
  for (const [upTo, roundTo] of SPAN_ROUNDING) {
    const rounded = Math.round(size / roundTo) * roundTo;
    // Rounding may carry into the next row: 59 min 40 s is 1 h.
    if (rounded < upTo) return formatDuration(ms < 0 ? -rounded : rounded);
  }
  return formatDuration(Math.sign(ms) * Math.round(size / DAY_MS) * DAY_MS);
}

/** Up to this length, round to that. */
const SPAN_ROUNDING: readonly (readonly [number, number])[] = [
  [10 * MINUTE_MS, SECOND_MS],
  [DAY_MS, MINUTE_MS],
  [10 * DAY_MS, HOUR_MS],
];

function wrongUnit(name: string): string {
  return name.toLowerCase() === 'm' ? '"m" could be minutes or months: write min or mo' : `unknown unit "${name}"`;
}

function misread(found: string): Misread {
  return {
    ok: false,
    found,
    expected: `a duration in ${DURATION_UNITS.join(', ')}`,
    example: '30 s, 15 min, 90 d or 12 mo',
  };
}
