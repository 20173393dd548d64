// A session from the command line: the plan first, nothing switched before a second word, and that word not too soon.
import assert from 'node:assert/strict';
import { after, before, test } from 'node:test';
import { PLUG_KEYS, switchOf } from '../../src/sim/index.ts';
import { eventually } from '../support/index.ts';
import { type Ran, runMain, widest } from '../unit/cli/run-cli.ts';
import { type DemoService, demoService } from './demo-service.ts';

type View = {
  readonly status: string;
  readonly startedBy: string;
  readonly prompt: { readonly step: string } | null;
  readonly steps: readonly { readonly id: string; readonly result: string; readonly evidence: number | null }[];
  readonly outOfService: readonly string[];
  readonly summary: string;
};

let demo: DemoService;
before(async () => {
  // At a person's pace, so that the two seconds are two seconds.
  demo = await demoService({ behaviour: 'silent', historyDays: 10, pace: 1 });
});
after(() => demo.stop());

const ask = (...argv: readonly string[]): Promise<Ran> => runMain([...argv, '--config', demo.configFile]);
const show = async (): Promise<View> => JSON.parse((await ask('session', 'show', '--json')).out) as View;
const switches = (): readonly (string | undefined)[] =>
  PLUG_KEYS.map((key) => demo.home.hub.state(switchOf(key))?.state);

test('before there is a session nothing can be confirmed or aborted', async () => {
  assert.equal((await ask('session')).out, 'There is no session.\n');
  assert.equal((await ask('session', 'show', '--json')).out, 'null\n');
  for (const word of ['confirm', 'abort']) {
    const ran = await ask('session', word);
    assert.equal(ran.code, 1);
    assert.match(ran.err, /^SW-SES-011 No session is open\.\nWhat to do: Start one with `slackwater session start/);
  }
});

test('a procedure that does not exist: the nearest', async () => {
  const ran = await ask('session', 'start', 'skimmer-servise');
  assert.equal(ran.code, 1);
  assert.match(ran.err, /^SW-SES-001 .*\nDid you mean "skimmer-service"\?\n$/);
});

test('start shows the plan with cautions, switches nothing, and a word too soon is not taken', async () => {
  const as = switches();
  const started = await ask('session', 'start', 'skimmer-service');
  const hasty = await ask('session', 'confirm');
  assert.equal(started.code, 0, started.err);
  const [plan = '', command = ''] = started.out.split(/(?<=then:)\n/);
  assert.ok(widest(plan) <= 100, `${widest(plan)} columns`);
  assert.match(started.out, /^Skimmer service\n\nCautions\n {2}! Your local electrical code/);
  assert.match(started.out, /\nWhy each step is there\n/);
  assert.match(plan, /\n\nNothing has been switched\. Read the plan, stand at the tank, then:$/);
  assert.match(command, / --config \S+ session confirm\n$/);
  assert.equal(hasty.code, 1);
  assert.match(
    hasty.out,
    /^Not taken: The confirmation came \d+ ms after the step appeared; nothing is taken before 2 s\.\n$/,
  );
  const view = await show();
  assert.equal(view.status, 'idle');
  assert.equal(view.startedBy, 'Duty caretaker (simulated person)');
  assert.ok(view.steps.every((step) => step.result === 'pending'));
  assert.deepEqual(switches(), as);
});

test('a second session is refused, with the name of who has the first', async () => {
  const ran = await ask('session', 'start', 'pump-pause');
  assert.equal(ran.code, 1);
  assert.match(
    ran.err,
    /^SW-SES-002 A session is already open on this tank: Skimmer service, started by Duty caretaker/,
  );
});

test('a word for another step is not taken', async () => {
  const ran = await ask('session', 'confirm', '--step', 'unplug:skimmer');
  assert.equal(ran.code, 1);
  assert.match(ran.err, /^SW-SES-004 The confirmation is for unplug:skimmer, but #begin is waiting\./);
});

test('the second word begins it; show follows it with evidence and says where it is', async () => {
  const taken = await eventually('the confirmation is taken', async () => {
    const ran = await ask('session', 'confirm');
    return ran.code === 0 ? ran : undefined;
  });
  assert.match(taken.out, /^Taken: Skimmer service: read the plan\. Out of service, in this order: /);
  await eventually('the first plug is off', async () =>
    (await show()).steps.find((step) => step.id === 'off:top-off')?.result.startsWith('passed'),
  );
  const ran = await ask('session', 'show');
  assert.equal(ran.code, 0);
  assert.ok(widest(ran.out) <= 100, `${widest(ran.out)} columns`);
  assert.match(ran.out, /^Skimmer service: Running\. Started by Duty caretaker \(simulated person\)\.\n/);
  assert.match(ran.out, /\n>? +\d+ +Step, and what was seen|Step, and what was seen +Rule +Result\n/);
  assert.match(
    ran.out,
    /\n {4}2 +Switch Top-off pump off\. +K1 +passed, not proven\n +2 fresh relay report: relay off, /,
  );
  assert.match(ran.out, /\n> +\d+ /);
  assert.match(ran.out, /\nOut of service: .*Top-off pump/);
  assert.equal(demo.home.hub.state(switchOf('top_off'))?.state, 'off');
});

test('while a step is at work there is nothing to confirm', async () => {
  const ran = await ask('session', 'confirm');
  assert.equal(ran.code, 1);
  assert.match(ran.err, /^SW-SES-013 Nothing waits for a confirmation at the moment\./);
});

test('a machine may abort; what is off stays off and is named', async () => {
  const ran = await ask('session', 'abort', '--as', 'node-red');
  assert.equal(ran.code, 0, ran.err);
  assert.match(ran.out, /^Skimmer service: Aborted\./);
  assert.match(ran.out, /\nAborted by node-red\. Off or not proved back: .*Top-off pump/);
  assert.equal(demo.home.hub.state(switchOf('top_off'))?.state, 'off');
  const again = await ask('session', 'abort');
  assert.equal(again.code, 1);
  assert.match(again.err, /^SW-SES-011 /);
});
