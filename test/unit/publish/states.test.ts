import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  ATTRIBUTES_MAX_BYTES,
  buttonDefs,
  fitting,
  isSessionOver,
  lampsToRun,
  meaningOf,
  publishedStates,
  type SessionShown,
  type StateShown,
  snake,
} from '../../../src/publish/index.ts';
import { DAY_MS } from '../../../src/units/index.ts';
import { input, library, NOW, session } from './library.ts';

const byEntity = (states: readonly StateShown[]) => new Map(states.map((one) => [one.entity, one]));
const shown = (more: Partial<typeof input> = {}) => byEntity(publishedStates({ ...input, ...more }));
const bytes = (value: unknown) => new TextEncoder().encode(JSON.stringify(value)).length;

describe('publishedStates', () => {
  test('one standing per part, one figure per part and measure, all under our prefix and none twice', () => {
    const states = publishedStates(input);
    const figures = input.usages.reduce((sum, part) => sum + part.measures.length, 0);
    assert.equal(states.length, 6 + library.parts.length + figures);
    assert.equal(byEntity(states).size, states.length);
    for (const { entity } of states) assert.match(entity, /^(sensor|binary_sensor)\.slackwater_[a-z0-9_]+$/);
    for (const { entity } of publishedStates({ ...input, prefix: 'reef-two' })) assert.match(entity, /\.reef_two_/);
  });

  test('a figure carries its unit, bounds, limit and since when it is counted', () => {
    const hours = shown().get('sensor.slackwater_c1_tubes_on_hours');
    assert.equal(hours?.state, '3096');
    assert.deepEqual(
      {
        unit: hours.attributes['unit_of_measurement'],
        text: hours.attributes['with_bounds'],
        limit: hours.attributes['of_limit'],
        low: hours.attributes['low'],
        high: hours.attributes['high'],
        since: hours.attributes['counting_since'],
      },
      {
        unit: 'h',
        text: '3,096 h (3,090 to 3,102)',
        limit: 'of 3,600 h',
        low: 3090,
        high: 3102,
        since: new Date(NOW - 344 * DAY_MS).toISOString(),
      },
    );
    assert.equal('state_class' in hours.attributes, false);
  });

  test('what was never counted is unknown, not zero', () => {
    const hours = shown().get('sensor.slackwater_doser_tubes_on_hours');
    assert.equal(hours?.state, 'unknown');
    assert.equal(hours?.attributes['with_bounds'], 'nothing counted yet');
  });

  test('the due list counts due and overdue and gives each its reason', () => {
    const due = shown().get('sensor.slackwater_due');
    const lines = due?.attributes['lines'] as { name: string; word: string; text: string; put_off: boolean }[];
    assert.equal(due?.state, String(lines.length));
    assert.deepEqual(
      lines.map(({ name, word, put_off }) => [name, word, put_off]),
      [
        ['UV lamp', 'overdue', false],
        ['Heater B1', 'overdue', true],
        ['Heater B2', 'overdue', false],
        ['Return pump, cleaning', 'overdue', false],
      ],
    );
    assert.match(lines[0]?.text ?? '', /^8,256 h \(8,250 to 8,256\) of 8,000 h lit;/);
  });

  test('the same input gives the same states, so that nothing is posted for nothing', () => {
    assert.deepEqual(publishedStates(input), publishedStates(input));
    const a = shown({ now: NOW + 1000 }).get('sensor.slackwater_service');
    assert.deepEqual(a, shown({ now: NOW + 59_000 }).get('sensor.slackwater_service'));
    assert.notDeepEqual(a, shown({ now: NOW + 61_000 }).get('sensor.slackwater_service'));
  });

  test('on the way out the service says that it is no longer there', () => {
    assert.equal(shown().get('sensor.slackwater_service')?.state, 'running');
    assert.equal(shown({ isRunning: false }).get('sensor.slackwater_service')?.state, 'stopped');
  });
});

describe('the published session', () => {
  const flag = (one: SessionShown | null) =>
    shown({ session: one }).get('binary_sensor.slackwater_service_in_progress');
  const asking = (one: SessionShown | null) =>
    shown({ session: one }).get('binary_sensor.slackwater_confirmation_awaited');

  test('carries what a press is bound to, the evidence of each step and the isolation caution', () => {
    const state = shown({ session }).get('sensor.slackwater_session');
    assert.equal(state?.state, 'held');
    const at = state.attributes;
    assert.deepEqual([at['session'], at['step'], at['nonce']], ['s-17', 'unplug:skimmer', 'n-4711']);
    const steps = at['steps'] as Record<string, unknown>[];
    assert.deepEqual(
      [steps[1]?.['result'], steps[1]?.['reached'], steps[2]?.['reached'], steps[3]?.['needed']],
      ['passed, not proven', 'fresh relay report', 'fresh watts agree', "plug in the person's hand"],
    );
    assert.match((at['cautions'] as string[])[0] ?? '', /not isolation: unplug what you handle/);
  });

  test('the flag for other automations is on from the first switch-off until everything is back', () => {
    assert.equal(flag(null)?.state, 'off');
    assert.equal(flag({ ...session, status: 'idle', claims: [], outOfService: [] })?.state, 'off');
    assert.equal(flag({ ...session, status: 'running' })?.state, 'on');
    assert.equal(flag({ ...session, status: 'aborted' })?.state, 'on');
    assert.equal(flag({ ...session, status: 'aborted', outOfService: [] })?.state, 'on');
    assert.equal(flag({ ...session, status: 'complete', claims: [], outOfService: [] })?.state, 'off');
  });

  test('a confirmation is awaited only while something is asked in an open session', () => {
    assert.equal(asking(session)?.state, 'on');
    assert.equal(asking({ ...session, prompt: null })?.state, 'off');
    assert.equal(asking({ ...session, status: 'aborted' })?.state, 'off');
    assert.equal(asking(null)?.state, 'off');
  });

  test('cautions stay as long as anything is off or in hand, also after an abort', () => {
    const cautions = (one: SessionShown) =>
      shown({ session: one }).get('sensor.slackwater_session')?.attributes['cautions'] as string[];
    assert.equal(cautions({ ...session, status: 'aborted' }).length, 2);
    assert.deepEqual(cautions({ ...session, status: 'complete', claims: [], outOfService: [] }), []);
  });

  test('no surface ever says that something may be unplugged on its own account', () => {
    const states = ['idle', 'running', 'held', 'restarting', 'complete', 'stopped', 'aborting', 'aborted'] as const;
    for (const status of states) {
      const text = JSON.stringify(publishedStates({ ...input, session: { ...session, status, prompt: null } }));
      assert.doesNotMatch(text, /may be unplugged|safe to/i);
      assert.equal(isSessionOver(status), status === 'complete' || status === 'stopped' || status === 'aborted');
    }
  });
});

describe('attributes', () => {
  test('stay within the recorder limit and tell how many entries were left out', () => {
    const list = Array.from({ length: 400 }, (_, i) => `line ${i} ${'x'.repeat(60)}`);
    const kept = fitting({ name: 'due', lines: list });
    assert.ok(bytes(kept) <= ATTRIBUTES_MAX_BYTES);
    const left = kept['lines'] as unknown[];
    assert.equal(left.length + Number(kept['lines_left_out']), 400);
    assert.ok(left.length > 100);
  });

  test('of any session stay within the limit', () => {
    const text = fc.string({ maxLength: 3000 });
    fc.assert(
      fc.property(text, fc.array(text, { maxLength: 60 }), (long, texts) => {
        const steps = texts.map((one, i) => ({
          id: `s${i}`,
          text: one,
          rule: 'K1',
          why: one,
          needed: 3 as const,
          evidence: 2 as const,
          evidenceText: one,
          result: 'passed' as const,
        }));
        const states = publishedStates({
          ...input,
          session: { ...session, steps, cautions: texts, notes: texts, summary: long },
        });
        for (const { attributes } of states) assert.ok(bytes(attributes) <= 16_384);
      }),
      { numRuns: 100 },
    );
  });

  test('names take any text', () => {
    fc.assert(fc.property(fc.string(), (text) => assert.match(snake(text), /^([a-z0-9]+(_[a-z0-9]+)*)?$/)));
  });
});

describe('buttons', () => {
  const procedures = [{ id: 'skimmer-service', title: 'Skimmer service' }];
  const defs = buttonDefs(library, procedures, 'slackwater');

  test('start, confirm, abort, a field for a value, done and later for each part, two for each lamp that can be run; names begin with ours', () => {
    assert.equal(defs.length, 1 + 3 + 2 * library.parts.length + 2 * lampsToRun(library).length);
    assert.equal(new Set(defs.map((one) => one.button)).size, defs.length);
    assert.equal(defs[0]?.name, 'Slackwater start skimmer service');
    for (const { name } of defs) assert.match(name, /^Slackwater /);
  });

  test('every button of ours is understood again, nothing else is', () => {
    for (const { button, isField } of defs) if (isField !== true) assert.notEqual(meaningOf(button), null, button);
    assert.deepEqual(meaningOf('done:uv-lamp'), { kind: 'done', part: 'uv-lamp' });
    for (const other of ['', 'start', 'start:', 'confirm:now', 'off:return']) assert.equal(meaningOf(other), null);
  });
});
