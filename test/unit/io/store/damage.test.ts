import assert from 'node:assert/strict';
import { copyFileSync, existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { after, describe, test } from 'node:test';
import fc from 'fast-check';
import type { SlackwaterError } from '../../../../src/errors/index.ts';
import { fullCheck, openStore } from '../../../../src/io/store/index.ts';
import { scanWal } from '../../../../src/io/store/wal.ts';
import { keptLog } from '../../../../src/io/system/index.ts';
import type { JournalEntry } from '../../../../src/record/index.ts';
import { HOUR_MS, MINUTE_MS } from '../../../../src/units/index.ts';

const folder = mkdtempSync(join(tmpdir(), 'slackwater-damage-'));
after(() => rmSync(folder, { recursive: true }));

let made = 0;
const newFile = (): string => join(folder, `${made++}.db`);
const options = { clock: { now: () => 1_000_000, monotonicMs: () => 0 }, log: keptLog() };
const code = (expected: string) => (error: Error & { code?: string }) => {
  assert.equal(error.code, expected, `${error.code}: ${error.message}`);
  return true;
};
const note = (text: string): JournalEntry => ({ v: 1, kind: 'note', at: 5, text });
const empty = { states: [], slices: [], resets: [], cursors: new Map() };

/** As a service that was killed leaves it: the files as they are while it has them open. */
function killedStore(fill: (store: ReturnType<typeof openStore>) => void): string {
  const alive = newFile();
  const store = openStore(alive, options);
  fill(store);
  const file = newFile();
  copyFileSync(alive, file);
  copyFileSync(`${alive}-wal`, `${file}-wal`);
  store.close();
  return file;
}

function replaceText(file: string, old: string, changed: string): void {
  const bytes = readFileSync(file);
  const at = bytes.indexOf(old);
  assert.ok(at > 0, `"${old}" is in the file`);
  bytes.write(changed, at);
  writeFileSync(file, bytes);
}

describe('a changed letter in a row, which the database itself does not see', () => {
  const changed = (): string => {
    const file = newFile();
    const store = openStore(file, options);
    store.append(note('new resin'));
    store.close();
    replaceText(file, 'new resin', 'old resin');
    const db = new DatabaseSync(file, { readOnly: true });
    assert.deepEqual(Object.values(db.prepare('PRAGMA integrity_check').get() ?? {}), ['ok']);
    db.close();
    return file;
  };

  test('is refused where it is read; counting stops, a session may end, and the next start is refused', () => {
    const file = changed();
    const told: SlackwaterError[] = [];
    const log = keptLog();
    const store = openStore(file, { ...options, log, onDamaged: (error) => told.push(error) });
    store.commitCounts(empty);
    assert.throws(() => store.journal(['note']), code('SW-STORE-005'));
    assert.throws(() => store.journal(['note']), code('SW-STORE-005'));
    assert.equal(told.length, 1, 'told once');
    assert.match(log.lines.join('\n'), /error .*is damaged: journal entry 1 .*slackwater restore BACKUP/);
    assert.throws(() => store.commitCounts(empty), code('SW-STORE-005'));
    store.append(note('unplugged by Ann'));
    store.close();
    assert.throws(() => openStore(file, options), code('SW-STORE-005'));
  });

  test('is found in the background after an unclean stop, while counting goes on', async () => {
    const file = changed();
    const db = new DatabaseSync(file);
    db.exec(`INSERT INTO settings (key, value) VALUES ('open-since', '1')`);
    db.close();
    const finding = Promise.withResolvers<SlackwaterError>();
    const store = openStore(file, { ...options, onDamaged: finding.resolve });
    store.commitCounts(empty);
    const found = await finding.promise;
    assert.equal(found.code, 'SW-STORE-005');
    assert.match(found.message, /journal entry 1 is not what was written/);
    assert.throws(() => store.commitCounts(empty), code('SW-STORE-005'));
    store.close();
    assert.throws(() => openStore(file, options), code('SW-STORE-005'));
  });
});

test('a whole store that was not closed is looked through and found in order', async () => {
  const file = killedStore((store) => store.append(note('kept')));
  const lines: string[] = [];
  const finished = Promise.withResolvers<void>();
  const info = (text: string): void => {
    lines.push(text);
    if (text.includes('nothing was found')) finished.resolve();
  };
  const store = openStore(file, { ...options, log: { info, warn: info, error: info } });
  await finished.promise;
  assert.equal(lines.length, 2, lines.join('\n'));
  store.close();
});

describe('packed minutes and hours carry check sums', () => {
  test('a changed byte in them is found by the full check', () => {
    const file = newFile();
    const store = openStore(file, options);
    const minutes = Array.from({ length: 60 }, (_, minute) => ({
      minute: minute * MINUTE_MS,
      knownMs: MINUTE_MS,
      minW: minute,
      meanW: minute + 7,
      maxW: 90 + minute,
    }));
    store.commitMinutes([{ entity: 'sensor.pump', minutes }]);
    assert.equal(store.minutePower('sensor.pump', 0, HOUR_MS).length, 60);
    store.close();
    assert.equal(fullCheck(file), null);
    const db = new DatabaseSync(file);
    const packed = db.prepare('SELECT packed FROM minute_hours').get()?.['packed'] as Uint8Array;
    packed[20] = (packed[20] ?? 0) ^ 1;
    db.prepare('UPDATE minute_hours SET packed = ?').run(packed);
    db.close();
    assert.equal(fullCheck(file), 'minutes of entity number 1 cannot be read');
    const again = openStore(file, options);
    assert.throws(() => again.minutePower('sensor.pump', 0, HOUR_MS), code('SW-STORE-005'));
    again.close();
  });
});

describe('the log of the last writes', () => {
  const NOTES = 12;
  const withLog = (): string =>
    killedStore((store) => {
      for (let number = 0; number < NOTES; number++) store.append(note(`number ${number}`));
    });
  const view = (bytes: Uint8Array): DataView => new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength);

  test('whole: nothing is told', () => {
    const file = withLog();
    const log = keptLog();
    const store = openStore(file, { ...options, log });
    assert.equal(store.journal(['note']).length, NOTES);
    assert.deepEqual(store.questions(), []);
    assert.doesNotMatch(log.lines.join('\n'), /error/);
    store.close();
  });

  const damageAt = (file: string, text: string): Buffer => {
    const bytes = readFileSync(`${file}-wal`);
    const at = bytes.indexOf(text);
    assert.ok(at > 0);
    bytes[at] = (bytes[at] ?? 0) ^ 0xff;
    writeFileSync(`${file}-wal`, bytes);
    return bytes;
  };

  test('damaged where the same page was written anew later: mended, and nothing is missing', () => {
    const file = withLog();
    const bytes = damageAt(file, 'number 6');
    const log = keptLog();
    const store = openStore(file, { ...options, log });
    assert.equal(store.journal(['note']).length, NOTES);
    assert.deepEqual(store.questions(), []);
    assert.match(log.lines.join('\n'), /warn .*nothing is missing/);
    store.close();
    assert.equal(fullCheck(file), null);
    assert.deepEqual(readFileSync(`${file}-wal.unread-1`), bytes);
  });

  test('damaged where no later write holds it: what is lost is told, asked and put aside', () => {
    // So long that each has pages of its own, which nothing writes again.
    const file = killedStore((store) => {
      for (let number = 0; number < NOTES; number++) store.append(note(`${'x'.repeat(6_000)} number ${number}`));
    });
    const bytes = damageAt(file, 'number 6');
    const log = keptLog();
    const store = openStore(file, { ...options, log });
    assert.equal(store.journal(['note']).length, 6, 'those before the damage');
    const [question] = store.questions();
    assert.equal(question?.kind, 'writes-lost');
    assert.ok(Number(question?.facts?.['dropped']) > 0);
    assert.match(log.lines.join('\n'), /error .*could not all be read/);
    assert.deepEqual(readFileSync(`${file}-wal.unread-1`), bytes);
    assert.equal(store.answerQuestion(question?.id ?? '', { at: 9, by: 'Ann', choice: 'seen' }), true);
    assert.deepEqual(store.questions(), []);
    store.close();
    assert.ok(existsSync(`${file}-wal.unread-1`));
  });

  test('a changed byte anywhere but in the last commit: either all is there, or a question asks for the rest', () => {
    const file = withLog();
    const whole = readFileSync(`${file}-wal`);
    const seen = { mended: 0, asked: 0 };
    fc.assert(
      fc.property(fc.nat(whole.length - 5 * 4_200), fc.integer({ min: 1, max: 255 }), (at, flip) => {
        const bytes = Buffer.from(whole);
        bytes[at] = (bytes[at] ?? 0) ^ flip;
        const copy = newFile();
        copyFileSync(file, copy);
        writeFileSync(`${copy}-wal`, bytes);
        const store = openStore(copy, options);
        const left = store.journal(['note']).map(({ seq }) => seq);
        const asked = store.questions().length;
        store.close();
        assert.deepEqual(
          left,
          left.map((_, index) => index + 1),
          'no hole among those that are there',
        );
        assert.equal(asked === 1 || left.length === NOTES, true, `byte ${at}: ${left.length} of ${NOTES}`);
        seen[asked === 1 ? 'asked' : 'mended']++;
        assert.equal(fullCheck(copy), null);
      }),
      { seed: 20_261_125, numRuns: 60 },
    );
    assert.ok(seen.mended > 20 && seen.asked > 0, JSON.stringify(seen));
  });

  test('a changed byte anywhere, or an end cut off: read as far as SQLite itself reads it', () => {
    const file = withLog();
    const whole = readFileSync(`${file}-wal`);
    const frames = scanWal(view(whole));
    assert.ok(frames !== null && frames.taken > NOTES && frames.dropped === 0);
    const place = fc.nat(whole.length - 1);
    fc.assert(
      fc.property(place, fc.integer({ min: 1, max: 255 }), fc.boolean(), (at, flip, cut) => {
        const bytes = Buffer.from(cut ? whole.subarray(0, at) : whole);
        if (!cut) bytes[at] = (bytes[at] ?? 0) ^ flip;
        const copy = newFile();
        copyFileSync(file, copy);
        writeFileSync(`${copy}-wal`, bytes);
        const db = new DatabaseSync(copy);
        const taken = Number(db.prepare('PRAGMA wal_checkpoint(PASSIVE)').get()?.['log']);
        db.close();
        const report = scanWal(view(bytes)) ?? { taken: 0, dropped: 0 };
        assert.equal(report.taken, Math.max(0, taken), `byte ${at}`);
        if (cut) assert.equal(report.dropped, 0);
        // Only in the last commit nothing lies behind the damage.
        else if (at < whole.length - 5 * 4_200) assert.ok(report.dropped > 0, `byte ${at}`);
      }),
      { seed: 20_261_125, numRuns: 300 },
    );
  });
});
