import { problem } from '../../errors/index.ts';
import {
  kindDef,
  parseDuration,
  parseNumber,
  parseQuantity,
  type QuantityKind,
  unitSymbols,
} from '../../units/index.ts';
import { CONVENTIONS } from '../../water/index.ts';
import type { Given, Result, Takes, Topic, TopicOption } from './types.ts';

type Values = Readonly<Record<string, string | boolean | readonly string[] | undefined>>;

/** Options as the command line gave them, read when a topic asks for them. */
export function givenFor(topic: Topic, values: Values): Given {
  const option = (name: string): TopicOption => {
    const found = topic.options.find((one) => one.name === name);
    if (found === undefined) throw new Error(`${topic.name} declares no option ${name}`);
    return found;
  };
  const raw = (name: string): string | undefined => {
    const value = values[camel(name)];
    return typeof value === 'string' ? value : option(name).fallback;
  };
  const needed = (name: string): string => {
    const text = raw(name);
    if (text !== undefined) return text;
    const { takes, example } = option(name);
    throw problem('SW-WAT-003', {
      argument: `--${name}`,
      expected: expectedOf(takes),
      example: `--${name} ${quoted(example)}`,
    });
  };
  return {
    has: (name) => values[camel(name)] !== undefined,
    quantity: (name) => readAmount(option(name), needed(name)),
    maybe: (name) => {
      const text = raw(name);
      return text === undefined ? undefined : readAmount(option(name), text);
    },
    text: (name) => readText(option(name), needed(name)),
    flag: (name) => values[camel(name)] === true,
    all: (name) => {
      const value = values[camel(name)];
      return Array.isArray(value) ? value : [];
    },
  };
}

/** As the parser of the command line keys them: "reading-error" is `readingError`. */
export function camel(name: string): string {
  return name.replace(/-([a-z])/g, (_, letter: string) => letter.toUpperCase());
}

export function quoted(text: string): string {
  return /[^\w./:%-]/.test(text) ? `"${text}"` : text;
}

export function expectedOf(takes: Takes): string {
  if (typeof takes === 'object') return `one of ${takes.oneOf.join(', ')}`;
  switch (takes) {
    case 'duration':
      return 'a duration in s, min, h, d, wk, mo, y';
    case 'number':
      return 'a number';
    case 'convention':
      return `one of ${Object.keys(CONVENTIONS).join(', ')}, or two temperatures as in "25 °C / 60 °F"`;
    case 'wire':
      return 'a size of wire in AWG or mm²';
    case 'run':
      return 'litres an hour and the temperature of the feed';
    case 'night':
      return 'hours, temperatures of tank and room, and the heat put in';
    case 'flag':
      return 'nothing behind it';
    default:
      return `${kindDef(takes).name} in ${unitSymbols(takes).join(', ')}`;
  }
}

function misread(option: TopicOption, found: string, expected: string): Error {
  return problem('SW-WAT-001', {
    argument: `--${option.name}`,
    found,
    expected,
    example: `--${option.name} ${quoted(option.example)}`,
  });
}

function readAmount(option: TopicOption, text: string): number {
  const { takes } = option;
  if (takes === 'number') {
    const value = parseNumber(text);
    if (value === null) throw misread(option, `"${text}"`, 'a number');
    return value;
  }
  const parsed = takes === 'duration' ? parseDuration(text) : parseQuantity(takes as QuantityKind, text);
  if (!parsed.ok) throw misread(option, parsed.found, parsed.expected);
  return parsed.value;
}

function readText(option: TopicOption, text: string): string {
  const { takes } = option;
  if (typeof takes !== 'object') return text;
  const found = takes.oneOf.find((one) => one.toLowerCase() === text.trim().toLowerCase());
  if (found === undefined) throw misread(option, `"${text}"`, expectedOf(takes));
  return found;
}

/** The answer of a topic; amounts so far apart that no number holds the answer are refused like any other mistake. */
export function runTopic(topic: Topic, given: Given): Result {
  const result = topic.run(given);
  const numbers = [result.answer, ...Object.values(result.also ?? {})].flatMap(({ value, low, high }) => [
    value,
    low ?? value,
    high ?? value,
  ]);
  // Twelve digits of more than this are no reading of any instrument.
  if (numbers.every((one) => Math.abs(one) < 1e18)) return result;
  throw problem('SW-WAT-004', {
    argument: topic.name,
    found: 'one of the amounts',
    why: 'the answer is larger than anything in a house',
    hint: 'Check the amounts and their units.',
  });
}
