// `start` and `demo` as processes of their own: progress, the other commands beside them, and an end that leaves nothing.
import assert from 'node:assert/strict';
import { type ChildProcess, spawn } from 'node:child_process';
import { mkdtemp, readFile, rm, stat, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { fileURLToPath } from 'node:url';
import { realSystem } from '../../src/io/system/index.ts';
import { type DemoHome, startDemoHome } from '../../src/sim/index.ts';
import { freePort } from '../support/hub-process.ts';
import { eventually } from '../support/index.ts';
import { ended, type Ran, runMain, runProcess } from '../unit/cli/run-cli.ts';

const MAIN = fileURLToPath(new URL('../../src/cli/main.ts', import.meta.url));

let folder = '';
before(async () => {
  folder = await mkdtemp(join(tmpdir(), 'slackwater-start-'));
});
const children: ChildProcess[] = [];
after(async () => {
  for (const child of children) if (child.exitCode === null) child.kill('SIGKILL');
  await rm(folder, { recursive: true, force: true });
});

type Running = { readonly child: ChildProcess; out(): string; err(): string; readonly end: Promise<Ran> };

function run(argv: readonly string[], env: Readonly<Record<string, string>> = {}): Running {
  const child = spawn(process.execPath, [MAIN, ...argv], {
    cwd: folder,
    env: { ...process.env, ...env },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  children.push(child);
  const seen = { out: '', err: '' };
  child.stdout.on('data', (data) => {
    seen.out += String(data);
  });
  child.stderr.on('data', (data) => {
    seen.err += String(data);
  });
  return { child, out: () => seen.out, err: () => seen.err, end: ended(child) };
}

const NO_STACK = /\n\s+at |node:internal|SW-CLI-010/;

describe('start', () => {
  let home: DemoHome;
  let config = '';
  before(async () => {
    home = await startDemoHome({ seed: 1, system: realSystem({ quiet: true }), historyDays: 30, behaviour: 'silent' });
    config = join(folder, 'slackwater.yaml');
    await writeFile(
      config,
      home.tankYaml.replace('SLACKWATER_HUB_TOKEN }', `SLACKWATER_HUB_TOKEN }\n\napi: { port: ${await freePort()} }`),
    );
  });
  after(async () => {
    home.person.leave();
    await home.hub.close();
  });

  test('check --hub: address, token and every entity, before anything is started', async () => {
    const env = { SLACKWATER_HUB_TOKEN: home.hub.token };
    const good = await runProcess(['check', config, '--hub'], { env });
    assert.equal(good.code, 0, good.err);
    assert.match(
      good.out,
      /\nThe hub at http:\/\/127\.0\.0\.1:\d+ \(2025\.4\.4\) takes the token and has every entity named here\.\n$/,
    );

    const wrong = join(folder, 'wrong.yaml');
    await writeFile(wrong, (await readFile(config, 'utf8')).replace('switch: switch.skimmer', 'switch: switch.skimer'));
    const lacking = await runProcess(['check', wrong, '--hub'], { env });
    assert.equal(lacking.code, 1);
    assert.match(
      lacking.out,
      /lacks 1 of the entities:\n {2}SW-HUB-009 The hub has no entity switch\.skimer, .* for switching\.\n {4}Did you mean switch\.skimmer\?\n$/,
    );
    const told = JSON.parse((await runProcess(['check', wrong, '--hub', '--json'], { env })).out) as { ok: boolean };
    assert.equal(told.ok, false);

    const refused = await runProcess(['check', config, '--hub'], { env: { SLACKWATER_HUB_TOKEN: 'not-the-token' } });
    assert.equal(refused.code, 1);
    assert.match(refused.err, /^SW-HUB-002 The hub at .* refused the token\.\n/);

    const missing = await runProcess(['check', config, '--hub'], { env: { SLACKWATER_HUB_TOKEN: undefined } });
    assert.match(
      missing.err,
      /^SW-CFG-021 The secret for the hub was not found: the environment variable SLACKWATER_HUB_TOKEN/,
    );

    const nowhere = join(folder, 'nowhere.yaml');
    await writeFile(
      nowhere,
      (await readFile(config, 'utf8')).replace(home.hub.url, `http://127.0.0.1:${await freePort()}`),
    );
    const silent = await runProcess(['check', nowhere, '--hub'], { env });
    assert.match(silent.err, /^SW-HUB-001 The hub at .* cannot be reached: nothing answers there\./);
  });

  test('tells its progress, serves the other commands, keeps the token to itself, and ends at a word', async () => {
    const service = run(['start', '--config', config], { SLACKWATER_HUB_TOKEN: home.hub.token });
    await eventually('history has been read', () => /counting goes on live/.test(service.err()), { limitMs: 120_000 });
    assert.match(service.err(), /reading the history of the hub: 0 %\n/);
    assert.match(service.err(), /the interface listens on http:\/\/127\.0\.0\.1:\d+/);
    const due = await runMain(['due', '--all', '--config', config]);
    assert.equal(due.code, 0, due.err);
    assert.match(due.out, /\n\w+ +Heater 1 +\d+ d of 730 d of age;/);
    assert.equal((await stat(join(folder, 'secrets/duty-caretaker'))).mode & 0o777, 0o600);

    const second = await runProcess(['start', '--config', config], { env: { SLACKWATER_HUB_TOKEN: home.hub.token } });
    assert.equal(second.code, 1);
    assert.match(second.err, /SW-STORE-003 /);

    service.child.kill('SIGTERM');
    const end = await service.end;
    assert.equal(end.code, 0, service.err());
    assert.match(service.err(), / stopping\n$/);
    assert.ok(!(service.out() + service.err()).includes(home.hub.token));
    assert.doesNotMatch(service.err(), NO_STACK);
    assert.match((await runMain(['due', '--config', config])).err, /^SW-CLI-004 /);
  });

  test('a refused token is one clear line and the end', async () => {
    const ran = await runProcess(['start', '--config', config], { env: { SLACKWATER_HUB_TOKEN: 'not-the-token' } });
    assert.equal(ran.code, 1);
    assert.equal(ran.err.match(/SW-HUB-002/g)?.length, 1, ran.err);
    assert.doesNotMatch(ran.err, NO_STACK);
  });

  test('without a hub it waits, says so, and can be stopped', async () => {
    const alone = join(folder, 'alone.yaml');
    await writeFile(
      alone,
      (await readFile(config, 'utf8')).replace(home.hub.url, `http://127.0.0.1:${await freePort()}`),
    );
    const service = run(['start', '--config', alone], { SLACKWATER_HUB_TOKEN: home.hub.token });
    await eventually('it says that nothing is there', () => /cannot be reached/.test(service.err()));
    service.child.kill('SIGINT');
    assert.equal((await service.end).code, 0, service.err());
    assert.doesNotMatch(service.err(), NO_STACK);
  });
});

describe('demo', () => {
  test('stays up after the skimmer service, answers the other commands, and ends at Ctrl-C', async () => {
    const demo = run(['demo', '--port', String(await freePort()), '--pace', '60']);
    await eventually('it stays up', () => /The demo stays up\. In another terminal:/.test(demo.out()), {
      limitMs: 120_000,
    });
    assert.match(
      demo.out(),
      /^Quayside Library reading-room reef: a simulated home, 60 times faster than real time, seed 1\n/,
    );
    assert.match(demo.out(), /\nWhat is due, and why\n/);
    assert.match(
      demo.out(),
      /\npassed +Unplug Skimmer and say so\..* \[K30\]\n +6 plug in the person's hand: Duty caretaker \(simulated/,
    );
    assert.match(demo.out(), /\nSkimmer service: Complete\. Started by Duty caretaker \(simulated person\)\.\n/);
    const config = join(folder, 'data/demo/slackwater.yaml');
    assert.match((await runMain(['session', '--config', config])).out, /^Skimmer service: Complete\./);
    assert.equal((await runMain(['session', 'start', 'pump-pause', '--config', config])).code, 0);
    const aborted = await runMain(['session', 'abort', '--config', config]);
    assert.match(aborted.out, /^Short pump pause: Aborted\./);
    demo.child.kill('SIGINT');
    assert.equal((await demo.end).code, 0, demo.err());
    assert.doesNotMatch(demo.err(), NO_STACK);
  });

  test('Ctrl-C while history is read ends it cleanly', async () => {
    const demo = run(['demo', '--once']);
    await eventually('it reads history', () => /reading eighteen months of history/.test(demo.err()));
    demo.child.kill('SIGINT');
    const end = await demo.end;
    assert.equal(end.code, 130, demo.err());
    assert.equal(demo.out(), '');
    assert.doesNotMatch(demo.err(), NO_STACK);
  });
});
