import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { after, describe, test } from 'node:test';
import { foldObservations, initialStates, type Slice } from '../../../../src/count/index.ts';
import { backupName, MIGRATIONS, migrate, openStore, schemaVersion } from '../../../../src/io/store/index.ts';
import { STORED_MEASURES, STORED_ORIGINS } from '../../../../src/io/store/schema.ts';
import { keptLog } from '../../../../src/io/system/index.ts';
import { type CounterDef, MEASURES, ORIGINS } from '../../../../src/model/index.ts';
import type { JournalEntry } from '../../../../src/record/index.ts';
import { HOUR_MS } from '../../../../src/units/index.ts';

const folder = mkdtempSync(join(tmpdir(), 'slackwater-store-'));
after(() => rmSync(folder, { recursive: true }));

let made = 0;
const newFile = (): string => join(folder, `${made++}.db`);
let now = 1_000_000;
const options = { clock: { now: () => now, monotonicMs: () => now }, log: keptLog() };
const code = (expected: string) => (error: Error & { code?: string }) => {
  assert.equal(error.code, expected, `${error.code}: ${error.message}`);
  return true;
};
const note = (text: string, at = 5): JournalEntry => ({ v: 1, kind: 'note', at, text });
const lamp: CounterDef = {
  id: 'lamp',
  name: 'Lamp',
  source: { kind: 'on-state', entity: 'switch.lamp' },
  measures: ['on-hours', 'starts'],
};
const slice = (hour: number, add: number, origin: Slice['origin'] = 'live'): Slice => ({
  counter: 'lamp',
  measure: 'on-hours',
  hour: hour * HOUR_MS,
  origin,
  add: { low: add, best: add + 0.5, high: add + 2 },
});

describe('what was written is there after opening again', () => {
  test('counter states, cursors, resets and slices, slices of one hour and origin added up', () => {
    const file = newFile();
    const store = openStore(file, options);
    const observations = [0, 1, 0].map((value, index) => ({
      entity: 'switch.lamp',
      value,
      at: (index + 1) * HOUR_MS + 1,
      receivedAt: 0,
      origin: 'live' as const,
    }));
    const { states } = foldObservations([lamp], initialStates([lamp]), observations);
    const reset = { counter: 'lamp', at: 7, before: 35.6, after: 0.1 };
    const cursors = new Map([['switch.lamp', 3 * HOUR_MS + 1]]);
    store.commitCounts({
      states: [...states.values()],
      slices: [slice(1, 10), slice(2, 20)],
      resets: [reset],
      cursors,
    });
    const back = new Map([['switch.lamp', 5]]);
    store.commitCounts({ states: [], slices: [slice(2, 1), slice(2, 4, 'assumed')], resets: [], cursors: back });
    store.close();

    const again = openStore(file, options);
    assert.deepEqual(again.counterStates(), states);
    assert.deepEqual(again.cursors(), cursors, 'a cursor never goes back');
    assert.deepEqual(again.resets('lamp'), [reset]);
    const summed = { ...slice(2, 0), add: { low: 21, best: 22, high: 25 } };
    assert.deepEqual(again.slices('lamp', 'on-hours', 0), [slice(1, 10), summed, slice(2, 4, 'assumed')]);
    assert.deepEqual(
      again.slices('lamp', 'on-hours', 2 * HOUR_MS + 5).length,
      2,
      'the hour that `from` lies in counts',
    );
    assert.deepEqual(again.slices('lamp', 'starts', 0), []);
    assert.deepEqual(again.slices('nobody', 'on-hours', 0), []);
    again.close();
  });

  test('the journal in order, by kind and from a place on', () => {
    const file = newFile();
    const store = openStore(file, options);
    const first = store.append(note('one'));
    const second = store.append({ v: 1, kind: 'reminder', at: 6, key: 'k', change: 'sending', token: 't' });
    const third = store.append(note('two'));
    store.close();
    const again = openStore(file, { ...options, readOnly: true });
    assert.deepEqual(again.journal(['note']), [first, third]);
    assert.deepEqual(again.journal(['note', 'reminder'], first.seq), [second, third]);
    assert.deepEqual(again.journal(['reading']), []);
    again.close();
  });

  test('journal time does not run backward with the clock', () => {
    const file = newFile();
    const store = openStore(file, options);
    now = 2_000_000;
    store.append(note('one'));
    now = 1_500_000;
    store.append(note('two'));
    store.close();
    const db = new DatabaseSync(file, { readOnly: true });
    const booked = db.prepare('SELECT booked_at FROM journal ORDER BY seq').all();
    assert.deepEqual(
      booked.map((row) => row['booked_at']),
      [2_000_000, 2_000_000],
    );
    db.close();
  });

  test('a new life ends the one before it, together with its journal entry', () => {
    const file = newFile();
    const store = openStore(file, options);
    const usage = { 'on-hours': { low: 1, best: 2, high: 3 } };
    const fitted = (life: number, fittedAt: number): JournalEntry => ({
      v: 1,
      kind: 'part-fitted',
      at: fittedAt,
      part: 'uv',
      life,
      fittedAt,
      by: 'Ann',
      note: '',
      usageAtRemoval: usage,
      baseline: {},
    });
    const first = { part: 'uv', number: 1, fittedAt: 10, fittedBy: 'Ann' };
    store.putLife(first, fitted(1, 10), null);
    const ended = { ...first, removedAt: 99, usageAtRemoval: usage };
    store.putLife({ part: 'uv', number: 2, fittedAt: 99, fittedBy: 'Ann' }, fitted(2, 99), ended);
    assert.deepEqual(store.lives(), [ended, { part: 'uv', number: 2, fittedAt: 99, fittedBy: 'Ann' }]);
    assert.equal(store.journal(['part-fitted']).length, 2);
    store.close();
  });

  test('settings', () => {
    const store = openStore(newFile(), options);
    assert.equal(store.setting('x'), null);
    store.putSetting('x', '1');
    store.putSetting('x', '2');
    assert.equal(store.setting('x'), '2');
    store.close();
  });
});

describe('a store that cannot be used says why', () => {
  test('in use by another service of this machine', () => {
    const file = newFile();
    const store = openStore(file, options);
    const script = `
      import { openStore } from ${JSON.stringify(new URL('../../../../src/io/store/index.ts', import.meta.url).href)};
      try {
        openStore(${JSON.stringify(file)}, { clock: { now: () => 0, monotonicMs: () => 0 }, log: console });
      } catch (error) { console.log(error.code + ' ' + error.params.pid); }`;
    const other = spawnSync(process.execPath, ['--input-type=module-typescript', '-e', script], { encoding: 'utf8' });
    assert.equal(other.stdout.trim(), `SW-STORE-003 ${process.pid}`, other.stderr);
    assert.throws(() => openStore(file, options), code('SW-STORE-003'), 'nor twice by the same process');
    store.append(note('still working'));
    store.close();
    openStore(file, options).close();
  });

  test('left by a killed process: opens again without any cleaning up', () => {
    const file = newFile();
    const script = `
      import { openStore } from ${JSON.stringify(new URL('../../../../src/io/store/index.ts', import.meta.url).href)};
      const store = openStore(${JSON.stringify(file)}, { clock: { now: () => 0, monotonicMs: () => 0 }, log: console });
      store.append({ v: 1, kind: 'note', at: 1, text: 'kept' });
      process.kill(process.pid, 'SIGKILL');`;
    const killed = spawnSync(process.execPath, ['--input-type=module-typescript', '-e', script], { encoding: 'utf8' });
    assert.equal(killed.signal, 'SIGKILL', killed.stderr);
    const log = keptLog();
    const store = openStore(file, { ...options, log });
    assert.equal(store.journal(['note']).length, 1);
    assert.match(log.lines.join('\n'), /was not closed by its last run; checking it/);
    store.close();
    const quiet = keptLog();
    openStore(file, { ...options, log: quiet }).close();
    assert.deepEqual(quiet.lines, [], 'a clean stop needs no check');
  });

  test('written by a newer version', () => {
    const file = newFile();
    openStore(file, options).close();
    const db = new DatabaseSync(file);
    db.exec('PRAGMA user_version = 99');
    db.close();
    const before = readFileSync(file);
    assert.throws(() => openStore(file, options), code('SW-STORE-004'));
    assert.throws(() => openStore(file, { ...options, readOnly: true }), code('SW-STORE-004'));
    assert.deepEqual(readFileSync(file), before, 'left as it was');
  });

  test('not a database, or one of something else', () => {
    const text = newFile();
    writeFileSync(text, 'a shopping list, long enough to be read as a page of something '.repeat(99));
    assert.throws(() => openStore(text, options), code('SW-STORE-005'));
    const foreign = newFile();
    const db = new DatabaseSync(foreign);
    db.exec('CREATE TABLE songs (title TEXT)');
    db.close();
    assert.throws(() => openStore(foreign, options), code('SW-STORE-006'));
  });

  test('a damaged page, found after an unclean stop', () => {
    const file = newFile();
    const store = openStore(file, options);
    for (let hour = 0; hour < 500; hour++) {
      store.commitCounts({ states: [], slices: [slice(hour, 5)], resets: [], cursors: new Map() });
    }
    store.append(note('x'.repeat(9_000)));
    store.close();
    const db = new DatabaseSync(file);
    db.exec(`INSERT INTO settings (key, value) VALUES ('open-since', '1'); PRAGMA wal_checkpoint(TRUNCATE)`);
    const page = Number(db.prepare(`SELECT rootpage FROM sqlite_schema WHERE name = 'slices'`).get()?.['rootpage']);
    db.close();
    const bytes = readFileSync(file);
    bytes.fill(0x5a, (page - 1) * 4096, page * 4096);
    writeFileSync(file, bytes);
    assert.throws(() => openStore(file, options), code('SW-STORE-005'));
    assert.deepEqual(readFileSync(file), bytes, 'left as it was');
  });

  test('no such folder, no such file to look into', () => {
    assert.throws(() => openStore(join(folder, 'nowhere', 'x.db'), options), code('SW-STORE-006'));
    assert.throws(() => openStore(newFile(), { ...options, readOnly: true }), code('SW-STORE-006'));
  });

  test('opened for looking only: writing is refused, looking works beside a running service', () => {
    const file = newFile();
    const store = openStore(file, options);
    store.append(note('seen'));
    const looking = openStore(file, { ...options, readOnly: true });
    assert.equal(looking.journal(['note']).length, 1);
    assert.throws(() => looking.append(note('no')), code('SW-STORE-002'));
    looking.close();
    store.close();
  });

  test('a full disk: the write is refused as a whole, what was there stays, and it goes on once there is room', () => {
    const file = newFile();
    const store = openStore(file, { ...options, limitPages: 24 });
    store.append(note('before'));
    const many = Array.from({ length: 20_000 }, (_, hour) => slice(hour, 5));
    const cursors = new Map([['switch.lamp', 9]]);
    assert.throws(() => store.commitCounts({ states: [], slices: many, resets: [], cursors }), code('SW-STORE-001'));
    assert.throws(() => store.append(note('x'.repeat(200_000))), code('SW-STORE-001'));
    assert.deepEqual(store.slices('lamp', 'on-hours', 0), []);
    assert.deepEqual(store.cursors(), new Map());
    assert.equal(store.journal(['note']).length, 1);
    store.close();
    const roomy = openStore(file, options);
    roomy.commitCounts({ states: [], slices: many, resets: [], cursors });
    assert.equal(roomy.slices('lamp', 'on-hours', 0).length, 20_000);
    roomy.close();
  });

  test('a closed store says so', () => {
    const store = openStore(newFile(), options);
    store.close();
    store.close();
    assert.throws(() => store.append(note('late')), code('SW-STORE-007'));
  });
});

describe('the shape of the store', () => {
  /** Shipped shapes are frozen: a change here means a new step at the end of MIGRATIONS, never an edited one. */
  test('is what it was when it was shipped', () => {
    const file = newFile();
    openStore(file, options).close();
    const db = new DatabaseSync(file, { readOnly: true });
    const rows = db.prepare(`SELECT name, sql FROM sqlite_schema WHERE sql IS NOT NULL ORDER BY name`).all();
    const shape = rows.map((row) => String(row['sql']).replace(/\s+/g, ' ')).join('\n');
    db.close();
    const snapshot = new URL('schema-snapshot.sql', import.meta.url);
    assert.equal(`${shape}\n`, readFileSync(snapshot, 'utf8'));
    assert.equal(MIGRATIONS.length, 2);
  });

  test('has a place for every measure and origin', () => {
    assert.deepEqual(STORED_MEASURES.toSorted(), MEASURES.toSorted());
    assert.deepEqual(STORED_ORIGINS.toSorted(), ORIGINS.toSorted());
  });

  test('a step on an old store is taken after a copy of it was put aside; a failing step changes nothing', () => {
    const file = newFile();
    const store = openStore(file, options);
    store.append(note('old'));
    store.close();
    const db = new DatabaseSync(file);
    assert.throws(() => migrate(db, file, [...MIGRATIONS, 'CREATE TABLE more (x INTEGER); CREATE TABLE settings (y)']));
    assert.equal(schemaVersion(db), 2);
    assert.equal(db.prepare(`SELECT count(*) AS n FROM sqlite_schema WHERE name = 'more'`).get()?.['n'], 0);
    migrate(db, file, [...MIGRATIONS, 'ALTER TABLE journal ADD COLUMN more TEXT']);
    assert.equal(schemaVersion(db), 3);
    db.close();
    assert.ok(existsSync(backupName(file, 2)));
    const copy = openStore(backupName(file, 2), { ...options, readOnly: true });
    assert.equal(copy.journal(['note']).length, 1);
    copy.close();
  });

  test('a store of the first version goes on as it was, with a copy of what it was beside it', () => {
    const file = newFile();
    const db = new DatabaseSync(file);
    migrate(db, file, MIGRATIONS.slice(0, 1));
    const state = foldObservations([lamp], initialStates([lamp]), []).states.get('lamp');
    const entry = note('of old');
    const life = { part: 'uv', number: 1, fittedAt: 10, fittedBy: 'Ann' };
    db.prepare('INSERT INTO counters (id, state) VALUES (?, ?)').run('lamp', JSON.stringify(state));
    db.exec('INSERT INTO slices VALUES (1, 0, 7, 0, 10, 0.5, 1.5); INSERT INTO resets VALUES (1, 7, 35.6, 0.1)');
    db.prepare('INSERT INTO journal (booked_at, kind, entry) VALUES (5, ?, ?)').run('note', JSON.stringify(entry));
    db.prepare('INSERT INTO lives VALUES (?, ?, ?)').run('uv', 1, JSON.stringify(life));
    db.close();
    assert.throws(() => openStore(file, { ...options, readOnly: true }), code('SW-STORE-009'));
    const store = openStore(file, options);
    assert.deepEqual(store.counterStates().get('lamp'), state);
    assert.deepEqual(store.slices('lamp', 'on-hours', 0), [slice(7, 10)]);
    assert.deepEqual(store.resets('lamp'), [{ counter: 'lamp', at: 7, before: 35.6, after: 0.1 }]);
    assert.deepEqual(store.journal(['note']), [{ seq: 1, entry }]);
    assert.deepEqual(store.lives(), [life]);
    store.close();
    const old = new DatabaseSync(backupName(file, 1), { readOnly: true });
    assert.equal(schemaVersion(old), 1);
    assert.equal(old.prepare('SELECT count(*) AS n FROM slices').get()?.['n'], 1);
    old.close();
  });
});
