import { accessSync, chmodSync, constants, existsSync } from 'node:fs';
import { dirname } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { problem, problemFrom } from '../../errors/index.ts';
import type { Clock, Log, StorePort } from '../../ports/index.ts';
import { askedTables } from './asked.ts';
import { countTables } from './counts.ts';
import { BUSY_WAIT_MS, told } from './faults.ts';
import { lockStore } from './lock.ts';
import { migrate, refuseNewer, schemaVersion } from './migrate.ts';
import { minuteTables } from './minutes.ts';
import { recordTables } from './records.ts';
import { MIGRATIONS } from './schema.ts';
import { sliceTable } from './slices.ts';

export type StoreOptions = {
  readonly clock: Clock;
  readonly log: Log;
  /** Looks only, also while a service runs on the store. */
  readonly readOnly?: boolean;
  /** Refuses to grow beyond so many pages of 4 kB, as a full disk would. */
  readonly limitPages?: number;
};

const OPEN_MARK = 'open-since';

/** Opens the store, making or bringing it up to date; keeps a second service off it until `close` or the end of the process. */
export function openStore(file: string, options: StoreOptions): StorePort {
  const { readOnly = false } = options;
  if (!existsSync(dirname(file))) {
    throw problem('SW-STORE-006', { file, detail: `the folder ${dirname(file)} does not exist` });
  }
  if (readOnly && !existsSync(file)) throw problem('SW-STORE-006', { file, detail: 'there is no such file' });
  if (!readOnly) needWritable(file);
  const unlock = readOnly ? () => {} : lockStore(file);
  let db: DatabaseSync | null = null;
  try {
    db = told(file, 'open', () => new DatabaseSync(file, { readOnly, timeout: BUSY_WAIT_MS }));
    const opened = db;
    // It holds the one-use tokens of reminders and confirmations.
    if (!readOnly) chmodSync(file, 0o600);
    told(file, 'open', () => prepareFile(opened, file, options));
    return told(file, 'open', () => storeOn(opened, file, options, unlock));
  } catch (error) {
    db?.close();
    unlock();
    throw error;
  }
}

/** SQLite keeps its log beside the file, so the folder has to be writable as well. */
function needWritable(file: string): void {
  try {
    accessSync(dirname(file), constants.W_OK);
    if (existsSync(file)) accessSync(file, constants.W_OK);
  } catch (error) {
    throw problemFrom(error, 'SW-STORE-002', { file });
  }
}

function prepareFile(db: DatabaseSync, file: string, { log, readOnly, limitPages }: StoreOptions): void {
  if (readOnly === true) {
    refuseNewer(db, file);
    const found = schemaVersion(db);
    if (found === 0) throw problem('SW-STORE-006', { file, detail: 'it holds no store yet' });
    if (found < MIGRATIONS.length) throw problem('SW-STORE-009', { file, found, known: MIGRATIONS.length });
    return;
  }
  if (schemaVersion(db) === 0) refuseForeign(db, file);
  db.exec('PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; PRAGMA foreign_keys = ON');
  if (limitPages !== undefined) db.exec(`PRAGMA max_page_count = ${Math.floor(limitPages)}`);
  migrate(db, file);
  const left = db.prepare('SELECT value FROM settings WHERE key = ?').get(OPEN_MARK);
  if (left !== undefined) {
    log.info(`the store ${file} was not closed by its last run; checking it`);
    quickCheck(db, file);
  }
}

/** A file with tables that are not ours is somebody else's data, named by mistake. */
function refuseForeign(db: DatabaseSync, file: string): void {
  const tables = Number(db.prepare(`SELECT count(*) AS n FROM sqlite_schema`).get()?.['n'] ?? 0);
  if (tables > 0) throw problem('SW-STORE-006', { file, detail: 'it is a database of something else' });
}

function quickCheck(db: DatabaseSync, file: string): void {
  const [first] = db.prepare('PRAGMA quick_check(1)').all();
  const found = String(first?.['quick_check'] ?? 'no answer');
  if (found !== 'ok') throw problem('SW-STORE-005', { file, detail: found });
}

function storeOn(db: DatabaseSync, file: string, options: StoreOptions, unlock: () => void): StorePort {
  const { clock } = options;
  const slices = sliceTable(db);
  const minutes = minuteTables(db);
  const asked = askedTables(db);
  const counts = countTables(db, { slices, minutes, asked });
  const records = recordTables(db);
  const begin = db.prepare('BEGIN IMMEDIATE');
  const commit = db.prepare('COMMIT');
  let fullSync = true;
  let open = true;

  const sync = (full: boolean): void => {
    if (full === fullSync) return;
    db.exec(`PRAGMA synchronous = ${full ? 'FULL' : 'NORMAL'}`);
    fullSync = full;
  };
  /**
   * All of `act` or nothing. `full`: on disk when this returns. Counts go without: a power cut may take the last of them
   * back together with their cursors, and history is asked again from there.
   */
  const transact = <T>(full: boolean, act: () => T): T => {
    if (!open) throw problem('SW-STORE-007', { file, detail: 'the store is closed' });
    if (options.readOnly === true) throw problem('SW-STORE-002', { file });
    return told(file, 'write', () => {
      sync(full);
      begin.run();
      try {
        const result = act();
        commit.run();
        return result;
      } catch (error) {
        if (db.isTransaction) db.exec('ROLLBACK');
        throw error;
      }
    });
  };
  const read = <T>(act: () => T): T => told(file, 'open', act);
  const store: StorePort = {
    counterStates: () => read(counts.states),
    cursors: () => read(counts.cursors),
    commitCounts: (done) => transact(false, () => counts.write(done)),
    slices: (counter, measure, from) => read(() => slices.of(counter, measure, from)),
    resets: (counter) => read(() => counts.resets(counter)),
    doubts: (counter) => read(() => asked.doubts(counter)),
    minutePower: (entity, from, to) => read(() => minutes.between(entity, from, to)),
    minuteStates: () => read(minutes.states),
    commitMinutes: (done) =>
      transact(false, () => {
        minutes.write(done);
        minutes.packNext();
      }),
    questions: (which = 'open') => read(() => asked.questions(which)),
    putQuestion: (question) => transact(true, () => asked.putQuestion(question)),
    answerQuestion: (id, answer) => transact(true, () => asked.answer(id, answer)),
    sources: (counter) => read(() => asked.sources(counter)),
    putSource: (entry) => transact(true, () => asked.putSource(counts.numberOf(entry.counter), entry)),
    append: (entry) => transact(true, () => records.append(entry, clock.now())),
    journal: (kinds, afterSeq = 0) => read(() => records.journal(kinds, afterSeq)),
    lives: () => read(records.lives),
    putLife: (life, entry, ended) =>
      transact(true, () => {
        records.append(entry, clock.now());
        records.putLife(life, ended);
      }),
    setting: (key) => read(() => records.setting(key)),
    putSetting: (key, value) => transact(true, () => records.putSetting(key, value)),
    close: () => {
      if (!open) return;
      open = false;
      try {
        if (options.readOnly !== true) db.prepare('DELETE FROM settings WHERE key = ?').run(OPEN_MARK);
        db.close();
      } finally {
        unlock();
      }
    },
  };
  if (options.readOnly !== true) transact(false, () => records.putSetting(OPEN_MARK, String(clock.now())));
  return store;
}
