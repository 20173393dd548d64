import assert from 'node:assert/strict';
import { existsSync } from 'node:fs';
import { mkdtemp, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { type Ran, runMain } from '../unit/cli/run-cli.ts';
import { type DemoService, demoService } from './demo-service.ts';

let demo: DemoService;
let folder: string;
before(async () => {
  folder = await mkdtemp(join(tmpdir(), 'slackwater-copies-'));
  demo = await demoService({ behaviour: 'silent', historyDays: 12, folder: join(folder, 'tank') });
});
after(async () => {
  await demo.stop();
  await rm(folder, { recursive: true, force: true });
});

const ask = (...argv: readonly string[]): Promise<Ran> => runMain([...argv, '--config', demo.configFile]);
const at = (name: string): string => join(folder, name);
const usageOf = async (): Promise<readonly { readonly part: string; readonly life: number }[]> =>
  JSON.parse((await ask('usage', '--json')).out) as { part: string; life: number }[];

describe('backup, restore, export, import', () => {
  test('a copy is made beside a running service, and never over another file', async () => {
    await ask('replaced', 'uv-lamp', '--note', 'before the copy');
    const ran = await ask('backup', at('copy.db'));
    assert.equal(ran.code, 0, ran.err);
    assert.match(ran.out, /^Copied and checked: .*copy\.db, [\d.]+ MB\.\n$/);
    const again = await ask('backup', at('copy.db'));
    assert.equal(again.code, 1);
    assert.match(again.err, /SW-STORE-010/);
    assert.equal((await usageOf()).find(({ part }) => part === 'uv-lamp')?.life, 2);
  });

  test('restore is refused while the service runs', async () => {
    const ran = await ask('restore', at('copy.db'));
    assert.equal(ran.code, 1);
    assert.match(ran.err, /SW-STORE-003/);
  });

  test('an export tells every table with its rows, as CSV or JSON, without a credential', async () => {
    const report = JSON.parse((await ask('export', at('csv'), '--json')).out) as { files: Record<string, number> };
    assert.ok(Object.values(report.files).some((rows) => rows > 100));
    const files = await readdir(at('csv'));
    assert.ok(files.some((name) => name.endsWith('.csv')));
    const json = await ask('export', at('json'), '--format', 'json');
    assert.equal(json.code, 0, json.err);
    assert.match(json.out, /^What +Rows\n/);
    const secrets = await readdir(join(dirname(demo.configFile), 'secrets'));
    for (const name of secrets) {
      const secret = (await readFile(join(dirname(demo.configFile), 'secrets', name), 'utf8')).trim();
      for (const file of files) assert.ok(!(await readFile(join(at('csv'), file), 'utf8')).includes(secret), file);
    }
    const wrong = await ask('export', at('xml'), '--format', 'xml');
    assert.equal(wrong.code, 1);
    assert.match(wrong.err, /expected csv or json/);
    assert.equal(existsSync(at('xml')), false);
  });

  test('an import into another place holds the same record; into one that has a store it is refused', async () => {
    const ran = await ask('import', at('csv'));
    assert.equal(ran.code, 1);
    const other = at('other.yaml');
    const text = (await readFile(demo.configFile, 'utf8')).replace(/^store: .*$/m, '');
    await writeFile(other, `${text}\nstore: moved.db\n`);
    const moved = await runMain(['import', at('csv'), '--config', other]);
    assert.equal(moved.code, 0, moved.err);
    assert.ok(existsSync(at('moved.db')));
    const back = await runMain(['export', at('moved-csv'), '--config', other]);
    assert.equal(back.code, 0, back.err);
    const [first, second] = [
      await readFile(join(at('csv'), 'lives.csv'), 'utf8'),
      await readFile(join(at('moved-csv'), 'lives.csv'), 'utf8'),
    ];
    assert.ok(first.includes('uv-lamp'));
    assert.equal(second, first);
  });

  test('once the service is stopped the copy takes the place of the store, which stays beside it', async () => {
    const other = at('other.yaml');
    const ran = await runMain(['restore', at('copy.db'), '--config', other, '--json']);
    assert.equal(ran.code, 0, ran.err);
    const { replaced } = JSON.parse(ran.out) as { replaced: string | null };
    assert.ok(replaced !== null && existsSync(replaced));
  });
});
