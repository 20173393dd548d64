import assert from 'node:assert/strict';
import { existsSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { EXPORT_FORMATS, exportStore, fullCheck, importStore, openStore } from '../../../../src/io/store/index.ts';
import { HOUR_MS, MINUTE_MS } from '../../../../src/units/index.ts';
import { code, empty, example, filled, fillings, looked, newName, options, SEED, TOKENS } from './filling.ts';

const RUNS = Number(process.env['STORE_RUNS'] ?? 25);

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
