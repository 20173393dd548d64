import { z } from 'zod';
import { PERIODS } from '../app/index.ts';
import { MEASURES } from '../model/index.ts';

// Strict: an unknown key is refused, so a misspelt one is never silently ignored.
const name = z.string().min(1).max(100);

export const EMPTY_BODY = z.strictObject({});

export const START_BODY = z.strictObject({ procedure: name });

export const CONFIRM_BODY = z.strictObject({
  session: name,
  step: name,
  nonce: z.string().min(1).max(200),
  /** Where the step asks for one, in the unit it names. */
  value: z.number().optional(),
});

export const BACK_BODY = z.strictObject({ equipment: name });

export const REPLACED_BODY = z.strictObject({
  /** When it was done, UTC milliseconds; absent = now. */
  at: z.int().nonnegative().optional(),
  note: z.string().max(500).optional(),
  /** So many of the oldest pieces of a set, or those at these places. */
  pieces: z.int().positive().optional(),
  places: z.array(z.int().positive()).max(100).optional(),
  /** The rotable spare that went in; `asNew` = it begins at zero. */
  with: name.optional(),
  asNew: z.boolean().optional(),
  /** What came out was found worn out. */
  worn: z.boolean().optional(),
});

const amount = z.strictObject({ low: z.number(), best: z.number(), high: z.number() });

export const SEED_BODY = z.strictObject({
  fittedAt: z.int(),
  /** What is on it now, in the unit of each measure. */
  used: z.partialRecord(z.enum(MEASURES), amount).optional(),
  note: z.string().max(500).optional(),
});

export const RECOUNT_BODY = z.strictObject({ thresholdW: z.number().positive(), take: z.boolean().optional() });

export const LIMIT_BODY = z.strictObject({
  change: z.enum(['accepted', 'given-back']),
  measure: z.enum(MEASURES).optional(),
});

export const SOURCE_BODY = z.strictObject({ entity: z.string().regex(/^[a-z][a-z0-9_]*\.[a-z0-9][a-z0-9_]*$/) });

export const ANSWER_BODY = z.strictObject({ choice: name });

export const PERIOD_QUERY = z.strictObject({ period: z.enum(PERIODS).optional() });

export const QUESTIONS_QUERY = z.strictObject({ all: z.enum(['true', 'false']).optional() });

export const READING_BODY = z.strictObject({ what: name, value: z.number(), unit: z.string().min(1).max(20) });

export const PART_PARAMS = z.object({ part: name });

export const PROCEDURE_PARAMS = z.object({ procedure: name });

export const COUNTER_PARAMS = z.object({ counter: name });

export const GUARD_PARAMS = z.object({ guard: name });

export const LAMP_PARAMS = z.object({ lamp: name });

export const LIGHT_BODY = z.strictObject({
  /** Usual hours, `09:30-18:30`, where neither configuration nor count tells them. */
  hours: z.string().max(20).optional(),
});

export const QUESTION_PARAMS = z.object({ question: name });

/** Without the keys that were not sent: an absent key and an undefined one are not the same to the service. */
export function given<T extends Readonly<Record<string, unknown>>>(
  fields: T,
): { readonly [K in keyof T]?: Exclude<T[K], undefined> } {
  const kept = Object.entries(fields).filter(([, value]) => value !== undefined);
  return Object.fromEntries(kept) as { readonly [K in keyof T]?: Exclude<T[K], undefined> };
}

/** The first thing wrong, in the words of the catalogue's entry for bodies. */
export function explain(error: z.ZodError, value: unknown): { path: string; found: string; expected: string } {
  const issue = error.issues[0];
  if (issue === undefined) return { path: 'body', found: 'something else', expected: 'what the API page says' };
  if (issue.code === 'unrecognized_keys') {
    return {
      path: issue.keys.join(', ').slice(0, 80),
      found: 'an unknown key',
      expected: 'only the keys of this route',
    };
  }
  const path = issue.path.map(String);
  const found = path.reduce<unknown>((at, key) => (isRecord(at) ? at[key] : undefined), value);
  return { path: path.join('.') || 'body', found: shown(found), expected: expectation(issue) };
}

function expectation(issue: z.core.$ZodIssue): string {
  if (issue.code === 'invalid_type') return issue.expected === 'int' ? 'a whole number' : `a ${issue.expected}`;
  if (issue.code === 'too_small') return `at least ${issue.minimum}${issue.origin === 'string' ? ' characters' : ''}`;
  if (issue.code === 'too_big') return `at most ${issue.maximum}${issue.origin === 'string' ? ' characters' : ''}`;
  return issue.message;
}

/** Kinds rather than values: what was sent is not sent back. */
function shown(value: unknown): string {
  if (value === undefined) return 'nothing';
  if (typeof value === 'number') return String(value);
  if (typeof value === 'string') return value === '' ? 'an empty text' : `a text of ${value.length} characters`;
  return Array.isArray(value) ? 'a list' : value === null ? 'null' : typeof value;
}

function isRecord(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null;
}
