import type { z } from 'zod';
import { MEASURE_UNITS } from '../model/index.ts';
import { PARTS } from '../rules/index.ts';
import { formatNumber, KINDS, kindDef, type QuantityKind } from '../units/index.ts';
import { defaultOf, entryOf, type Help, helpOf, isOptional, shapeOf } from './meta.ts';
import { SCHEMA } from './schema.ts';

/** The page docs/configuration.md, whole, from the schema and the rule pack. */
export function referencePage(): string {
  const sections = Object.entries(shapeOf(SCHEMA)).flatMap(([key, schema]) => section(key, schema));
  return `${[...HEAD, ...sections, ...partKinds(), ...units()].join('\n')}\n`;
}

const HEAD = [
  '# slackwater.yaml',
  '',
  'One file describes the tank. A complete one to start from is [slackwater.example.yaml](slackwater.example.yaml); editors',
  'that know JSON Schema get help from [slackwater.schema.json](slackwater.schema.json). Check a file before use:',
  '',
  '    slackwater check slackwater.yaml',
  '',
  'Every finding names file, line and column, what was found, what is allowed and the nearest valid name.',
  '',
  '- Amounts carry their unit: `210 L`, `55 gal`, `25.5 °C`, `90 d`. See [Units](#units).',
  '- Names you choose (the keys under `equipment`, `parts` …) are lower-case letters, digits and dashes.',
  '- Secrets never stand in the file: point to an environment variable or to a file.',
  '- Paths start at the folder of the file.',
  '',
  'This page is written by `node src/config/write-docs.ts`.',
];

function section(key: string, schema: z.core.$ZodType): string[] {
  const help = helpOf(schema);
  const entry = entryOf(schema);
  const lines = ['', `## ${key}`, '', help?.description ?? ''];
  if (entry !== null) lines.push('', `Each entry: \`${key}.NAME\`.`);
  const rows = key === 'rules' ? ruleRows(schema) : tableRows(entry ?? schema, '');
  if (rows.length === 0) {
    lines.push('', `Expected: ${help?.expected ?? ''}. ${defaultText(schema)}`);
    return lines;
  }
  return [...lines, '', '| key | expected | left out | what it is |', '| --- | --- | --- | --- |', ...rows];
}

function tableRows(schema: z.core.$ZodType, prefix: string): string[] {
  return Object.entries(shapeOf(schema)).flatMap(([key, each]) => {
    const help = helpOf(each);
    const own = help === null ? [] : [row(`${prefix}${key}`, help.expected, leftOut(each), describeKey(help))];
    return [...own, ...tableRows(each, `${prefix}${key}.`)];
  });
}

function describeKey({ description, range }: Help): string {
  return range === undefined ? description : `${description} Allowed: ${range}.`;
}

/** A rule's group and its settings. */
function ruleRows(schema: z.core.$ZodType): string[] {
  return Object.entries(shapeOf(schema)).flatMap(([id, group]) =>
    Object.entries(shapeOf(group)).map(([key, each]) => {
      const help = helpOf(each);
      const rule = helpOf(group)?.description.split('. ')[0] ?? '';
      return row(
        `${id}.${key}`,
        help?.expected ?? '',
        `\`${help?.examples[0] ?? ''}\``,
        `${rule}: ${(help?.description ?? '').split('. Default')[0]}`,
      );
    }),
  );
}

function row(...cells: readonly string[]): string {
  const [key = '', ...rest] = cells;
  return `| \`${key}\` | ${rest.map((cell) => cell.replaceAll('|', '\\|')).join(' | ')} |`;
}

function leftOut(schema: z.core.$ZodType): string {
  const value = defaultOf(schema);
  if (value !== null && typeof value !== 'object') return `\`${String(value)}\``;
  if (Array.isArray(value)) return 'none';
  return isOptional(schema) ? 'allowed' : 'not allowed';
}

function defaultText(schema: z.core.$ZodType): string {
  const value = leftOut(schema);
  return value.startsWith('`') ? `Left out: ${value}.` : '';
}

function partKinds(): string[] {
  const rows = Object.values(PARTS).map((part) => {
    const limits = part.limits.map(({ measure, amount }) => `${formatNumber(amount, 1)} ${MEASURE_UNITS[measure]}`);
    return row(part.id, part.name, limits.join(' or '), part.safety ? 'yes' : 'no');
  });
  return [
    '',
    '## Kinds of parts',
    '',
    'The limits that hold where a part gives none of its own; the first one reached counts. Usual ranges are wide: treat',
    'these as a start and set `limits` to what your tank teaches you. A limit of a safety part that is longer than the usual',
    'one is reported by `slackwater check`.',
    '',
    '| kind | what | due at | safety part |',
    '| --- | --- | --- | --- |',
    ...rows,
  ];
}

function units(): string[] {
  const kinds = (Object.keys(KINDS) as QuantityKind[]).map((kind) => kindDef(kind));
  const rows = kinds.map((def) => {
    const symbols = def.units.map((unit) => `\`${unit.symbol}\``).join(', ');
    return `| ${def.name.replace(/^an? /, '')} | ${symbols} | ${def.examples.map((each) => `\`${each}\``).join(', ')} |`;
  });
  return [
    '',
    '## Units',
    '',
    'Decimals take a point. A comma may only part full groups of three: `3,600 h`. Gallons are US gallons unless written',
    '`UK gal`.',
    '',
    '| what | units | for example |',
    '| --- | --- | --- |',
    '| duration | `ms`, `s`, `min`, `h`, `d`, `wk`, `mo`, `y` | `30 s`, `3 h 20 min`, `90 d` |',
    ...rows,
    '',
    'A year is 365 days and a month a twelfth of that, so `12 mo`, `1 y` and `365 d` are the same limit.',
  ];
}
