import { existsSync, readFileSync } from 'node:fs';
import type { DatabaseSync } from 'node:sqlite';
import { problem } from '../../errors/index.ts';
import type { Log } from '../../ports/index.ts';
import { quickCheck } from './check.ts';
import { migrate, refuseNewer } from './migrate.ts';
import { MIGRATIONS } from './schema.ts';
import { schemaVersion } from './version.ts';

/** Settings of the store's own. The first stands while a service has it open, the second once damage was found. */
export const OPEN_MARK = 'open-since';
export const DAMAGE_MARK = 'damage';

/** Beside the store while a restore exchanges the files; names where the old one went. */
export const restoreMark = (file: string): string => `${file}.restoring`;

export function refuseHalfRestored(file: string): void {
  const mark = restoreMark(file);
  if (existsSync(mark)) throw problem('SW-STORE-012', { file, aside: readFileSync(mark, 'utf8').trim() });
}

/** For looking only: refuses what this version cannot read. */
export function prepareToLook(db: DatabaseSync, file: string): void {
  refuseNewer(db, file);
  const found = schemaVersion(db);
  if (found === 0) throw problem('SW-STORE-006', { file, detail: 'it holds no store yet' });
  if (found < MIGRATIONS.length) throw problem('SW-STORE-009', { file, found, known: MIGRATIONS.length });
}

type Preparing = { readonly log: Log; readonly limitPages?: number };

/** Checks the file if need be and brings it up to date. False where its last run did not close it. */
export function prepareToWrite(db: DatabaseSync, file: string, { log, limitPages }: Preparing): boolean {
  refuseNewer(db, file);
  const version = schemaVersion(db);
  if (version === 0) refuseForeign(db, file);
  db.exec('PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON');
  if (limitPages !== undefined) db.exec(`PRAGMA max_page_count = ${Math.floor(limitPages)}`);
  let wasClosed = true;
  if (version > 0) {
    wasClosed = mark(db, OPEN_MARK) === null;
    if (!wasClosed) {
      log.info(`the store ${file} was not closed by its last run; checking it`);
      quickCheck(db, file);
    }
    const damage = mark(db, DAMAGE_MARK);
    if (damage !== null) throw problem('SW-STORE-005', { file, detail: damage });
  }
  migrate(db, file);
  return wasClosed;
}

function mark(db: DatabaseSync, key: string): string | null {
  const row = db.prepare('SELECT value FROM settings WHERE key = ?').get(key);
  return row === undefined ? null : String(row['value']);
}

/** A file with tables that are not ours is somebody else's data, named by mistake. */
function refuseForeign(db: DatabaseSync, file: string): void {
  const tables = Number(db.prepare(`SELECT count(*) AS n FROM sqlite_schema`).get()?.['n'] ?? 0);
  if (tables > 0) throw problem('SW-STORE-006', { file, detail: 'it is a database of something else' });
}
