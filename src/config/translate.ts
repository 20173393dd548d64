import type { z } from 'zod';
import { didYouMean, listWords, problem } from '../errors/index.ts';
import type { Findings } from './findings.ts';
import { helpOf, type Report, schemaAt, shapeOf, shown } from './meta.ts';

type Issue = z.core.$ZodIssue;

/** Turns what the schema found into messages of the catalogue. */
export function translate(schema: z.core.$ZodType, raw: unknown, issues: readonly Issue[], findings: Findings): void {
  for (const issue of issues) translateOne(schema, raw, issue, findings);
}

function translateOne(schema: z.core.$ZodType, raw: unknown, issue: Issue, findings: Findings): void {
  if (issue.code === 'unrecognized_keys') unknownKeys(schema, issue.path, issue.keys, findings);
  else if (issue.code === 'invalid_key') badName(issue.path, findings);
  else {
    const missing = valueAt(raw, issue.path) === undefined;
    findings.add(issue.path, missing ? 'key' : 'value', reportOf(schema, raw, issue));
  }
}

function reportOf(schema: z.core.$ZodType, raw: unknown, issue: Issue): Report {
  const own = issue.code === 'custom' ? (issue.params?.['report'] as Report | undefined) : undefined;
  if (own !== undefined) return own;
  const value = valueAt(raw, issue.path);
  const help = helpOf(schemaAt(schema, issue.path) ?? schema);
  const sharper = help?.explain?.(value) ?? null;
  if (sharper !== null) return sharper;
  const expected = help?.expected ?? 'a group of keys';
  const example = exampleLine(issue.path, help?.examples[0]);
  if (value === undefined) return (at, path) => problem('SW-CFG-004', { at, path, expected, example });
  if (issue.code === 'invalid_value' && typeof value === 'string') {
    const words = issue.values.map(String);
    const what = help?.what ?? 'word';
    const hint = didYouMean(value, words, 'Choose one of these.');
    return (at, path) => problem('SW-CFG-008', { at, path, found: value, what, expected: listWords(words, 30), hint });
  }
  const found = help?.secret === true ? 'something else' : shown(value);
  return (at, path) => problem('SW-CFG-005', { at, path, found, expected, example });
}

function unknownKeys(
  schema: z.core.$ZodType,
  path: readonly PropertyKey[],
  keys: readonly string[],
  findings: Findings,
): void {
  const here = schemaAt(schema, path);
  const allowed = here === null ? [] : Object.keys(shapeOf(here));
  for (const key of keys) {
    const sharper = (here === null ? null : helpOf(here))?.explainKey?.(key) ?? null;
    findings.add([...path, key], 'key', (at, where) => {
      if (sharper !== null) return sharper(at, where);
      const secretKey = allowed.find((each) => each === 'tokenFile' || each === 'token');
      if (/^(access_?)?(token|password|secret|api_?key)$/i.test(key) && secretKey !== undefined) {
        return problem('SW-CFG-013', {
          at,
          path: [...path, key].map(String).join('.'),
          example: 'tokenFile: secrets/node-red',
        });
      }
      return problem('SW-CFG-003', {
        at,
        path: path.length === 0 ? 'top level' : path.map(String).join('.'),
        found: key,
        expected: listWords(allowed, 40),
        hint: didYouMean(key, allowed, 'Remove it, or see docs/configuration.md for what belongs here.'),
      });
    });
  }
}

function badName(path: readonly PropertyKey[], findings: Findings): void {
  const name = String(path.at(-1) ?? '');
  const parts = name.toLowerCase().match(/[a-z0-9]+/g);
  const example = parts === null ? 'return-pump' : parts.join('-');
  findings.add(path, 'key', (at) =>
    problem('SW-CFG-022', { at, path: path.slice(0, -1).map(String).join('.'), found: name, example }),
  );
}

/** `key: value` as one would type it; examples that already are whole lines stay so. */
function exampleLine(path: readonly PropertyKey[], example: string | number | undefined): string {
  const key = String(path.at(-1) ?? 'tank');
  if (example === undefined) return `${key}: …`;
  return String(example).startsWith(`${key}:`) ? String(example) : `${key}: ${example}`;
}

export function valueAt(raw: unknown, path: readonly PropertyKey[]): unknown {
  let here: unknown = raw;
  for (const step of path) {
    if (typeof here !== 'object' || here === null || !Object.hasOwn(here, step)) return undefined;
    here = (here as Readonly<Record<PropertyKey, unknown>>)[step];
  }
  return here;
}
