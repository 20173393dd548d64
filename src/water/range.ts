import { problem } from '../errors/index.ts';
import { formatNumber } from '../units/index.ts';

/** Where a relation holds. `argument` is the word a person knows it by; `why` says whose range it is. */
export type Range = {
  readonly argument: string;
  readonly low: number;
  readonly high: number;
  readonly unit: string;
  readonly why: string;
  readonly example: string;
  /** The low end itself is not allowed: "more than 0 L". */
  readonly above?: true;
};

/** The value itself, or the refusal that names argument, range and an example. Not a number is out of every range. */
export function within(value: number, range: Range): number {
  const { low, high, above } = range;
  if (value <= high && (above === true ? value > low : value >= low)) return value;
  throw problem('SW-WAT-002', {
    argument: range.argument,
    found: Number.isNaN(value) ? 'no number' : withUnit(value, range.unit),
    expected: rangeText(range),
    why: range.why,
    example: range.example,
  });
}

function rangeText({ low, high, unit, above }: Range): string {
  const least = above === true ? `more than ${withUnit(low, unit)}` : withUnit(low, unit);
  if (high === Number.POSITIVE_INFINITY) return above === true ? least : `at least ${least}`;
  return above === true ? `${least}, at most ${withUnit(high, unit)}` : `${least} to ${withUnit(high, unit)}`;
}

function withUnit(value: number, unit: string): string {
  const number = Math.abs(value) >= 1e15 ? String(value) : formatNumber(value, 6);
  return unit === '' ? number : `${number} ${unit}`;
}

/** A combination that has no answer, said with the way out. */
export function impossible(argument: string, found: string, why: string, hint: string): Error {
  return problem('SW-WAT-004', { argument, found, why, hint });
}

export function positive(argument: string, unit: string, example: string, why: string = 'an amount'): Range {
  return { argument, low: 0, high: Number.POSITIVE_INFINITY, unit, why, example, above: true };
}

export function zeroOrMore(argument: string, unit: string, example: string, why: string = 'an amount'): Range {
  return { argument, low: 0, high: Number.POSITIVE_INFINITY, unit, why, example };
}

export function share(argument: string, example: string, why: string = 'a share'): Range {
  return { argument, low: 0, high: 1, unit: '(as a share)', why, example };
}

export const VOLUME: Range = positive('volume', 'L', '458 L', 'the net water of the tank');
/** A room with people in it. */
export const ROOM: Range = { argument: 'room', low: -10, high: 50, unit: '°C', why: 'a room', example: '20 °C' };
export const BATCH_SHARE_WHY = 'more than the tank holds cannot be changed at once';
