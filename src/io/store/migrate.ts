import { chmodSync, rmSync } from 'node:fs';
import type { DatabaseSync } from 'node:sqlite';
import { problem } from '../../errors/index.ts';
import { syncPath } from './names.ts';
import { MIGRATIONS } from './schema.ts';
import { schemaVersion } from './version.ts';

/** Refuses a store of a newer version rather than guess what its tables mean. */
export function refuseNewer(db: DatabaseSync, file: string, known: number = MIGRATIONS.length): void {
  const found = schemaVersion(db);
  if (found > known) throw problem('SW-STORE-004', { file, found, known });
}

/** Where the copy made before leaving schema `version` lies. */
export const backupName = (file: string, version: number): string => `${file}.before-schema-${version + 1}`;

/** Brings the store up to date, one step a transaction, with a full copy beside it before the first. */
export function migrate(db: DatabaseSync, file: string, migrations: readonly string[] = MIGRATIONS): void {
  refuseNewer(db, file, migrations.length);
  const from = schemaVersion(db);
  if (from > 0 && from < migrations.length) copyTo(db, backupName(file, from));
  for (const [index, sql] of migrations.entries()) {
    if (index < from) continue;
    db.exec('BEGIN IMMEDIATE');
    try {
      db.exec(sql);
      db.exec(`PRAGMA user_version = ${index + 1}`);
      db.exec('COMMIT');
    } catch (error) {
      db.exec('ROLLBACK');
      throw error;
    }
  }
}

/** A copy left by an attempt that was cut short may be incomplete; the store itself has not been touched by then. */
function copyTo(db: DatabaseSync, target: string): void {
  rmSync(target, { force: true });
  db.prepare('VACUUM INTO ?').run(target);
  chmodSync(target, 0o600);
  // SQLite leaves it to the system when such a copy reaches the disk.
  syncPath(target);
}
