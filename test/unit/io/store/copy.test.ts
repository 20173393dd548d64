import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import {
  copyFileSync,
  existsSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { describe, test } from 'node:test';
import { backupStore, MIGRATIONS, migrate, openStore, restoreStore } from '../../../../src/io/store/index.ts';
import { keptLog } from '../../../../src/io/system/index.ts';
import type { JournalEntry } from '../../../../src/record/index.ts';
import { code, contents, example, fill, filled, folder, looked, newName, note, options } from './filling.ts';

describe('backup and restore', () => {
  test('beside a running service; restored, everything is there, and what was there before is kept', async () => {
    const file = newName();
    const store = openStore(file, options);
    fill(store, example);
    const copy = newName();
    const report = await backupStore(file, copy);
    assert.deepEqual([report.file, report.schema], [copy, MIGRATIONS.length]);
    assert.equal(report.bytes, statSync(copy).size);
    assert.equal(statSync(copy).mode & 0o777, 0o600);
    assert.deepEqual(
      readdirSync(folder).filter((name) => name.includes('partial')),
      [],
    );
    const kept = contents(store);
    assert.deepEqual(looked(copy), kept);
    store.append(note('after the backup'));
    await assert.rejects(restoreStore(copy, file), code('SW-STORE-003'), 'a service runs on it');
    store.close();

    const { replaced } = await restoreStore(copy, file);
    assert.equal(replaced, `${file}.replaced-1`);
    assert.deepEqual(looked(file), kept);
    const log = keptLog();
    openStore(file, { ...options, log }).close();
    assert.deepEqual(log.lines, [], 'it opens as one that was closed');
    const before = openStore(replaced ?? '', { ...options, readOnly: true });
    assert.equal(before.journal(['note']).at(-1)?.entry.kind, 'note');
    assert.equal(
      before.journal(['note']).length,
      (kept as { journal: { entry: JournalEntry }[] }).journal.filter(({ entry }) => entry.kind === 'note').length + 1,
    );
    before.close();
    assert.equal((await restoreStore(copy, file)).replaced, `${file}.replaced-2`);
    assert.equal((await restoreStore(copy, newName())).replaced, null);
  });

  test('a damaged store gives way to a backup, with its last writes beside it', async () => {
    const file = filled(example);
    const copy = newName();
    await backupStore(file, copy);
    writeFileSync(file, 'no database any more '.repeat(999));
    writeFileSync(`${file}-wal`, 'its log');
    await assert.rejects(backupStore(file, newName()), code('SW-STORE-005'));
    assert.throws(() => openStore(file, options), code('SW-STORE-005'));
    const damaged = readFileSync(file);
    const { replaced } = await restoreStore(copy, file);
    assert.deepEqual(readFileSync(replaced ?? ''), damaged);
    assert.deepEqual(looked(file), looked(copy));
  });

  test('a backup that is damaged, of a newer version, or of something else is refused; the store stays as it was', async () => {
    const file = filled(example);
    const before = readFileSync(file);
    const refused = async (from: string, expected: string): Promise<void> => {
      await assert.rejects(restoreStore(from, file), code(expected));
      assert.deepEqual(readFileSync(file), before);
      assert.ok(
        !existsSync(`${file}.replaced-1`) && !existsSync(`${file}.partial`) && !existsSync(`${file}.restoring`),
      );
    };
    const copyOf = async (): Promise<string> => {
      const copy = newName();
      await backupStore(file, copy);
      return copy;
    };
    const changed = await copyOf();
    const bytes = readFileSync(changed);
    bytes.write('old resin', bytes.indexOf('new resin'));
    writeFileSync(changed, bytes);
    await refused(changed, 'SW-STORE-005');
    const short = await copyOf();
    truncateSync(short, statSync(short).size - 4096);
    await refused(short, 'SW-STORE-005');
    const newer = await copyOf();
    const db = new DatabaseSync(newer);
    db.exec('PRAGMA user_version = 99');
    db.close();
    await refused(newer, 'SW-STORE-004');
    const foreign = newName();
    const songs = new DatabaseSync(foreign);
    songs.exec('CREATE TABLE songs (title TEXT); PRAGMA user_version = 1');
    songs.close();
    await refused(foreign, 'SW-STORE-006');
    await refused(newName(), 'SW-STORE-006');
    await refused(file, 'SW-STORE-010');
    const text = newName();
    writeFileSync(text, 'a shopping list '.repeat(999));
    await refused(text, 'SW-STORE-005');
  });

  test('a backup of an earlier version is brought up to date by the next start', async () => {
    const old = newName();
    const db = new DatabaseSync(old);
    migrate(db, old, MIGRATIONS.slice(0, 1));
    db.prepare('INSERT INTO journal (booked_at, kind, entry) VALUES (5, ?, ?)').run(
      'note',
      JSON.stringify(note('old')),
    );
    db.close();
    const file = newName();
    assert.equal((await restoreStore(old, file)).schema, 1);
    const store = openStore(file, options);
    assert.equal(store.journal(['note']).length, 1);
    store.close();
  });

  test('nothing is overwritten by a backup, and a missing folder is told', async () => {
    const file = filled(example);
    const taken = newName();
    writeFileSync(taken, 'mine');
    await assert.rejects(backupStore(file, taken), code('SW-STORE-010'));
    assert.equal(readFileSync(taken, 'utf8'), 'mine');
    await assert.rejects(backupStore(file, join(folder, 'nowhere', 'x')), code('SW-STORE-006'));
    await assert.rejects(backupStore(newName(), newName()), code('SW-STORE-006'));
  });

  test('a restore that was cut short is told to the next start, and done again', async () => {
    const file = filled(example);
    const copy = newName();
    await backupStore(file, copy);
    // As it stands between the two renames.
    const aside = `${file}.replaced-1`;
    copyFileSync(file, aside);
    rmSync(file);
    writeFileSync(`${file}.restoring`, `${aside}\n`);
    assert.throws(() => openStore(file, options), code('SW-STORE-012'));
    assert.ok(!existsSync(file), 'no empty store was begun');
    await restoreStore(copy, file);
    assert.deepEqual(looked(file), looked(copy));
    assert.ok(existsSync(aside));
  });

  test('the last writes of a service that was killed are in its backup', async () => {
    const file = newName();
    const script = `
      import { openStore } from ${JSON.stringify(new URL('../../../../src/io/store/index.ts', import.meta.url).href)};
      const store = openStore(${JSON.stringify(file)}, { clock: { now: () => 0, monotonicMs: () => 0 }, log: console });
      store.append({ v: 1, kind: 'note', at: 1, text: 'kept' });
      process.kill(process.pid, 'SIGKILL');`;
    spawnSync(process.execPath, ['--input-type=module-typescript', '-e', script], { encoding: 'utf8' });
    assert.ok(statSync(`${file}-wal`).size > 0);
    const copy = newName();
    await backupStore(file, copy);
    const store = openStore(copy, { ...options, readOnly: true });
    assert.equal(store.journal(['note']).length, 1);
    store.close();
  });
});
