import { z } from 'zod';
import { problem } from '../errors/index.ts';
import {
  formatDuration,
  formatQuantity,
  kindDef,
  type Misread,
  type Parsed,
  parseDuration,
  parseInstant,
  parseQuantity,
  type QuantityKind,
  unitSymbols,
} from '../units/index.ts';
import { HELP, type Help, type Report, shown } from './meta.ts';

/** Lowest and highest value allowed, in the inside unit. */
export type Range = { readonly min?: number; readonly above?: number; readonly max?: number };

type Context = { addIssue(issue: { code: 'custom'; message: string; params: { report: Report } }): void };

/** Hands a finished message to the translator of issues. */
export function reject(ctx: Context, report: Report): never {
  ctx.addIssue({ code: 'custom', message: 'see report', params: { report } });
  return z.NEVER;
}

/** Quantity in the inside unit of its kind. */
export function quantity(kind: QuantityKind, description: string, range: Range = {}, example?: string) {
  const def = kindDef(kind);
  const read = (text: string): Parsed => parseQuantity(kind, text);
  const show = (value: number): string => formatQuantity(kind, value);
  const help: Help = {
    description,
    expected: `${def.name} in ${unitSymbols(kind).join(', ')}`,
    examples: example === undefined ? def.examples : [example],
    ...rangeHelp(range, show),
    explain: explainQuantity(def.examples.join(' or '), `${def.name} in ${unitSymbols(kind).join(', ')}`),
  };
  if (def.bareNumber === true) {
    const leaf = z
      .union([z.number(), z.string()])
      .transform((value, ctx) => within(String(value), read, range, show, ctx));
    return leaf.register(HELP, help);
  }
  return z
    .string()
    .transform((value, ctx) => within(value, read, range, show, ctx))
    .register(HELP, help);
}

/** Duration in milliseconds. */
export function duration(description: string, range: Range = {}, example = '15 min') {
  const expected = 'a duration in ms, s, min, h, d, wk, mo, y';
  return z
    .string()
    .transform((value, ctx) => within(value, parseDuration, range, formatDuration, ctx))
    .register(HELP, {
      description,
      expected,
      examples: [example],
      explain: explainQuantity(example, expected),
      ...rangeHelp(range, formatDuration),
    });
}

/** Either a volume or an energy, told apart by its unit; more than zero unless `orNone`. */
export function volumeOrEnergy(description: string, example: string, orNone = false) {
  const expected = 'a volume or an energy with its unit';
  return z
    .string()
    .transform((value, ctx): { kind: 'litres' | 'energy'; amount: number } => {
      const energy = parseQuantity('energy', value);
      if (energy.ok) return { kind: 'energy', amount: positive(energy.value / 1000, value, orNone, ctx) };
      const volume = parseQuantity('volume', value);
      if (volume.ok) return { kind: 'litres', amount: positive(volume.value, value, orNone, ctx) };
      return reject(ctx, (at, path) => problem('SW-CFG-006', { at, path, found: volume.found, expected, example }));
    })
    .register(HELP, { description, expected, examples: [example], explain: explainQuantity(example, expected) });
}

function positive(value: number, text: string, orNone: boolean, ctx: Context): number {
  if (value > 0 || (orNone && value === 0)) return value;
  const expected = orNone ? 'at least 0' : 'more than 0';
  return reject(ctx, (at, path) => problem('SW-CFG-007', { at, path, found: shown(text), expected }));
}

function within(
  text: string,
  read: (text: string) => Parsed,
  range: Range,
  show: (value: number) => string,
  ctx: Context,
): number {
  const parsed = read(text);
  if (!parsed.ok) return reject(ctx, misreadReport(parsed));
  const { min, above, max } = range;
  const value = parsed.value;
  if (
    (above === undefined || value > above) &&
    (min === undefined || value >= min) &&
    (max === undefined || value <= max)
  )
    return value;
  const expected = rangeText(range, show);
  return reject(ctx, (at, path) => problem('SW-CFG-007', { at, path, found: shown(text), expected }));
}

export function rangeText({ min, above, max }: Range, show: (value: number) => string): string {
  const low = above === undefined ? min : above;
  if (low === undefined) return max === undefined ? 'any value' : `at most ${show(max)}`;
  const lowText = above === undefined ? `at least ${show(low)}` : `more than ${show(low)}`;
  if (max === undefined) return lowText;
  return above === undefined ? `${show(low)} to ${show(max)}` : `${lowText}, at most ${show(max)}`;
}

function rangeHelp(range: Range, show: (value: number) => string): { readonly range?: string } {
  return Object.keys(range).length === 0 ? {} : { range: rangeText(range, show) };
}

export function misreadReport({ found, expected, example }: Misread): Report {
  return (at, path) => problem('SW-CFG-006', { at, path, found, expected, example });
}

/** A number where a quantity belongs is the commonest slip: say that the unit is missing. */
function explainQuantity(example: string, expected: string): (value: unknown) => Report | null {
  return (value) => {
    if (value === undefined) return null;
    const found = typeof value === 'number' ? `${value} (no unit)` : shown(value);
    return (at, path) => problem('SW-CFG-006', { at, path, found, expected, example });
  };
}

/** Domains of the hub whose entities read as a number. */
export const NUMBERS = ['sensor', 'number', 'input_number'];

const ENTITY = /^[a-z][a-z0-9_]*\.[a-z0-9][a-z0-9_]*$/;

/** Entity of the hub, of one of the domains where these are given. */
export function entity(description: string, example: string, domains: readonly string[] = []) {
  const expected = domains.length === 0 ? 'such as switch.return_pump' : beginsWith(domains);
  return z
    .string()
    .transform((value, ctx) => {
      const domain = value.split('.')[0] ?? '';
      if (ENTITY.test(value) && (domains.length === 0 || domains.includes(domain))) return value;
      return reject(ctx, (at, path) => problem('SW-CFG-011', { at, path, found: shown(value), expected }));
    })
    .register(HELP, { description, expected: `an entity of the hub ${expected}`, examples: [example] });
}

export function beginsWith(domains: readonly string[]): string {
  const last = domains.at(-1) ?? '';
  const list = domains.length > 1 ? `${domains.slice(0, -1).join(', ')} or ${last}` : last;
  return `whose id begins with ${list}`;
}

/** Text that is not empty. */
export function text(description: string, example: string) {
  return z
    .string()
    .transform((value, ctx) => {
      if (value.trim() !== '') return value.trim();
      return reject(ctx, (at, path) =>
        problem('SW-CFG-005', { at, path, found: shown(value), expected: 'a text', example }),
      );
    })
    .register(HELP, { description, expected: 'a text', examples: [example] });
}

export function yesNo(description: string) {
  return z.boolean().register(HELP, { description, expected: 'true or false', examples: ['true'] });
}

export function wholeNumber(description: string, min: number, max: number, example: number) {
  return z
    .number()
    .transform((value, ctx) => {
      if (Number.isInteger(value) && value >= min && value <= max) return value;
      return reject(ctx, (at, path) =>
        problem('SW-CFG-007', { at, path, found: shown(value), expected: `a whole number from ${min} to ${max}` }),
      );
    })
    .register(HELP, { description, expected: `a whole number from ${min} to ${max}`, examples: [example] });
}

/** One word of a closed list. */
export function oneOf<const W extends readonly [string, ...string[]]>(words: W, what: string, description: string) {
  const help: Help = { description, expected: `one of ${words.join(', ')}`, examples: [words[0]], what };
  return z.enum(words).register(HELP, help);
}

/** A day or an instant, still as text: its meaning needs the zone of the tank. */
export function day(description: string) {
  return z
    .string()
    .transform((value, ctx) => {
      if (parseInstant(value, 'UTC').ok) return value;
      return reject(ctx, (at, path) => problem('SW-CFG-016', { at, path, found: shown(value) }));
    })
    .register(HELP, { description, expected: 'a day or an instant', examples: ['2026-01-05', '2026-01-05T14:30Z'] });
}

/** Path of a file, taken from the folder of the configuration. */
export function file(description: string, example: string) {
  return text(description, example);
}

/** Groups keyed by ids of the keeper's choosing. */
export function named<T extends z.core.SomeType>(entry: T, description: string, example: string) {
  return z
    .record(z.string().regex(ID), entry)
    .prefault({})
    .register(HELP, { description, expected: 'named groups', examples: [example] });
}

export const ID = /^[a-z0-9]+(-[a-z0-9]+)*$/;

/** `09:30-21:30`; over midnight is fine. */
export function timesOfDay(description: string, example: string) {
  const expected = 'two times of day, FROM-TO';
  return z
    .string()
    .transform((value, ctx) => {
      const match = /^([01]?\d|2[0-3]):([0-5]\d) *[-–] *([01]?\d|2[0-3]):([0-5]\d)$/.exec(value.trim());
      const [, onHour, onMinute, offHour, offMinute] = match ?? [];
      const hours = {
        onMinute: Number(onHour) * 60 + Number(onMinute),
        offMinute: Number(offHour) * 60 + Number(offMinute),
      };
      if (match && hours.onMinute !== hours.offMinute) return hours;
      return reject(ctx, (at, path) => problem('SW-CFG-005', { at, path, found: shown(value), expected, example }));
    })
    .register(HELP, { description, expected, examples: [example] });
}
