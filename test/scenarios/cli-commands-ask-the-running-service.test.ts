import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { after, before, describe, test } from 'node:test';
import { hasEscapes, type Ran, runMain, runProcess, widest } from '../unit/cli/run-cli.ts';
import { type DemoService, demoService } from './demo-service.ts';

let demo: DemoService;
before(async () => {
  demo = await demoService({ behaviour: 'silent', historyDays: 60 });
});
after(() => demo.stop());

const ask = (...argv: readonly string[]): Promise<Ran> => runMain([...argv, '--config', demo.configFile]);

/** The one JSON value a command printed. */
async function json<T>(...argv: readonly string[]): Promise<T> {
  const ran = await ask(...argv, '--json');
  assert.equal(ran.code, 0, ran.err);
  return JSON.parse(ran.out) as T;
}

function assertForPeople(ran: Ran): void {
  assert.equal(ran.code, 0, ran.err);
  assert.equal(ran.err, '');
  assert.ok(!hasEscapes(ran.out), 'no colour into a pipe');
  assert.ok(widest(ran.out) <= 100, `${widest(ran.out)} columns`);
}

type Standing = { readonly part: string; readonly name: string; readonly word: string; readonly reason: string };
type Usage = {
  readonly part: string;
  readonly life: number;
  readonly fittedAt: number;
  readonly measures: readonly {
    readonly measure: string;
    readonly low: number;
    readonly best: number;
    readonly high: number;
    readonly unit: string;
    readonly countingSince: number | null;
  }[];
};

describe('due', () => {
  test('says standing, part with its id, and why, in 100 columns', async () => {
    const ran = await ask('due');
    assertForPeople(ran);
    assert.match(ran.out, /^Standing +Part +Why\n/);
    assert.match(ran.out, /\noverdue +Heater 1 .*807 d of 730 d of age/);
    assert.match(ran.out, /\n +heater-1 /);
    assert.match(ran.out, /\n\d+ more parts are fine; --all shows them\.\n$/);
    assert.doesNotMatch(ran.out, /\nfine /);
  });

  test('--all tells of the fine ones, too', async () => {
    const ran = await ask('due', '--all');
    assertForPeople(ran);
    assert.match(ran.out, /\nfine +/);
  });

  test('as JSON has the same parts, the most pressing first', async () => {
    const some = await json<Standing[]>('due');
    const all = await json<Standing[]>('due', '-a');
    assert.ok(some.length > 0 && all.length > some.length);
    assert.ok(some.every((one) => one.word !== 'fine'));
    assert.equal(some[0]?.word, 'overdue');
    for (const one of all) assert.ok(one.reason.startsWith(`${one.name}: `), one.reason);
  });
});

describe('usage', () => {
  test('each amount with unit, bounds, limit and the day it is counted from', async () => {
    const ran = await ask('usage');
    assertForPeople(ran);
    assert.match(ran.out, /^Part +Used \(bounds\) +Limit +Share +Counted since\n/);
    // Two months of history in this home: what was before is bounds.
    assert.match(ran.out, /\nUV lamp +[\d,]+ h \([\d,]+ to [\d,]+\) +8,000 h +\d+ % +2027-01-01\n/);
    assert.match(ran.out, /\nuv-lamp +344 d +365 d +94 % +2026-03-23\n/);
  });

  test('as JSON the bounds hold the best figure', async () => {
    const usages = await json<Usage[]>('usage');
    assert.equal(usages.length, 17);
    for (const { measures } of usages)
      for (const { low, best, high, unit } of measures) assert.ok(low <= best && best <= high && unit !== '');
  });

  test('--why tells the stretches, where each is known from, and what of the hub it rests on', async () => {
    const ran = await ask('usage', '--why', 'lamp-1-tubes');
    assertForPeople(ran);
    assert.match(ran.out, /^on-hours: counter lamp-1-lit, sensor\.lamp_bank_1_power above 60 W, until below 20 W\n/);
    assert.match(ran.out, /\nFrom +To +Known from +Added\n/);
    const why = await json<{ measure: string; rows: { origin: string }[] }[]>('usage', '--why', 'lamp-1-tubes');
    assert.deepEqual(
      why.map((one) => one.measure),
      ['on-hours'],
    );
    assert.ok(why[0]?.rows.some((row) => row.origin === 'history'));
  });

  test('--why of a part that only ages says so', async () => {
    const ran = await ask('usage', '--why', 'rcd-test');
    assert.equal(ran.out, 'Nothing is counted for this part; its limit is its age.\n');
  });

  test('a part that does not exist: the nearest, exit code 1', async () => {
    const ran = await ask('usage', '--why', 'uvlamp');
    assert.equal(ran.code, 1);
    assert.match(ran.err, /^SW-CLI-002 Unknown part "uvlamp"; .*\nDid you mean "uv-lamp"\?\n$/);
  });
});

describe('replaced', () => {
  test('begins a new life and keeps the old one; the part is due no more', async () => {
    assert.ok((await json<Standing[]>('due')).some((one) => one.part === 'return-wet-end'));
    const ran = await ask('replaced', 'return-wet-end', '--note', 'from the cupboard');
    assertForPeople(ran);
    assert.match(ran.out, /^Recorded: Return pump wet end, number 2\.\n/);
    assert.match(ran.out, /\nreturn-wet-end, number 2\n$/);
    assert.ok(!(await json<Standing[]>('due')).some((one) => one.part === 'return-wet-end'));
  });

  test('can be back-dated, in the time of the tank', async () => {
    const usage = await json<Usage>('replaced', 'top-off-floats', '--at', '2027-02-20 14:30');
    assert.equal(usage.life, 2);
    assert.equal(new Date(usage.fittedAt).toISOString(), '2027-02-20T14:30:00.000Z');
  });

  test('not before the last fitting, not in the future, not on a day that does not exist', async () => {
    for (const [at, words] of [
      ['2020-01-01', /^SW-REC-004 UV lamp cannot have been replaced on 2020-01-01/],
      ['2030-01-01', /^SW-REC-003 UV lamp cannot have been fitted on 2030-01-01/],
      ['2027-02-30', /^SW-CLI-007 The option --at got "2027-02-30", expected a day or a time/],
    ] as const) {
      const ran = await ask('replaced', 'uv-lamp', '--at', at);
      assert.equal(ran.code, 1);
      assert.match(ran.err, words);
    }
  });

  test('a part that does not exist: the nearest', async () => {
    const ran = await ask('replaced', 'resins');
    assert.equal(ran.code, 1);
    assert.match(ran.err, /^SW-CLI-002 Unknown part "resins"; .*\nDid you mean "resin"\?\n$/);
  });

  test('a machine has no word in it', async () => {
    const ran = await ask('replaced', 'uv-lamp', '--as', 'node-red');
    assert.equal(ran.code, 1);
    assert.match(ran.err, /^SW-API-003 /);
  });
});

describe('reading', () => {
  test('is written down in the unit kept inside', async () => {
    const ran = await ask('reading', 'water-added', '10 gal');
    assertForPeople(ran);
    assert.match(ran.out, /^Written down: water-added 37\.85\d* L\.\n$/);
    assert.deepEqual(await json('reading', 'alkalinity', '8.2'), { what: 'alkalinity', value: 8.2, unit: 'dKH' });
  });

  test('an unknown kind, a wrong unit, no number: one message each', async () => {
    for (const [argv, words] of [
      [['salnity', '35 ppt'], /^SW-CLI-011 A reading of "salnity" is not known; .*\nDid you mean "salinity"\?/],
      [['temperature', '25 L'], /^SW-CLI-013 Could not read "25 L": expected .*°C/],
      [['alkalinity', 'high'], /^SW-CLI-013 Could not read "high": expected a number of dKH\./],
    ] as const) {
      const ran = await ask('reading', ...argv);
      assert.equal(ran.code, 1);
      assert.match(ran.err, words);
    }
  });
});

describe('dashboard install', () => {
  test('says where the dashboard is in the hub, every time', async () => {
    const ran = await ask('dashboard', 'install');
    assertForPeople(ran);
    assert.equal(ran.out, `Installed: ${demo.home.hub.url}/slackwater-tank\n`);
    assert.equal((await json<{ path: string }>('dashboard', 'install')).path, '/slackwater-tank');
  });
});

describe('in a process of its own', () => {
  test('a reader that has seen enough is no failure', async () => {
    const main = new URL('../../src/cli/main.ts', import.meta.url).pathname;
    const child = spawn(process.execPath, [main, 'usage', '--config', demo.configFile, '--json'], {
      stdio: ['ignore', 'pipe', 'pipe'],
    });
    let err = '';
    child.stderr.on('data', (data) => {
      err += String(data);
    });
    child.stdout.destroy();
    const code = await new Promise((resolve) => child.on('close', resolve));
    assert.equal(err, '');
    assert.equal(code, 0);
  });

  test('prints the same as in this one', async () => {
    const ran = await runProcess(['usage', '--why', 'rcd-test', '--config', demo.configFile]);
    assert.equal(ran.code, 0);
    assert.equal(ran.out, 'Nothing is counted for this part; its limit is its age.\n');
  });
});

test('while the hub is away the figures come with a warning', async () => {
  await demo.home.hub.stop();
  const warned = await new Promise<Ran>((resolve, reject) => {
    const look = async (): Promise<void> => {
      const ran = await ask('due');
      if (ran.err === '') setImmediate(() => look().catch(reject));
      else resolve(ran);
    };
    look().catch(reject);
  });
  assert.equal(warned.code, 0);
  assert.match(warned.err, /^warning: the hub is not connected; /);
  assert.match(warned.out, /^Standing /);
});
