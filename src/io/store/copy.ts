import { chmodSync, existsSync, renameSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { dirname, resolve } from 'node:path';
import { backup, DatabaseSync } from 'node:sqlite';
import { problem } from '../../errors/index.ts';
import { fullCheck } from './check.ts';
import { BUSY_WAIT_MS, storeProblem, told } from './faults.ts';
import { lockStore } from './lock.ts';
import { refuseNewer } from './migrate.ts';
import { freeName, needWritable, syncPath } from './names.ts';
import { DAMAGE_MARK, OPEN_MARK, restoreMark } from './prepare.ts';
import { schemaVersion } from './version.ts';

export type BackupReport = { readonly file: string; readonly bytes: number; readonly schema: number };
export type RestoreReport = BackupReport & {
  /** Where the store that was there before lies now; null where there was none. */
  readonly replaced: string | null;
};

/**
 * A copy of the store as it is at one moment, checked and on disk when this returns; a running service is not disturbed.
 * Never overwrites. A damaged store is not copied: that would pass for a backup.
 */
export async function backupStore(file: string, to: string): Promise<BackupReport> {
  refuseTaken(to);
  const schema = lookAt(file);
  const partial = `${to}.partial`;
  try {
    await copyChecked(file, partial);
    moveTo(partial, to);
  } catch (error) {
    rmSync(partial, { force: true });
    throw storeProblem(error, to, 'write');
  }
  return { file: to, bytes: statSync(to).size, schema };
}

/**
 * Puts a backup in the place of the store. Refuses what is damaged or of a newer version, and while a service runs on the
 * store; what was there before stays beside it.
 */
export async function restoreStore(from: string, file: string): Promise<RestoreReport> {
  if (resolve(from) === resolve(file)) throw problem('SW-STORE-010', { file });
  const schema = lookAt(from);
  refuseNoFolder(file);
  needWritable(file);
  const damage = fullCheck(from);
  if (damage !== null) throw problem('SW-STORE-005', { file: from, detail: damage });
  const unlock = lockStore(file);
  const partial = `${file}.partial`;
  try {
    await copyChecked(from, partial);
    const replaced = exchange(partial, file);
    return { file, bytes: statSync(file).size, schema, replaced };
  } catch (error) {
    rmSync(partial, { force: true });
    throw storeProblem(error, file, 'write');
  } finally {
    unlock();
  }
}

export function refuseTaken(path: string): void {
  refuseNoFolder(path);
  if (existsSync(path)) throw problem('SW-STORE-010', { file: path });
}

function refuseNoFolder(path: string): void {
  const folder = dirname(path);
  if (!existsSync(folder)) throw problem('SW-STORE-006', { file: path, detail: `the folder ${folder} does not exist` });
}

/** The schema of a store that can be read by this version. */
function lookAt(file: string): number {
  if (!existsSync(file)) throw problem('SW-STORE-006', { file, detail: 'there is no such file' });
  return told(file, 'open', () => {
    const db = new DatabaseSync(file, { readOnly: true, timeout: BUSY_WAIT_MS });
    try {
      refuseNewer(db, file);
      const schema = schemaVersion(db);
      const ours = db.prepare(
        `SELECT count(*) AS n FROM sqlite_schema WHERE name IN ('journal', 'counters', 'slices')`,
      );
      if (schema === 0 || Number(ours.get()?.['n']) < 3) {
        throw problem('SW-STORE-006', { file, detail: 'it holds no store' });
      }
      return schema;
    } finally {
      db.close();
    }
  });
}

/** All in one step, so that a service that goes on writing cannot make it begin again and again. */
const ALL_PAGES = 2 ** 31 - 1;

async function copyChecked(file: string, partial: string): Promise<void> {
  rmSync(partial, { force: true });
  const source = new DatabaseSync(file, { readOnly: true, timeout: BUSY_WAIT_MS });
  try {
    await backup(source, partial, { rate: ALL_PAGES });
  } catch (error) {
    throw storeProblem(error, file, 'open');
  } finally {
    source.close();
  }
  const copy = new DatabaseSync(partial);
  try {
    // One file without a log beside it, and closed as a service would have closed it.
    copy.exec('PRAGMA journal_mode = DELETE');
    copy.prepare('DELETE FROM settings WHERE key IN (?, ?)').run(OPEN_MARK, DAMAGE_MARK);
  } finally {
    copy.close();
  }
  chmodSync(partial, 0o600);
  const damage = fullCheck(partial);
  if (damage !== null) throw problem('SW-STORE-005', { file, detail: damage });
}

/** Moves a finished file to its place; both outlast a power cut. */
export function moveTo(partial: string, to: string): void {
  syncPath(partial);
  renameSync(partial, to);
  syncPath(dirname(to));
}

/** Old out, new in. A mark stands meanwhile, because without it a start in between would begin an empty store. */
function exchange(partial: string, file: string): string | null {
  syncPath(partial);
  const mark = restoreMark(file);
  const log = `${file}-wal`;
  const hasOld = existsSync(file) || existsSync(log);
  const aside = freeName(`${file}.replaced`);
  if (hasOld) {
    writeFileSync(mark, `${aside}\n`);
    syncPath(mark);
    if (existsSync(file)) renameSync(file, aside);
    if (existsSync(log)) renameSync(log, `${aside}-wal`);
    rmSync(`${file}-shm`, { force: true });
  }
  moveTo(partial, file);
  rmSync(mark, { force: true });
  return hasOld ? aside : null;
}
