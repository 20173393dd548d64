import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import {
  copyFileSync,
  existsSync,
  mkdtempSync,
  readdirSync,
  readFileSync,
  rmSync,
  statSync,
  truncateSync,
  writeFileSync,
} from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { after, describe, test } from 'node:test';
import fc from 'fast-check';
import { initialStates } from '../../../../src/count/index.ts';
import {
  backupStore,
  EXPORT_FORMATS,
  exportStore,
  fullCheck,
  importStore,
  MIGRATIONS,
  migrate,
  openStore,
  restoreStore,
} from '../../../../src/io/store/index.ts';
import { keptLog } from '../../../../src/io/system/index.ts';
import { type CounterDef, MEASURES, ORIGINS } from '../../../../src/model/index.ts';
import { initialMinutes, takeMinutes } from '../../../../src/observe/index.ts';
import type { StorePort } from '../../../../src/ports/index.ts';
import type { JournalEntry } from '../../../../src/record/index.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../../../../src/units/index.ts';

const SEED = Number(process.env['STORE_SEED'] ?? 20_261_125);
const RUNS = Number(process.env['STORE_RUNS'] ?? 25);
const folder = mkdtempSync(join(tmpdir(), 'slackwater-transfer-'));
after(() => rmSync(folder, { recursive: true }));

let made = 0;
const newName = (): string => join(folder, String(made++));
const options = { clock: { now: () => 1_000_000, monotonicMs: () => 0 }, log: keptLog() };
const code =
  (expected: string, detail = /./) =>
  (error: Error & { code?: string }) => {
    assert.equal(error.code, expected, `${error.code}: ${error.message}`);
    assert.match(error.message, detail);
    return true;
  };
const note = (text: string): JournalEntry => ({ v: 1, kind: 'note', at: 5, text });
const reminder = (key: string, token: string): JournalEntry => ({
  v: 1,
  kind: 'reminder',
  at: 6,
  key,
  change: 'raised',
  token,
});
const empty = { states: [], slices: [], resets: [], cursors: new Map() };
const COUNTERS = ['lamp', 'return pump, "left"', 'öl\nzwei'];
const TOKENS = ['s3cret-token-one', 's3cret-token-two'];
const defs: CounterDef[] = COUNTERS.map((id) => ({
  id,
  name: id,
  source: { kind: 'on-state', entity: `switch.${id}` },
  measures: ['on-hours', 'starts'],
}));

/** Everything the port gives, with one-use tokens told apart but not told. */
function contents(store: StorePort): unknown {
  const seen = new Map<string, number>();
  const masked = (_: string, value: unknown): unknown => {
    if (typeof value !== 'object' || value === null || !('token' in value)) return value;
    const { token, ...rest } = value;
    if (!seen.has(String(token))) seen.set(String(token), seen.size);
    return { ...rest, tokenNumber: seen.get(String(token)) };
  };
  const all = {
    states: [...store.counterStates()],
    cursors: [...store.cursors()].sort(),
    slices: COUNTERS.flatMap((counter) => MEASURES.flatMap((measure) => store.slices(counter, measure, 0))),
    resets: COUNTERS.flatMap((counter) => store.resets(counter)),
    doubts: COUNTERS.flatMap((counter) => store.doubts(counter)),
    sources: COUNTERS.flatMap((counter) => store.sources(counter)),
    minutes: store.minutePower('sensor.pump', 0, 999 * DAY_MS),
    minuteStates: [...store.minuteStates()],
    journal: store.journal(['note', 'reading', 'reminder', 'part-fitted']),
    lives: store.lives(),
    questions: store.questions('all'),
    setting: store.setting('hub last seen'),
  };
  return JSON.parse(JSON.stringify(all, masked));
}

const texts = fc.oneof(fc.string(), fc.constantFrom('', '"', ',', '\r\n', 'ä,"b"\n', '=1+1', 'null'));
const entries: fc.Arbitrary<JournalEntry> = fc.oneof(
  texts.map(note),
  fc.tuple(texts, fc.constantFrom(...TOKENS)).map(([key, token]) => reminder(key, token)),
  fc
    .tuple(texts, fc.double({ noNaN: true, noDefaultInfinity: true }), texts)
    .map(
      ([what, value, by]): JournalEntry => ({ v: 1, kind: 'reading', at: 7, what, value: value + 0, unit: 'dKH', by }),
    ),
);
const slices = fc.record({
  counter: fc.constantFrom(...COUNTERS),
  measure: fc.constantFrom(...MEASURES),
  hour: fc.nat(3_000).map((hour) => hour * HOUR_MS),
  origin: fc.constantFrom(...ORIGINS),
  add: fc
    .tuple(fc.nat(), fc.nat(999), fc.nat(999))
    .map(([low, a, b]) => ({ low, best: low + a / 2, high: low + a / 2 + b })),
});
const fillings = fc.record({
  entries: fc.array(entries, { maxLength: 12 }),
  slices: fc.array(slices, { maxLength: 80 }),
  readings: fc.array(fc.tuple(fc.nat(6 * 60 * 24 * 4), fc.option(fc.nat(900))), { maxLength: 40 }),
  before: fc.double({ min: 0, max: 1e9, noNaN: true }),
  words: fc.array(texts, { minLength: 3, maxLength: 3 }),
});
type Filling = typeof fillings extends fc.Arbitrary<infer T> ? T : never;

function fill(store: StorePort, { entries: journal, slices: hours, readings, before, words }: Filling): void {
  const [text = '', by = '', choice = ''] = words;
  const rows = readings
    .map(([ticks, tenths]) => ({ at: ticks * 10_000, value: tenths === null ? null : tenths / 10 }))
    .sort((a, b) => a.at - b.at);
  const { minutes, state } = takeMinutes(initialMinutes, rows);
  store.commitCounts({
    states: [...initialStates(defs).values()],
    slices: hours,
    resets: [{ counter: COUNTERS[1] ?? '', at: 7, before, after: 0.1 }],
    cursors: new Map([[text, 5]]),
    doubts: [{ counter: COUNTERS[2] ?? '', kind: 'negative', at: 9, before, after: -1.5 }],
    minutes: [{ entity: 'sensor.pump', minutes, state }],
    questions: [{ id: text, kind: 'source-gone', askedAt: 4, text: by, facts: { was: before } }],
  });
  for (let more = 0; more < 30; more++) store.commitCounts(empty);
  for (const entry of journal) store.append(entry);
  store.answerQuestion(text, { at: 8, by, choice });
  store.putQuestion({ id: by, kind: 'suspicious-fall', askedAt: 9, text });
  store.putSource({ counter: 'lamp', from: 3, source: null, how: 'move', by });
  const life = { part: text, number: 1, fittedAt: 10, fittedBy: by };
  store.putLife(life, note('fitted'), null);
  store.putSetting('hub last seen', choice);
}

function filled(filling: Filling): string {
  const file = newName();
  const store = openStore(file, options);
  fill(store, filling);
  store.close();
  return file;
}

const looked = (file: string): unknown => {
  const store = openStore(file, { ...options, readOnly: true });
  const found = contents(store);
  store.close();
  return found;
};
const [plainFilling] = fc.sample(fillings, { seed: SEED, numRuns: 1 });
assert.ok(plainFilling);
const example: Filling = {
  ...plainFilling,
  entries: [
    ...TOKENS.map((token, index) => reminder(`part ${index}`, token)),
    note('new resin'),
    ...plainFilling.entries,
  ],
};

describe(`export and import (seed ${SEED})`, () => {
  for (const format of EXPORT_FORMATS) {
    test(`as ${format}: what comes out goes in, and the new store is equal`, async () => {
      await fc.assert(
        fc.asyncProperty(fillings, async (filling) => {
          const file = filled(filling);
          const [out, copy, again] = [newName(), newName(), newName()];
          await exportStore(file, out, format);
          await importStore(out, copy);
          assert.deepEqual(looked(copy), looked(file));
          assert.equal(fullCheck(copy), null);
          // The same again from the copy, to the byte: nothing drifts.
          await exportStore(copy, again, format);
          for (const name of readdirSync(out))
            assert.equal(readFileSync(join(again, name), 'utf8'), readFileSync(join(out, name), 'utf8'), name);
        }),
        { seed: SEED, numRuns: RUNS },
      );
    });

    test(`as ${format}: no one-use token leaves, and what comes in has new ones`, async () => {
      const file = filled(example);
      const [out, copy] = [newName(), newName()];
      await exportStore(file, out, format);
      for (const name of readdirSync(out))
        for (const token of TOKENS) assert.doesNotMatch(readFileSync(join(out, name), 'utf8'), new RegExp(token));
      await importStore(out, copy);
      const store = openStore(copy, { ...options, readOnly: true });
      const tokens = store.journal(['reminder']).map(({ entry }) => (entry.kind === 'reminder' ? entry.token : ''));
      store.close();
      for (const token of tokens) {
        assert.ok(token.length >= 20);
        assert.ok(!TOKENS.includes(token) && !token.startsWith('one-use'));
      }
      assert.notEqual(tokens[0], tokens[1]);
    });

    test(`as ${format}: a changed, shortened or missing file is refused and leaves nothing behind`, async () => {
      const file = filled(example);
      const out = newName();
      await exportStore(file, out, format);
      const journal = join(out, `journal.${format}`);
      const whole = readFileSync(journal, 'utf8');
      const refused = async (detail: RegExp): Promise<void> => {
        const target = newName();
        await assert.rejects(importStore(out, target), code('SW-STORE-011', detail));
        assert.ok(!existsSync(target) && !existsSync(`${target}.partial`));
      };
      writeFileSync(journal, whole.replace('new resin', 'old resin'));
      await refused(/is not as it was written/);
      const rows = whole.split('\n');
      writeFileSync(journal, [...rows.slice(0, 2), ...rows.slice(3)].join('\n'));
      await refused(/rows instead of/);
      rmSync(journal);
      await refused(/is missing/);
      rmSync(join(out, 'manifest.json'));
      await refused(/no manifest\.json/);
    });
  }

  test('an export of a newer version, a folder that is not empty, a store that is there already', async () => {
    const file = filled(example);
    const out = newName();
    const { files } = await exportStore(file, out, 'json');
    assert.ok((files['journal.json'] ?? 0) >= 4);
    await assert.rejects(exportStore(file, out, 'json'), code('SW-STORE-010'));
    await assert.rejects(importStore(out, file), code('SW-STORE-010'));
    const manifest = readFileSync(join(out, 'manifest.json'), 'utf8');
    writeFileSync(join(out, 'manifest.json'), manifest.replace(/"schema": \d+/, '"schema": 99'));
    await assert.rejects(importStore(out, newName()), code('SW-STORE-011', /newer version/));
  });

  test('a CSV of hours tells units beside the exact grains, after RFC 4180', async () => {
    const file = newName();
    const store = openStore(file, options);
    const add = { low: 1_800_000, best: 1_800_000, high: 3_600_000 };
    store.commitCounts({
      ...empty,
      slices: [{ counter: 'a "b", c', measure: 'on-hours', hour: 2 * HOUR_MS, origin: 'live', add }],
    });
    store.close();
    const out = newName();
    await exportStore(file, out, 'csv');
    assert.equal(
      readFileSync(join(out, 'slices.csv'), 'utf8'),
      'counter,measure,hour,utc,origin,low,best,high,unit,low_grains,over_low_grains,over_best_grains\r\n' +
        '"a ""b"", c",on-hours,2,1970-01-01T02:00:00.000Z,live,0.5,0.5,1,h,1800000,0,1800000\r\n',
    );
  });

  test('power is told hour by hour', async () => {
    const file = newName();
    const store = openStore(file, options);
    const minutes = [5, 7].map((minW, index) => ({
      minute: index * MINUTE_MS,
      knownMs: MINUTE_MS,
      minW,
      meanW: 8,
      maxW: 9,
    }));
    store.commitMinutes([{ entity: 'sensor.pump', minutes }]);
    store.close();
    const out = newName();
    await exportStore(file, out, 'json');
    assert.deepEqual(JSON.parse(readFileSync(join(out, 'power.json'), 'utf8')), [
      {
        entity: 'sensor.pump',
        hour: 0,
        utc: '1970-01-01T00:00:00.000Z',
        known_minutes: 2,
        least_w: 5,
        mean_w: 8,
        most_w: 9,
      },
    ]);
  });
});

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
