// `slackwater check FILE`: every finding of a bad configuration at once, each with its place, and no stack trace.
import assert from 'node:assert/strict';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, test } from 'node:test';
import { runMain, runProcess } from './run-cli.ts';

const EXAMPLE = new URL('../../../docs/slackwater.example.yaml', import.meta.url);

let folder = '';
before(async () => {
  folder = await mkdtemp(join(tmpdir(), 'slackwater-check-'));
});
after(() => rm(folder, { recursive: true, force: true }));

/** The example with some words replaced; gives the file. */
async function spoilt(name: string, changes: readonly (readonly [string, string])[]): Promise<string> {
  let text = await readFile(EXAMPLE, 'utf8');
  for (const [from, to] of changes) {
    assert.ok(text.includes(from), from);
    text = text.replace(from, to);
  }
  const file = join(folder, name);
  await writeFile(file, text);
  return file;
}

const BAD = [
  ['volume: 210 L', 'volume: 210'],
  ['zone: Europe/London', 'zone: Europe/Londn'],
  ['role: skimmer', 'role: skimer'],
  ['normalPower: 18 W', 'normalPwer: 18 W'],
] as const;

/** Line and column, from one, of a text in a file. */
async function placeOf(file: string, text: string): Promise<string> {
  const before = (await readFile(file, 'utf8')).split(text)[0] ?? '';
  const lines = before.split('\n');
  return `${file}:${lines.length}:${(lines.at(-1) ?? '').length + 1}`;
}

test('a good configuration: what is in it, and what is left to a person', async () => {
  const file = await spoilt('good.yaml', []);
  const ran = await runMain(['check', file]);
  assert.equal(ran.code, 0);
  assert.match(
    ran.out,
    /good\.yaml is in order: Hallway reef, \d+ equipment, \d+ sensors, \d+ counters, \d+ parts\.\n$/,
  );
  const told = JSON.parse((await runMain(['check', file, '--json'])).out) as Record<string, unknown>;
  assert.equal(told['ok'], true);
  assert.ok(Array.isArray(told['warnings']));
});

test('a bad one: every finding at once, with file, line, column, what was found, what is allowed, the nearest name', async () => {
  const file = await spoilt('bad.yaml', BAD);
  const ran = await runMain(['check', file]);
  assert.equal(ran.code, 1);
  assert.equal(ran.out, '');
  assert.match(ran.err, /^SW-CFG-001 The configuration .*bad\.yaml cannot be used: 4 /);
  for (const [place, words] of [
    ['210\n', /tank\.volume: found 210 \(no unit\), expected a volume /],
    ['Europe/Londn', /tank\.zone: found "Europe\/Londn", which is not a time zone/],
    ['skimer\n', /equipment\.skimmer\.role: found "skimer", /],
    ['normalPwer', /unknown key "normalPwer"/],
  ] as const) {
    const at = await placeOf(file, place);
    const line = ran.err.split('\n').find((one) => words.test(one));
    assert.ok(line?.includes(`${at}: `), `${at} in ${line ?? ran.err}`);
  }
  for (const near of ['Europe/London', 'skimmer', 'normalPower'])
    assert.ok(ran.err.includes(`Did you mean "${near}"?`), near);
  assert.match(ran.err, /\nWhat to do: Correct the places listed below, /);
});

test('as JSON the findings are a list with codes', async () => {
  const file = await spoilt('bad.yaml', BAD);
  const ran = await runMain(['check', file, '--json']);
  assert.equal(ran.code, 1);
  const { error } = JSON.parse(ran.out) as { error: { code: string; details: { code: string; whatToDo: string }[] } };
  assert.equal(error.code, 'SW-CFG-001');
  assert.equal(error.details.length, 4);
  for (const { code, whatToDo } of error.details) assert.ok(code.startsWith('SW-CFG-') && whatToDo !== '');
});

test('every other command that reads it says the same and does nothing', async () => {
  const file = await spoilt('bad.yaml', BAD);
  const checked = await runMain(['check', file]);
  for (const command of [['start'], ['due'], ['rehearse', 'pump-pause']]) {
    const ran = await runMain([...command, '--config', file]);
    assert.equal(ran.code, 1);
    assert.equal(ran.err, checked.err);
  }
});

test('in a process of its own it ends with 1 and without a stack', async () => {
  const file = await spoilt('bad.yaml', BAD);
  const ran = await runProcess(['check', file]);
  assert.equal(ran.code, 1);
  assert.doesNotMatch(ran.err, /\n\s+at |node:internal|SW-CLI-010/);
});

test('no file at all', async () => {
  const ran = await runMain(['check', join(folder, 'none.yaml')]);
  assert.equal(ran.code, 1);
  assert.match(ran.err, /^SW-CLI-009 No configuration was found at .*none\.yaml\./);
});

test('not YAML', async () => {
  const file = join(folder, 'broken.yaml');
  await writeFile(file, 'tank:\n  name: [\n');
  const ran = await runMain(['check', file]);
  assert.equal(ran.code, 1);
  assert.match(ran.err, /SW-CFG-002 .*broken\.yaml:\d+:\d+: this is not valid YAML/);
});
