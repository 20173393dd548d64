import { problem } from '../errors/index.ts';
import type { ReminderEffect } from '../remind/index.ts';
import type { InstantMs } from '../units/index.ts';
import type { JournalEntry } from './types.ts';

/** Newest entry shape this program knows. A reader keeps every version ever shipped. */
export const ENTRY_VERSION = 1;

type FieldType = 'string' | 'number' | 'object';

/** Fields without which an entry can't be replayed, by kind; what an entry carries beyond these is kept untouched. */
const FIELDS: Readonly<Record<JournalEntry['kind'], Readonly<Record<string, FieldType>>>> = {
  'session-event': { session: 'string', event: 'object' },
  'part-fitted': {
    part: 'string',
    life: 'number',
    fittedAt: 'number',
    by: 'string',
    usageAtRemoval: 'object',
    baseline: 'object',
  },
  'put-off': { part: 'string', until: 'number', by: 'string' },
  reminder: { key: 'string', change: 'string', token: 'string' },
  reading: { what: 'string', value: 'number', unit: 'string', by: 'string' },
  note: { text: 'string' },
  'piece-fitted': { part: 'string', life: 'number', fittedAt: 'number', by: 'string', before: 'object' },
  'spare-fitted': {
    part: 'string',
    life: 'number',
    fittedAt: 'number',
    by: 'string',
    spare: 'string',
    carried: 'object',
    usageAtRemoval: 'object',
    baseline: 'object',
  },
  'part-undone': { part: 'string', life: 'number', undoes: 'number', by: 'string' },
  'limit-set': {
    part: 'string',
    measure: 'string',
    change: 'string',
    amount: 'number',
    configured: 'number',
    by: 'string',
  },
  seeded: { part: 'string', life: 'number', fittedAt: 'number', by: 'string', carried: 'object' },
  answered: {
    part: 'string',
    life: 'number',
    by: 'string',
    question: 'string',
    choice: 'string',
    measure: 'string',
    amount: 'number',
    before: 'object',
  },
  guard: { change: 'string', guard: 'string', text: 'string', by: 'string' },
  'after-watch': { change: 'string', session: 'string', text: 'string', watch: 'object' },
  acclimation: { change: 'string', lamp: 'string', programme: 'object' },
  recounted: {
    part: 'string',
    life: 'number',
    by: 'string',
    measure: 'string',
    thresholdW: 'number',
    old: 'object',
    now: 'object',
    before: 'object',
  },
};

const isRecord = (value: unknown): value is Record<string, unknown> =>
  typeof value === 'object' && value !== null && !Array.isArray(value);

const shown = (value: unknown): string => {
  const text = JSON.stringify(value) ?? String(value);
  return text.length > 60 ? `${text.slice(0, 57)}...` : text;
};

const parsed = (text: string): unknown => {
  try {
    return JSON.parse(text);
  } catch {
    throw problem('SW-REC-002', { path: 'entry', found: shown(text), expected: 'JSON' });
  }
};

/** One stored entry, as text or already parsed. Throws a catalogue error that names what was found and expected. */
export const readEntry = (stored: unknown): JournalEntry => {
  const value = typeof stored === 'string' ? parsed(stored) : stored;
  if (!isRecord(value)) throw problem('SW-REC-002', { path: 'entry', found: shown(value), expected: 'an object' });
  if (value['v'] !== ENTRY_VERSION) throw problem('SW-REC-001', { found: shown(value['v']), known: ENTRY_VERSION });
  const kind = value['kind'];
  if (typeof kind !== 'string' || !Object.hasOwn(FIELDS, kind))
    throw problem('SW-REC-002', { path: 'kind', found: shown(kind), expected: Object.keys(FIELDS).join(', ') });
  const fields: Readonly<Record<string, FieldType>> = { at: 'number', ...FIELDS[kind as JournalEntry['kind']] };
  for (const [path, expected] of Object.entries(fields)) {
    const found = value[path];
    const fits =
      expected === 'object'
        ? isRecord(found)
        : expected === 'number'
          ? Number.isFinite(found)
          : typeof found === expected;
    if (!fits)
      throw problem('SW-REC-002', {
        path,
        found: shown(found),
        expected: expected === 'object' ? 'an object' : `a ${expected}`,
      });
  }
  // Checked field by field above; the compiler can't follow a table.
  return value as unknown as JournalEntry;
};

type ReminderEntry = Extract<JournalEntry, { kind: 'reminder' }>;

/** Journal line for a reminder on its way out ("sending"), known to be in the hub ("raised") or taken back. */
export const reminderEntry = (
  effect: ReminderEffect,
  change: ReminderEntry['change'],
  at: InstantMs,
): ReminderEntry => {
  if (effect.kind === 'clear') return { v: 1, kind: 'reminder', at, key: effect.key, change: 'cleared', token: '' };
  const { key, token, part, life, word } = effect.reminder;
  return { v: 1, kind: 'reminder', at, key, change, token, part, life, word };
};
