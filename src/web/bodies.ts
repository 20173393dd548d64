import { z } from 'zod';

// Strict: an unknown key is refused, so a misspelt one is never silently ignored.
const name = z.string().min(1).max(100);

export const EMPTY_BODY = z.strictObject({});

export const START_BODY = z.strictObject({ procedure: name });

export const CONFIRM_BODY = z.strictObject({ session: name, step: name, nonce: z.string().min(1).max(200) });

export const REPLACED_BODY = z.strictObject({
  /** When it was done, UTC milliseconds; absent = now. */
  at: z.int().nonnegative().optional(),
  note: z.string().max(500).optional(),
});

export const READING_BODY = z.strictObject({ what: name, value: z.number(), unit: z.string().min(1).max(20) });

export const PART_PARAMS = z.object({ part: name });

export const PROCEDURE_PARAMS = z.object({ procedure: name });

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
