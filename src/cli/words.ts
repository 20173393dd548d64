import { didYouMean, listWords, problem } from '../errors/index.ts';
import type { Bounds, Measure, Part } from '../model/index.ts';
import { HOUR_MS, type InstantMs, type Parsed, parseDuration, parseInstant, parseQuantity } from '../units/index.ts';
import type { Loaded } from './config-file.ts';

/** A part of the configuration by its id; a wrong one is told before the service is asked. */
export function partCalled({ config }: Loaded, id: string): Part {
  const { parts } = config.tank;
  const part = parts.find((one) => one.id === id);
  if (part !== undefined) return part;
  const known = parts.map((one) => one.id);
  const hint = didYouMean(id, known, 'See `slackwater usage` for all parts.');
  throw problem('SW-CLI-002', { found: id, known: listWords(known), hint });
}

/** A day or a time in the zone of the tank. */
export function momentOf({ config }: Loaded, option: string, text: string, command: string): InstantMs {
  const parsed = parseInstant(text, config.tank.timeZone);
  if (parsed.ok) return parsed.value;
  throw problem('SW-CLI-007', {
    option,
    found: text,
    expected: 'a day or a time, as in "2026-11-20 14:30"',
    command,
  });
}

/** How an amount of each measure is written; `days` come from the date. */
const READERS: Readonly<Partial<Record<Measure, (text: string) => Parsed>>> = {
  'on-hours': (text) => scaled(parseDuration(text), HOUR_MS),
  starts: (text) => parseQuantity('count', text),
  actuations: (text) => parseQuantity('count', text),
  litres: (text) => parseQuantity('volume', text),
  energy: (text) => scaled(parseQuantity('energy', text), 1000),
  grams: (text) => parseQuantity('mass', text),
};

const EXAMPLE: Readonly<Partial<Record<Measure, string>>> = {
  'on-hours': '1,200 h',
  starts: '40,000 starts',
  actuations: '900 actuations',
  litres: '2,500 L',
  energy: '120 kWh',
  grams: '180 g',
};

function scaled(parsed: Parsed, per: number): Parsed {
  return parsed.ok ? { ok: true, value: parsed.value / per } : parsed;
}

/**
 * "1,200 h" or "1,100 h to 1,300 h", as the measure of the part that its unit belongs to. Between two bounds the best
 * figure is the middle.
 */
export function amountsOf(part: Part, texts: readonly string[]): Partial<Record<Measure, Bounds>> {
  const counted = (Object.keys(part.usageFrom) as Measure[]).filter((measure) => READERS[measure] !== undefined);
  const amounts: Partial<Record<Measure, Bounds>> = {};
  for (const text of texts) {
    const [first = '', second] = text.split(/\s+to\s+/);
    const found = counted.flatMap((measure) => {
      const read = READERS[measure];
      const [low, high] = [read?.(first), read?.(second ?? first)];
      if (low?.ok !== true || high?.ok !== true || low.value > high.value || low.value < 0) return [];
      return [[measure, { low: low.value, best: (low.value + high.value) / 2, high: high.value }] as const];
    });
    const [only] = found;
    if (only === undefined) {
      const examples = counted.map((measure) => `"${EXAMPLE[measure] ?? ''}"`);
      throw problem('SW-CLI-007', {
        option: '--used',
        found: text,
        expected:
          examples.length === 0
            ? 'nothing: no counter feeds this part'
            : `an amount, or two with "to" between, as in ${examples.join(' or ')}`,
        command: 'seed',
      });
    }
    amounts[only[0]] = only[1];
  }
  return amounts;
}
