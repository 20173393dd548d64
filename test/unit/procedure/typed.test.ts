import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import {
  judgeConfirmation,
  replay,
  type SessionPlan,
  type Step,
  type StepReading,
} from '../../../src/procedure/index.ts';
import { ada, createSitting, ended, heldAt, type Sitting } from './plant.ts';
import { small } from './tanks.ts';

const readingStep = (reading: StepReading, id = 'reading:salt'): Step => ({
  id,
  action: 'reading',
  rule: 'K27',
  why: 'A step in salt is what hurts.',
  text: 'Measure the salinity of the tank.',
  needed: 5,
  timeoutMs: 30 * 60_000,
  safeState: 'leave-as-is',
  holdPoint: true,
  cautions: [],
  reading,
});

/** The plan with these steps put in before the end. */
const withSteps =
  (...steps: readonly Step[]) =>
  (plan: SessionPlan): SessionPlan => ({
    ...plan,
    steps: [...plan.steps.slice(0, -1), ...steps, ...plan.steps.slice(-1)],
  });

const SALT: StepReading = { quantity: 'salinity-ppt', low: 33, high: 36 };
const sit = (reading: StepReading, more: Partial<Sitting> = {}) =>
  createSitting({
    tank: small(),
    procedure: 'skimmer-service',
    replan: withSteps(readingStep(reading)),
    answer: (step) => (step.startsWith('reading') || step === '#resume' ? null : ada),
    ...more,
  });
const asked = (reading: StepReading, more: Partial<Sitting> = {}) => {
  const s = sit(reading, more);
  s.until('asked', heldAt('reading:salt'));
  s.seconds(3);
  return s;
};
const judged = (s: ReturnType<typeof sit>, value?: number) => {
  const { prompt } = s.trail.state;
  const given = { session: 's1', step: prompt?.step ?? '', nonce: prompt?.nonce ?? '', actor: ada, at: s.now() };
  const verdict = judgeConfirmation(s.trail.state, value === undefined ? given : { ...given, value }, s.ctx);
  return verdict.ok ? 'ok' : verdict.code;
};

describe('a value a person types', () => {
  test('is asked with its unit and limits, recorded, and the session goes on', () => {
    const s = asked(SALT);
    const { prompt } = s.trail.state;
    assert.match(prompt?.text ?? '', /Type the salinity in ppt, between 33 ppt and 36 ppt\./);
    assert.deepEqual(prompt?.asks, { quantity: 'salinity-ppt', unit: 'ppt', low: 33, high: 36 });
    s.confirm(ada, { value: 35.1 });
    s.until('complete', (state) => state.status === 'complete');
    const record = s.record('reading:salt');
    assert.equal(record.value, 35.1);
    assert.equal(record.evidence, 5);
    assert.equal(record.confirmedBy, 'Ada');
    assert.match(record.evidenceText, /35\.1 ppt, typed by Ada/);
    assert.deepEqual(replay(s.trail.events, s.ctx), s.trail.state);
  });

  test('outside its limits it is not taken: held with words, asked again under a new question, as often as it takes', () => {
    const s = asked(SALT);
    const first = s.trail.state.prompt;
    assert.equal(judged(s, 38.2), 'SW-SES-019');
    for (let round = 0; round < 3; round++) {
      const before = s.trail.state.prompt;
      s.confirm(ada, { value: 38.2 });
      const { state } = s.trail;
      assert.equal(state.status, 'held');
      assert.equal(state.prompt?.step, 'reading:salt');
      assert.notEqual(state.prompt?.nonce, before?.nonce);
      assert.match(state.prompt?.text ?? '', /38\.2 ppt is not taken: it is above the 36 ppt/);
      s.seconds(3);
    }
    assert.equal(s.record('reading:salt').tries, 3);
    assert.equal(s.record('reading:salt').value, undefined);
    s.confirm(ada, { value: 35, nonce: first?.nonce ?? '' });
    assert.equal(s.trail.state.status, 'held');
    s.confirm(ada, { value: 35 });
    s.until('complete', (state) => state.status === 'complete');
  });

  test('a plain answer, nonsense and a value nobody asked for are told apart', () => {
    const s = asked(SALT);
    assert.equal(judged(s), 'SW-SES-017');
    assert.equal(judged(s, Number.NaN), 'SW-SES-017');
    assert.equal(judged(s, Number.POSITIVE_INFINITY), 'SW-SES-017');
    assert.equal(judged(s, -1), 'SW-SES-019');
    const t = sit(SALT, { answer: (step) => (step === '#begin' ? ada : null) });
    t.until('unplug', heldAt('unplug:skimmer'));
    t.seconds(3);
    assert.equal(judged(t, 3), 'SW-SES-018');
  });

  test('litres in are held against litres out within the tolerance', () => {
    const litres = (more: Partial<StepReading>): StepReading => ({ quantity: 'volume-l', ...more });
    const s = createSitting({
      tank: small(),
      procedure: 'skimmer-service',
      replan: withSteps(
        readingStep(litres({ low: 1 }), 'reading:out'),
        readingStep(litres({ sameAs: 'reading:out', tolerance: 2 }), 'reading:in'),
      ),
      answer: (step) => (step === 'reading:in' ? null : ada),
      type: () => 45,
    });
    s.until('asked', heldAt('reading:in'));
    s.seconds(3);
    assert.match(s.trail.state.prompt?.text ?? '', /between 43 L and 47 L/);
    s.confirm(ada, { value: 40 });
    assert.match(s.trail.state.prompt?.text ?? '', /40 L is not taken: it is below the 43 L.*45 L was typed before/);
    s.seconds(3);
    s.confirm(ada, { value: 46.5 });
    s.until('complete', (state) => state.status === 'complete');
  });

  test('a fresh sensor proposes its value, which stays the same while it is read, and is taken by a plain answer', () => {
    const s = asked({ ...SALT, entity: 'sensor.salt' });
    s.report('sensor.salt', 35.04);
    const { prompt } = s.trail.state;
    assert.match(prompt?.text ?? '', /sensor\.salt reads 35 ppt: confirm without a value/);
    assert.equal(prompt?.asks?.proposed, 35);
    s.report('sensor.salt', 35.4);
    assert.equal(s.trail.state.prompt?.nonce, prompt?.nonce);
    s.seconds(3);
    s.confirm(ada);
    s.until('complete', ended);
    assert.equal(s.record('reading:salt').value, 35);
    assert.match(s.record('reading:salt').evidenceText, /read by sensor\.salt and confirmed by Ada/);
  });

  test('a sensor that has gone silent proposes nothing any more', () => {
    const s = asked({ ...SALT, entity: 'sensor.salt' });
    s.report('sensor.salt', 35);
    const old = s.trail.state.prompt;
    s.seconds(125);
    assert.equal(s.trail.state.prompt?.asks?.proposed, undefined);
    assert.notEqual(s.trail.state.prompt?.nonce, old?.nonce);
    assert.equal(judged(s), 'SW-SES-017');
  });

  test('a word against a fresh sensor is asked twice, and then taken unproven', () => {
    const s = asked({ ...SALT, entity: 'sensor.salt' });
    s.report('sensor.salt', 39);
    assert.equal(s.trail.state.prompt?.asks?.proposed, undefined);
    s.confirm(ada, { value: 35 });
    assert.match(s.trail.state.prompt?.text ?? '', /sensor\.salt freshly reads 39 ppt; measure again/);
    s.seconds(3);
    s.confirm(ada, { value: 35 });
    s.until('complete', ended);
    assert.equal(s.record('reading:salt').result, 'passed-unproven');
    assert.match(s.record('reading:salt').evidenceText, /twice, against 39 ppt/);
  });
});
