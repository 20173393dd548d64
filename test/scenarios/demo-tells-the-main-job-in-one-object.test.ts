// The demonstration as a keeper runs it: one object with usage, what is due, and a skimmer service with its evidence; and
// what changes with another seed, another limit and a plug that lies.
import assert from 'node:assert/strict';
import { spawn } from 'node:child_process';
import { after, before, describe, test } from 'node:test';
import { type DemoResult, demoResult, demoSession } from '../../src/cli/demo-home.ts';
import { ROOT } from '../tidy/source.ts';
import { ended } from '../unit/cli/run-cli.ts';
import { type DemoService, demoService } from './demo-service.ts';

const RUNGS = [0, 1, 2, 3, 4, 5, 6];

/** One line a part with its figures. Days are left out: they pass by themselves. */
const figures = (usage: DemoResult['usage']): readonly string[] =>
  usage.map(({ part, measures }) => {
    const counted = measures.filter(({ measure }) => measure !== 'days');
    return `${part} ${counted.map(({ low, best, high }) => [low, best, high].map((n) => n.toFixed(1)).join(' ')).join('; ')}`;
  });

const wordOf = (result: Pick<DemoResult, 'due'>, part: string): string =>
  result.due.find((one) => one.part === part)?.word ?? 'not in the list';

async function resultOf(demo: DemoService): Promise<DemoResult> {
  const { app } = demo.service;
  const [usage, due] = [app.usage(), app.due()];
  const view = await demoSession(demo, 'skimmer-service', () => {});
  return demoResult(usage, due, view, demo.home.person.label);
}

let told: DemoResult;
before(async () => {
  const npm = process.platform === 'win32' ? 'npm.cmd' : 'npm';
  const child = spawn(npm, ['run', '-s', 'demo', '--', '--once', '--json'], {
    cwd: ROOT,
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  const ran = await ended(child);
  assert.equal(ran.code, 0, ran.err);
  told = JSON.parse(ran.out) as DemoResult;
});

describe('npm run -s demo -- --once --json', () => {
  test('prints one object of usage, due and session', () => {
    assert.deepEqual(Object.keys(told), ['usage', 'due', 'session']);
  });

  test('usage has bounds around the best figure, unit, limit and the moment it is counted from', () => {
    assert.ok(told.usage.length >= 15, `${told.usage.length} parts`);
    for (const { part, measures } of told.usage)
      for (const { low, best, high, unit, countingSince } of measures) {
        assert.ok(low <= best && best <= high, part);
        assert.ok(unit !== '' && countingSince !== null, part);
      }
    const uv = told.usage.find((one) => one.part === 'uv-lamp')?.measures.find((one) => one.measure === 'on-hours');
    assert.equal(uv?.limit, 8_000);
  });

  test('due is everything that is not fine, the most pressing first, each with a reason in one sentence', () => {
    const order = ['overdue', 'due', 'near', 'order', 'unknown'];
    assert.ok(told.due.length >= 5);
    assert.ok(told.due.every((one) => order.includes(one.word)));
    assert.equal(told.due[0]?.word, 'overdue');
    for (const { name, reason } of told.due) assert.ok(reason.startsWith(`${name}: `) && / of /.test(reason), reason);
    assert.match(told.due.find((one) => one.part === 'uv-lamp')?.reason ?? '', /overdue by \d+ days by hours/);
  });

  test('the skimmer service is complete, each step with action, rule, needed and reached evidence, and words', () => {
    const { session } = told;
    assert.equal(session.procedure, 'skimmer-service');
    assert.equal(session.result, 'complete');
    assert.equal(session.held, null);
    for (const step of session.steps) {
      assert.match(step.rule, /^K\d+$/, step.id);
      assert.ok(RUNGS.includes(step.needed), step.id);
      assert.ok(['passed', 'passed-unproven', 'skipped'].includes(step.result), `${step.id} ${step.result}`);
      assert.notEqual(step.evidenceText, '', step.id);
      // What is called passed has the evidence it needs.
      if (step.result === 'passed') assert.ok((step.evidence ?? 0) >= step.needed, `${step.id} ${step.evidence}`);
    }
    const skimmer = session.steps
      .filter((step) => step.id.endsWith(':skimmer'))
      .map((step) => [step.action, step.evidence]);
    assert.deepEqual(skimmer, [
      ['switch-off', 3],
      ['wait', null],
      ['unplug', 6],
      ['plug-in', 6],
      ['settle', 4],
      ['switch-on', 3],
    ]);
  });

  test('what adds water goes off first and comes back last', () => {
    const ids = told.session.steps.map((step) => step.id);
    assert.ok(ids.indexOf('off:top-off') < ids.indexOf('off:skimmer'));
    assert.ok(ids.indexOf('on:top-off') > ids.indexOf('on:skimmer'));
    assert.equal(ids.at(-2), 'on:top-off');
  });

  test('the person at the tank is named as simulated wherever a person is named', () => {
    const { session } = told;
    assert.match(session.startedBy, /\(simulated person\)$/);
    assert.equal(session.person, session.startedBy);
    const human = session.steps.filter((step) => ['unplug', 'hands-on', 'plug-in'].includes(step.action));
    assert.equal(human.length, 5);
    for (const step of human) assert.match(step.evidenceText, /\(simulated person\)/);
  });
});

describe('what goes in shows in what comes out', () => {
  test('another seed is another past: every counted figure differs, nothing else is due', async () => {
    const demo = await demoService({ seed: 2 });
    try {
      const [mine, other] = [figures(told.usage), figures(demo.service.app.usage())];
      assert.equal(mine.length, other.length);
      const counted = mine.filter((line) => /\d\.\d/.test(line));
      const same = counted.filter((line) => other.includes(line));
      assert.deepEqual(same, []);
      assert.ok(counted.length >= 8, `${counted.length} counted parts`);
    } finally {
      await demo.stop();
    }
  });

  test('the same seed is the same past', async () => {
    const demo = await demoService();
    try {
      const before = new Map(told.usage.map((one) => [one.part, one]));
      for (const { part, measures } of demo.service.app.usage())
        for (const { measure, best } of measures) {
          const then = before.get(part)?.measures.find((one) => one.measure === measure)?.best ?? 0;
          // Both ran on for some simulated minutes, not for the same number of them.
          assert.ok(Math.abs(best - then) <= 0.001 * then + 1, `${part} ${measure}: ${best} and ${then}`);
        }
    } finally {
      await demo.stop();
    }
  });

  describe('a limit raised, and a plug that says off and stays on', () => {
    let demo: DemoService;
    let changed: DemoResult;
    before(async () => {
      demo = await demoService({
        limits: [
          { part: 'uv-lamp', measure: 'on-hours', text: '9,500 h' },
          { part: 'lamp-1-tubes', measure: 'on-hours', text: '3,000 h' },
        ],
        faults: { skimmer: 'echo-off-keeps-watts' },
      });
      changed = await resultOf(demo);
    });
    after(() => demo.stop());

    test('the part whose limit was raised leaves the due list, the one whose limit was lowered becomes overdue', () => {
      assert.equal(wordOf(told, 'uv-lamp'), 'overdue');
      assert.equal(wordOf(changed, 'uv-lamp'), 'not in the list');
      assert.equal(wordOf(told, 'lamp-1-tubes'), 'near');
      assert.equal(wordOf(changed, 'lamp-1-tubes'), 'overdue');
      const others = (result: DemoResult): readonly string[] =>
        result.due.map((one) => `${one.part} ${one.word}`).filter((one) => !/^(uv-lamp|lamp-1-tubes) /.test(one));
      assert.deepEqual(others(changed), others(told));
    });

    test('the session is held at that plug, with words that name it and what it still draws', () => {
      const { session } = changed;
      assert.equal(session.result, 'held');
      assert.match(session.held ?? '', /^Skimmer says off but still draws \d+ W: .* Unplug it now\./);
      const at = session.steps.findIndex((step) => step.id === 'off:skimmer');
      const step = session.steps[at];
      assert.equal(step?.result, 'open');
      assert.ok((step?.evidence ?? 0) <= 2, `evidence ${step?.evidence}`);
      assert.match(step?.evidenceText ?? '', /relay off, \d+ W/);
      for (const later of session.steps.slice(at + 1)) {
        assert.equal(later.result, 'pending', later.id);
        assert.equal(later.evidence, null, later.id);
      }
    });

    test('the simulated tank knows better than the plug: the skimmer runs', () => {
      assert.equal(demo.home.hub.state('switch.skimmer')?.state, 'off');
      assert.equal(demo.home.hub.plug('skimmer').relayClosed, true);
    });
  });
});
