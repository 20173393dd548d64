import { DatabaseSync } from 'node:sqlite';
import { Worker } from 'node:worker_threads';
import { problem, SlackwaterError } from '../../errors/index.ts';
import { checkedText, checkSeal } from './bytes.ts';
import type { CheckAnswer } from './check-worker.ts';
import { detailOf, storeProblem } from './faults.ts';
import { schemaVersion } from './version.ts';

/** Up to this size all of the file is looked at before anything is counted; a slow card reads it in seconds. */
const ALL_AT_ONCE_BYTES = 64e6;

/** What counting, sessions and standings go by; small, and looked at after every unclean stop. */
const DECISIVE = ['settings', 'counters', 'cursors', 'resets', 'journal', 'lives', 'questions', 'sources'];

/** After an unclean stop, before anything is counted. The rest is looked at in the background. */
export function quickCheck(db: DatabaseSync, file: string): void {
  const row = db.prepare('SELECT page_count * page_size AS bytes FROM pragma_page_count(), pragma_page_size()').get();
  const whole = Number(row?.['bytes']) <= ALL_AT_ONCE_BYTES;
  const tables = new Set(
    db
      .prepare('SELECT name FROM sqlite_schema')
      .all()
      .map((one) => one['name']),
  );
  const checks = whole ? ['1'] : DECISIVE.filter((table) => tables.has(table));
  for (const check of checks) {
    const found = firstFinding(db, `quick_check(${check})`);
    if (found !== null) throw problem('SW-STORE-005', { file, detail: found });
  }
}

function firstFinding(db: DatabaseSync, pragma: string): string | null {
  const [first] = db.prepare(`PRAGMA ${pragma}`).all();
  const found = String(Object.values(first ?? {})[0] ?? 'no answer');
  return found === 'ok' ? null : found.replace(/^\*\*\* in database \w+ \*\*\*\s*/, '').replace(/\s*\n\s*/g, '; ');
}

/** Schema from which on rows carry check sums. */
const FIRST_WITH_SUMS = 2;

const CHECKED_TEXTS = [
  { what: 'journal entry', sql: 'SELECT seq AS name, entry AS text, crc FROM journal' },
  { what: 'the state of counter', sql: 'SELECT id AS name, state AS text, crc FROM counters WHERE state IS NOT NULL' },
  { what: 'a life of part', sql: 'SELECT part AS name, life AS text, crc FROM lives' },
];
const SEALED = [
  { what: 'hours of counter number', sql: 'SELECT counter AS name, packed FROM slice_blocks' },
  { what: 'minutes of entity number', sql: 'SELECT entity AS name, packed FROM minute_hours' },
  { what: 'minutes of entity number', sql: 'SELECT entity AS name, packed FROM minute_days' },
];

/** The file's structure, then every row that carries a check sum. Null: nothing found. */
export function fullCheck(file: string): string | null {
  let db: DatabaseSync | null = null;
  try {
    db = new DatabaseSync(file, { readOnly: true });
    const structure = firstFinding(db, 'integrity_check(1)');
    if (structure !== null) return structure;
    if (schemaVersion(db) < FIRST_WITH_SUMS) return null;
    for (const { what, sql } of CHECKED_TEXTS)
      for (const row of db.prepare(sql).iterate()) checkedText(`${what} ${row['name']}`, row['text'], row['crc']);
    for (const { what, sql } of SEALED)
      for (const row of db.prepare(sql).iterate()) checkSeal(`${what} ${row['name']}`, row['packed']);
    return null;
  } catch (error) {
    const told = storeProblem(error, file, 'open');
    if (told instanceof SlackwaterError && told.code === 'SW-STORE-005') return detailOf(error);
    throw told;
  } finally {
    db?.close();
  }
}

export type BackgroundCheck = { readonly done: Promise<string | null>; stop(): void };

/** The full check in a thread of its own, on a connection of its own: counting goes on beside it. */
export function checkInBackground(file: string): BackgroundCheck {
  const worker = new Worker(new URL('./check-worker.ts', import.meta.url), { workerData: file });
  worker.unref();
  const done = new Promise<string | null>((resolve, reject) => {
    worker.once('message', (answer: CheckAnswer) => resolve(answer.found));
    worker.once('error', reject);
    worker.once('exit', () => resolve(null));
  });
  return { done, stop: () => void worker.terminate() };
}
