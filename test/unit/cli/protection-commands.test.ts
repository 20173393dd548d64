import assert from 'node:assert/strict';
import { chmod, mkdtemp, rm, writeFile } from 'node:fs/promises';
import { createServer } from 'node:http';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, type TestContext, test } from 'node:test';
import { exampleYaml } from '../../../src/config/index.ts';
import { GOOD } from '../config/good-configuration.ts';
import { hasEscapes, runMain, widest } from './run-cli.ts';

async function tank(t: TestContext, text: string, secrets: Readonly<Record<string, string>> = {}): Promise<string> {
  const folder = await mkdtemp(join(tmpdir(), 'slackwater-cli-'));
  t.after(() => rm(folder, { recursive: true, force: true }));
  for (const [name, secret] of Object.entries(secrets)) {
    await writeFile(join(folder, name), `${secret}\n`);
    await chmod(join(folder, name), 0o600);
  }
  await writeFile(join(folder, 'slackwater.yaml'), text);
  return join(folder, 'slackwater.yaml');
}

describe('card', () => {
  test('prints as wide as A5, local code first, without colour', async (t) => {
    const { code, out } = await runMain(['card', '--config', await tank(t, exampleYaml())]);
    assert.equal(code, 0);
    assert.ok(widest(out) <= 60, String(widest(out)));
    assert.ok(!hasEscapes(out));
    assert.ok(out.indexOf('local electrical code') < out.indexOf('OFF BY HAND'));
  });

  test('as a page and as JSON it says the same', async (t) => {
    const config = await tank(t, exampleYaml());
    const page = await runMain(['card', '--html', '--config', config]);
    const json = JSON.parse((await runMain(['card', '--json', '--config', config])).out) as {
      sections: { title: string }[];
    };
    assert.match(page.out, /^<!doctype html>/);
    for (const { title } of json.sections) assert.ok(page.out.includes(title), title);
  });
});

describe('audit', () => {
  test('shows what nobody has looked at, and what is wrong first', async (t) => {
    const text = GOOD.replace('    role: return-pump\n', '    role: return-pump\n    startUp: off\n');
    const { code, out } = await runMain(['audit', '--config', await tank(t, text)]);
    assert.equal(code, 0);
    const lines = out.split('\n');
    assert.match(lines[1] ?? '', /^change it +Return pump +off +on/);
    assert.ok(lines.some((line) => /^look +Heater +unknown +on/.test(line)));
  });
});

describe('alarms test', () => {
  test('tells each way with its outcome, and fails where one does not work', async (t) => {
    const heard: string[] = [];
    const server = createServer((request, response) => {
      heard.push(`${request.method} ${request.url}`);
      response.writeHead(request.url === '/beat' ? 500 : 200).end();
    });
    await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
    t.after(() => {
      server.closeAllConnections();
      server.close();
    });
    const address = server.address();
    const base = `http://127.0.0.1:${typeof address === 'object' && address !== null ? address.port : 0}`;
    const alarms = 'alarms: { webhook: { url: { file: hook } }, heartbeat: { url: { file: beat } } }\n';
    const config = await tank(t, GOOD + alarms, { hook: `${base}/s3cret`, beat: `${base}/beat` });
    const { code, out, err } = await runMain(['alarms', 'test', '--config', config]);
    assert.equal(code, 1);
    assert.match(out, /^webhook +works: answered 200\nsign of life +does not work: answered 500\n$/);
    assert.deepEqual(heard.toSorted(), ['GET /beat', 'POST /s3cret']);
    assert.ok(!out.includes('s3cret') && !err.includes('s3cret'));
  });

  test('without any way it says what to write', async (t) => {
    const { code, err } = await runMain(['alarms', 'test', '--config', await tank(t, GOOD)]);
    assert.equal(code, 1);
    assert.match(err, /No way for alarms beside the hub is configured\./);
  });

  test('a secret others can read is refused', async (t) => {
    const config = await tank(t, `${GOOD}alarms: { webhook: { url: { file: hook } } }\n`, {
      hook: 'http://127.0.0.1:1/',
    });
    await chmod(join(config, '..', 'hook'), 0o644);
    const { code, err } = await runMain(['alarms', 'test', '--config', config]);
    assert.equal(code, 1);
    assert.match(err, /can be read by other users of this machine/);
  });
});
