// Mistakes on the command line that need no service: one clear message each, with the nearest name, and exit code 1.
import assert from 'node:assert/strict';
import { cp, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { freePort } from '../../support/hub-process.ts';
import { hasEscapes, runMain, runProcess } from './run-cli.ts';

const EXAMPLE = new URL('../../../docs/slackwater.example.yaml', import.meta.url);

let folder = '';
let config = '';
before(async () => {
  folder = await mkdtemp(join(tmpdir(), 'slackwater-cli-'));
  config = join(folder, 'slackwater.yaml');
  await cp(EXAMPLE, config);
});
after(() => rm(folder, { recursive: true, force: true }));

/** No word of a stack or of the program's inside. */
function assertPlain(text: string): void {
  assert.doesNotMatch(text, /\n\s+at |\.ts:\d|node:internal|\bError\b/);
  assert.ok(!hasEscapes(text));
}

describe('a mistake on the command line costs one clear message', () => {
  const cases: readonly (readonly [string, readonly string[], RegExp])[] = [
    ['a command that is nearly one', ['usge'], /^SW-CLI-001 Unknown command "usge".*\nDid you mean "usage"\?\n$/],
    [
      'a command like none',
      ['xylophone'],
      /^SW-CLI-001 .*demo, start, check, due, usage.*\nWhat to do: See `slackwater --help`\.\n$/,
    ],
    [
      'a command of a command',
      ['session', 'confrm'],
      /^SW-CLI-001 Unknown command "confrm"; .*\nDid you mean "confirm"\?\n$/,
    ],
    ['a command of a command that is left out', ['dashboard', 'instal'], /Did you mean "install"\?\n$/],
    ['an option', ['due', '--al'], /^SW-CLI-015 Unknown option "--al"; .*\nDid you mean "--all"\?\n$/],
    ['an option without its value', ['usage', '--why'], /^SW-CLI-007 .*--why <part>/],
    [
      'an argument left out',
      ['session', 'start'],
      /^SW-CLI-008 The argument procedure is missing\.\nWhat to do: See `slackwater session start --help`\.\n$/,
    ],
    [
      'a word too many',
      ['reading', 'salinity', '35', 'ppt'],
      /^SW-CLI-016 .*"ppt"\.\nWhat to do: Put text with spaces between quotes/,
    ],
    ['a plug of the demo', ['demo', '--fault', 'skimer=late'], /^SW-CLI-007 .*as in skimmer=late, /],
    ['a kind of fault', ['demo', '--fault', 'doser=revive'], /^SW-CLI-007 .*as in doser=revives, /],
    ['a limit of the demo', ['demo', '--limit', 'uv-lamp'], /^SW-CLI-007 .*"uv-lamp", expected PART:MEASURE=AMOUNT/],
    ['a seed', ['demo', '--seed', 'abc'], /^SW-CLI-007 The option --seed got "abc", expected a whole number\./],
    [
      'a pace',
      ['demo', '--pace', '0'],
      /^SW-CLI-007 The option --pace got "0", expected a whole number of at least 1\./,
    ],
  ];
  for (const [name, argv, wanted] of cases)
    test(name, async () => {
      const ran = await runMain(argv);
      assert.equal(ran.code, 1);
      assert.match(ran.err, wanted);
      assert.equal(ran.out, '');
      assertPlain(ran.err);
    });
});

describe('without a service', () => {
  test('the configuration is missing: says where it was looked for', async () => {
    const ran = await runMain(['due', '--config', join(folder, 'nowhere.yaml')]);
    assert.equal(ran.code, 1);
    assert.match(
      ran.err,
      /^SW-CLI-009 No configuration was found at .*nowhere\.yaml\.\nWhat to do: Copy docs\/slackwater/,
    );
    assertPlain(ran.err);
  });

  for (const argv of [
    ['due'],
    ['usage'],
    ['usage', '--why', 'sediment'],
    ['session', 'start', 'skimmer-service'],
    ['session', 'confirm'],
    ['session', 'abort'],
    ['session', 'show'],
    ['replaced', 'sediment'],
    ['reading', 'salinity', '35 ppt'],
    ['dashboard', 'install'],
  ])
    test(`${argv.join(' ')} says that the service does not answer, and where`, async () => {
      const ran = await runMain([...argv, '-c', config]);
      assert.equal(ran.code, 1);
      assert.match(
        ran.err,
        /^SW-CLI-004 The service does not answer at http:\/\/127\.0\.0\.1:8787\.\nWhat to do: Start it/,
      );
      assertPlain(ran.err);
    });

  test('a credential is there and nobody listens: the same words', async () => {
    const port = await freePort();
    const other = join(folder, 'other.yaml');
    await cp(EXAMPLE, other);
    const ran = await runMain(['due', '-c', other]);
    assert.match(ran.err, /^SW-CLI-004 /);
    await mkdir(join(folder, 'secrets'), { recursive: true });
    await writeFile(join(folder, 'secrets/robin'), `${'x'.repeat(43)}\n`, { mode: 0o600 });
    await writeFile(other, (await readFile(other, 'utf8')).replace('port: 8787', `port: ${port}`));
    const again = await runMain(['due', '-c', other]);
    assert.equal(again.code, 1);
    assert.match(again.err, new RegExp(`^SW-CLI-004 The service does not answer at http://127\\.0\\.0\\.1:${port}\\.`));
    await rm(join(folder, 'secrets'), { recursive: true });
  });

  test('a person without credential: names those who have one', async () => {
    const ran = await runMain(['due', '--as', 'robyn', '-c', config]);
    assert.equal(ran.code, 1);
    assert.match(ran.err, /^SW-CLI-014 There is no credential for "robyn"; there is one for: robin, node-red\./);
  });

  test('a part that does not exist: the nearest, before anybody is asked', async () => {
    const ran = await runMain(['usage', '--why', 'sedimnet', '-c', config]);
    assert.equal(ran.code, 1);
    assert.match(ran.err, /^SW-CLI-002 Unknown part "sedimnet".*\nDid you mean "sediment"\?/);
  });

  test('a procedure that does not exist: the nearest', async () => {
    const ran = await runMain(['rehearse', 'pump-paus', '-c', config]);
    assert.equal(ran.code, 1);
    assert.match(ran.err, /^SW-SES-001 There is no procedure "pump-paus"; .*\nDid you mean "pump-pause"\?\n$/);
  });

  test('with --json the mistake is JSON, too, and the words stay', async () => {
    const ran = await runMain(['rehearse', 'pump-paus', '-c', config, '--json']);
    assert.equal(ran.code, 1);
    const { error } = JSON.parse(ran.out) as { error: Record<string, unknown> };
    assert.equal(error['code'], 'SW-SES-001');
    assert.equal(error['transient'], false);
    assert.match(ran.err, /^SW-SES-001 /);
  });
});

describe('rehearse needs no service', () => {
  test('it gives each step with rule, reason and evidence', async () => {
    const ran = await runMain(['rehearse', 'skimmer-service', '-c', config]);
    assert.equal(ran.code, 0);
    assert.equal(ran.err, '');
    assert.match(ran.out, /^Skimmer service\n/);
    assert.match(ran.out, /Switch Skimmer off\. +K34 +3 fresh watts agree/);
    assert.match(ran.out, /Unplug Skimmer and say so\..*K30 +6 plug in the person's hand\n.*\n +waits for you/);
    assert.match(ran.out, /Why each step is there\n/);
  });

  test('as JSON it is the plan', async () => {
    const ran = await runMain(['--json', 'rehearse', 'pump-pause', '--config', config]);
    assert.equal(ran.code, 0);
    const plan = JSON.parse(ran.out) as { procedure: string; steps: { rule: string; why: string }[] };
    assert.equal(plan.procedure, 'pump-pause');
    assert.ok(plan.steps.length > 5);
    for (const step of plan.steps) assert.ok(step.rule.startsWith('K') && step.why.endsWith('.'));
  });
});

describe('in a process of its own', () => {
  test('--help names every command and is left with 0', async () => {
    const ran = await runProcess(['--help']);
    assert.equal(ran.code, 0);
    for (const command of [
      'demo',
      'start',
      'check',
      'due',
      'usage',
      'rehearse',
      'session',
      'replaced',
      'reading',
      'dashboard',
    ])
      assert.match(ran.out, new RegExp(`^  ${command}\\b`, 'm'));
    assert.equal(ran.err, '');
  });

  test('the configuration is looked for where it is called, or where the environment says', async () => {
    const here = await runProcess(['rehearse', 'pump-pause'], { cwd: folder });
    assert.equal(here.code, 0);
    const there = await runProcess(['rehearse', 'pump-pause'], { env: { SLACKWATER_CONFIG: config } });
    assert.equal(there.out, here.out);
    assert.ok(!hasEscapes(here.out), 'a pipe gets no colour');
  });

  test('colour can be asked for, and NO_COLOR takes it away again', async () => {
    const forced = await runProcess(['rehearse', 'pump-pause'], {
      cwd: folder,
      env: { FORCE_COLOR: '1', NO_COLOR: undefined },
    });
    assert.ok(hasEscapes(forced.out));
    const none = await runProcess(['rehearse', 'pump-pause'], {
      cwd: folder,
      env: { FORCE_COLOR: '1', NO_COLOR: '1' },
    });
    assert.ok(!hasEscapes(none.out));
  });

  test('a mistake ends with 1 and without a stack', async () => {
    const ran = await runProcess(['usge']);
    assert.equal(ran.code, 1);
    assertPlain(ran.err);
  });
});
