import { chmodSync, existsSync } from 'node:fs';
import { dirname } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { problem, type SlackwaterError } from '../../errors/index.ts';
import type { Clock, Log, StorePort } from '../../ports/index.ts';
import { askedTables } from './asked.ts';
import { countTables } from './counts.ts';
import { watchDamage } from './damage.ts';
import { BUSY_WAIT_MS, told } from './faults.ts';
import { saveLastWrites, tellLastWrites } from './last-writes.ts';
import { lockStore } from './lock.ts';
import { minuteTables } from './minutes.ts';
import { needWritable } from './names.ts';
import { OPEN_MARK, prepareToLook, prepareToWrite, refuseHalfRestored } from './prepare.ts';
import { recordTables } from './records.ts';
import { sliceTable } from './slices.ts';

export type StoreOptions = {
  readonly clock: Clock;
  readonly log: Log;
  /** Looks only, also while a service runs on the store. */
  readonly readOnly?: boolean;
  /** Refuses to grow beyond so many pages of 4 kB, as a full disk would. */
  readonly limitPages?: number;
  /** The file turned out to be damaged while it was in use: nothing is counted any more, and the service should end. */
  readonly onDamaged?: (error: SlackwaterError) => void;
};

/** Opens the store, making or bringing it up to date; keeps a second service off it until `close` or the end of the process. */
export function openStore(file: string, options: StoreOptions): StorePort {
  const { readOnly = false, log } = options;
  if (!existsSync(dirname(file))) {
    throw problem('SW-STORE-006', { file, detail: `the folder ${dirname(file)} does not exist` });
  }
  if (readOnly && !existsSync(file)) throw problem('SW-STORE-006', { file, detail: 'there is no such file' });
  if (!readOnly) needWritable(file);
  refuseHalfRestored(file);
  const unlock = readOnly ? () => {} : lockStore(file);
  let db: DatabaseSync | null = null;
  try {
    const lastWrites = readOnly ? null : saveLastWrites(file);
    db = told(file, 'open', () => new DatabaseSync(file, { readOnly, timeout: BUSY_WAIT_MS }));
    const opened = db;
    // It holds the one-use tokens of reminders and confirmations.
    if (!readOnly) chmodSync(file, 0o600);
    return told(file, 'open', () => {
      if (readOnly) {
        prepareToLook(opened, file);
        return storeOn(opened, file, options, unlock).port;
      }
      const wasClosed = prepareToWrite(opened, file, options);
      const store = storeOn(opened, file, options, unlock);
      if (lastWrites !== null) tellLastWrites(store.port, file, lastWrites, log, options.clock.now());
      if (!wasClosed) store.checkAll();
      return store.port;
    });
  } catch (error) {
    db?.close();
    unlock();
    if (error instanceof Error && 'code' in error && error.code === 'SW-STORE-005') log.error(error.message);
    throw error;
  }
}

/** Runs `act` in a transaction: all of it or nothing. */
type Transact = <T>(full: boolean, act: () => T) => T;

/**
 * `full`: on disk when it returns. Counts go without: a power cut may take the last of them back together with their
 * cursors, and history is asked again from there.
 */
function transactions(db: DatabaseSync): Transact {
  const begin = db.prepare('BEGIN IMMEDIATE');
  const commit = db.prepare('COMMIT');
  let fullSync = true;
  return (full, act) => {
    if (full !== fullSync) db.exec(`PRAGMA synchronous = ${full ? 'FULL' : 'NORMAL'}`);
    fullSync = full;
    begin.run();
    try {
      const result = act();
      commit.run();
      return result;
    } catch (error) {
      if (db.isTransaction) db.exec('ROLLBACK');
      throw error;
    }
  };
}

type OpenedStore = { readonly port: StorePort; checkAll(): void };

function storeOn(db: DatabaseSync, file: string, options: StoreOptions, unlock: () => void): OpenedStore {
  const { clock, readOnly = false } = options;
  const slices = sliceTable(db);
  const minutes = minuteTables(db);
  const asked = askedTables(db);
  const counts = countTables(db, { slices, minutes, asked });
  const records = recordTables(db);
  const inTransaction = transactions(db);
  const damage = watchDamage(db, file, options);
  let open = true;

  const transact: Transact = (full, act) => {
    if (!open) throw problem('SW-STORE-007', { file, detail: 'the store is closed' });
    if (readOnly) throw problem('SW-STORE-002', { file });
    return damage.noticed(() => told(file, 'write', () => inTransaction(full, act)));
  };
  const read = <T>(act: () => T): T => damage.noticed(() => told(file, 'open', act));
  /** A session that is under way may still come to its end on a damaged file; counting stops. */
  const count = (act: () => void): void => {
    damage.refuse();
    transact(false, act);
  };
  const port: StorePort = {
    counterStates: () => read(counts.states),
    cursors: () => read(counts.cursors),
    commitCounts: (done) => count(() => counts.write(done)),
    slices: (counter, measure, from) => read(() => slices.of(counter, measure, from)),
    resets: (counter) => read(() => counts.resets(counter)),
    doubts: (counter) => read(() => asked.doubts(counter)),
    minutePower: (entity, from, to) => read(() => minutes.between(entity, from, to)),
    minuteStates: () => read(minutes.states),
    commitMinutes: (done) =>
      count(() => {
        minutes.write(done);
        minutes.packNext();
      }),
    tidy: () => count(counts.tidy),
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
      damage.stop();
      try {
        // Left standing on a damaged file, so that the next start looks at it again.
        if (!readOnly && !damage.isFound()) db.prepare('DELETE FROM settings WHERE key = ?').run(OPEN_MARK);
        db.close();
      } finally {
        unlock();
      }
    },
  };
  if (!readOnly) transact(false, () => records.putSetting(OPEN_MARK, String(clock.now())));
  return { port, checkAll: damage.checkAll };
}
