import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { judgeConfirmation, replay } from '../../../src/procedure/index.ts';
import { ada, bo, createSitting, ended, heldAt, type Sitting } from './plant.ts';
import { equipment, reef, small } from './tanks.ts';

const service = (more: Partial<Sitting> = {}) =>
  createSitting({ tank: small(), procedure: 'skimmer-service', ...more });
const pause = (more: Partial<Sitting> = {}) => createSitting({ tank: small(), procedure: 'pump-pause', ...more });
const begin = (step: string) => (step === '#begin' ? ada : null);

describe('"I am at the tank"', () => {
  test('who said so, or the deputy named for that person, answers for what is handled; nobody else does', () => {
    for (const [deputies, taken] of [
      [{}, false],
      [{ Ada: 'Bo' }, true],
    ] as const) {
      const s = service({ answer: begin, deputies });
      s.until('unplug', heldAt('unplug:skimmer'));
      s.seconds(3);
      const { prompt } = s.trail.state;
      const given = { session: 's1', step: prompt?.step ?? '', nonce: prompt?.nonce ?? '', actor: bo, at: s.now() };
      const verdict = judgeConfirmation(s.trail.state, given, s.ctx);
      assert.equal(verdict.ok ? 'ok' : verdict.code, taken ? 'ok' : 'SW-SES-016');
      s.confirm(bo);
      assert.equal(s.trail.state.claims.length, taken ? 1 : 0);
    }
  });

  test('what nobody handles may be answered by any person', () => {
    const s = pause({ answer: begin });
    s.until('pause', heldAt('hands-on:pause'));
    s.seconds(3);
    s.confirm(bo);
    s.until('complete', ended);
  });
});

describe('nothing waits in silence', () => {
  test('a claim is told again every half hour, also after the session, until it is released', () => {
    const s = service({ answer: (step) => (step.startsWith('hands-on') || step.startsWith('#release') ? null : ada) });
    s.until('hands on', heldAt('hands-on:lift'));
    s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
    s.seconds(2 * 3600);
    assert.equal(s.alarms().filter((code) => code === 'claim-stands').length, 4);
    assert.ok(s.words().some((text) => text.startsWith('skimmer is still claimed by Ada and stays off.')));
    s.confirm(ada);
    s.seconds(2 * 3600);
    assert.equal(s.alarms().filter((code) => code === 'claim-stands').length, 4);
  });

  test('a hold that is no hold point is told again as well', () => {
    const s = service({ faults: { skimmer: 'stuck' } });
    s.until('held', (state) => state.hold?.reason === 'not-proven');
    s.seconds(3 * 3600);
    assert.ok(s.alarms().filter((code) => code === 'still-waiting').length >= 5);
  });

  test('a session that should be over before the dark says so', () => {
    const s = pause({ answer: begin, replan: (plan) => ({ ...plan, endBy: Date.UTC(2026, 2, 2, 12, 25) }) });
    s.until('told', () => s.alarms().includes('too-late'), 3600);
    assert.ok(s.now() >= Date.UTC(2026, 2, 2, 12, 25));
    assert.ok(s.words().some((text) => /should be over by now: it gets dark/.test(text)));
  });
});

describe('how a command ends', () => {
  test('invalid and refused hold with words of their own', () => {
    for (const [outcome, words] of [
      ['refused', /The hub did not take the command for top off: .*Put it right, then resume/],
      ['invalid', /The hub cannot carry out the command for top off: .*Correct the configuration or the hub/],
    ] as const) {
      const s = service({ outcome: () => outcome, answer: begin });
      const state = s.until('held', (each) => each.hold?.reason === 'command-refused');
      assert.match(state.hold?.text ?? '', words);
    }
  });

  test('still working and sent-unconfirmed prove nothing; the plug is read, and the session goes on by it', () => {
    for (const [outcome, words] of [
      ['still-working', /still at work/],
      ['sent-unconfirmed', /nothing tells whether it arrived/],
    ] as const) {
      const seen: string[] = [];
      const s = service({
        outcome: () => outcome,
        answer: (step) => (step === '#resume' ? null : ada),
        observe: ({ event, after }) => {
          if (event.kind === 'command-ended') seen.push(after.records[after.stepIndex]?.evidenceText ?? '');
        },
      });
      s.until('complete', ended);
      assert.equal(s.trail.state.status, 'complete');
      assert.equal(seen.length, 4);
      for (const text of seen) assert.match(text, words);
    }
  });

  test('sent-unconfirmed and not obeyed is told once more after the plug was read, never blindly', () => {
    const faults: Record<string, 'stuck'> = { skimmer: 'stuck' };
    const s = service({ outcome: () => 'sent-unconfirmed', faults, answer: begin });
    const state = s.until('held', (each) => each.hold?.reason === 'not-proven');
    assert.match(state.hold?.text ?? '', /still reads on after 2 commands/);
    assert.equal(s.commands().filter((each) => each === 'off:skimmer').length, 2);
  });
});

describe('other hands', () => {
  test('an adder that is switched on is told to go off again, once for each time; the hold stands', () => {
    const s = pause({ answer: begin });
    s.until('pause', heldAt('hands-on:pause'));
    const before = s.commands().filter((each) => each === 'off:top-off').length;
    s.plant.turn('top-off', true, s.now());
    s.until('held', (state) => state.hold?.reason === 'foreign-hand', 12);
    s.seconds(60);
    assert.equal(s.plant.plug('top-off').relay, false);
    assert.equal(s.commands().filter((each) => each === 'off:top-off').length, before + 1);
    assert.equal(s.trail.state.hold?.reason, 'foreign-hand');
  });

  test('a skimmer is left to a person, and so is a water mover that may be the last', () => {
    for (const id of ['skimmer', 'return']) {
      const s = pause({ answer: begin });
      s.until('pause', heldAt('hands-on:pause'));
      const before = s.commands().length;
      s.plant.turn(id, true, s.now());
      s.until('held', (state) => state.hold?.reason === 'foreign-hand', 12);
      s.seconds(60);
      assert.equal(s.commands().length, before);
    }
  });

  test('a schedule that was suspended and is active again is told before it switches anything', () => {
    const s = createSitting({ tank: reef(), procedure: 'pump-pause', answer: begin });
    s.until('pause', heldAt('hands-on:pause'));
    s.seconds(60);
    s.plant.world.drivers.set('automation.top_off', true);
    s.until('told', () => s.words().some((text) => /automation\.top_off is active again/.test(text)), 15);
    assert.ok(s.alarms().includes('foreign-hand'));
  });
});

describe('an abort', () => {
  test('gives a driver back where its equipment was never stopped or is proved back, and lists the others as suspended', () => {
    const s = createSitting({ tank: reef(), procedure: 'pump-pause', answer: begin });
    s.until('pause', heldAt('hands-on:pause'));
    s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
    assert.equal(s.plant.world.drivers.get('automation.top_off'), false);
    assert.match(s.trail.state.summary, /Still suspended in the hub: automation\.top_off/);
    const t = createSitting({ tank: reef(), procedure: 'pump-pause', answer: begin });
    t.until('taken over', () => t.plant.world.drivers.get('automation.top_off') === false);
    t.send({ kind: 'abort', at: t.now(), actor: bo, nextNonce: t.nonce() });
    if (!t.trail.state.offNow.includes('top-off')) assert.equal(t.plant.world.drivers.get('automation.top_off'), true);
    else assert.match(t.trail.state.summary, /Still suspended/);
  });

  test('lists what had come back and no longer reads so', () => {
    const s = pause();
    s.until('return is back', () => s.record('on:return').closedAt !== null);
    s.plant.turn('return', false, s.now());
    s.seconds(15);
    s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
    assert.match(s.trail.state.summary, /Off or not proved back: .*return/);
  });
});

describe('the end', () => {
  test('is not said while something that had come back is off again', () => {
    const s = service({ answer: (step) => (step === '#resume' ? null : ada) });
    s.until('skimmer is back', () => s.record('on:skimmer').closedAt !== null);
    s.plant.turn('skimmer', false, s.now());
    const state = s.until('held', (each) => each.status === 'held');
    assert.match(state.hold?.text ?? '', /Came back, and is not running any more: skimmer/);
    assert.deepEqual(state.offNow, ['skimmer']);
    s.plant.turn('skimmer', true, s.now());
    s.seconds(15);
    s.confirm(ada);
    s.until('complete', (each) => each.status === 'complete');
    assert.deepEqual(s.trail.state.offNow, []);
  });
});

describe('clocks', () => {
  test('of hub and service that disagree by more than 5 s hold the session until they agree, and then for a person', () => {
    const s = pause({ answer: begin });
    s.until('pause', heldAt('hands-on:pause'));
    s.send({ kind: 'clock-skew', at: s.now(), skewMs: 4_000, nextNonce: s.nonce() });
    assert.equal(s.trail.state.prompt?.step, 'hands-on:pause');
    s.send({ kind: 'clock-skew', at: s.now(), skewMs: -7_000, nextNonce: s.nonce() });
    assert.match(s.trail.state.hold?.text ?? '', /disagree by 7\.0 s: nothing can be judged fresh/);
    s.seconds(60);
    assert.equal(s.trail.state.prompt, null);
    const before = s.commands().length;
    s.send({ kind: 'clock-skew', at: s.now(), skewMs: 100, nextNonce: s.nonce() });
    const agreed = s.seconds(60);
    assert.equal(agreed.prompt?.step, '#resume');
    assert.equal(s.commands().length, before);
    s.confirm(ada);
    s.until('pause again', heldAt('hands-on:pause'), 60);
  });

  test('a report dated ahead proves nothing, and does not keep out the right ones after it', () => {
    const s = service({ answer: begin });
    s.until('unplug', heldAt('unplug:skimmer'));
    const ahead = { entity: 'sensor.skimmer_power', value: 0.3, changedAt: s.now(), reportedAt: s.now() + 60_000 };
    s.send({ kind: 'readings', at: s.now(), readings: [ahead], nextNonce: s.nonce() });
    assert.match(s.trail.state.prompt?.text ?? '', /not proven/);
    s.seconds(30);
    assert.match(s.trail.state.prompt?.text ?? '', /may be unplugged/);
  });

  test('a clock that is put forward ends no wait, and a person looks first', () => {
    const heated = {
      ...small(),
      equipment: [...small().equipment, equipment('heater', 'heater', { normalPowerW: 200 })],
    };
    const s = createSitting({ tank: heated, procedure: 'pump-pause', answer: begin });
    s.until('cooling', () => s.record('wait:heater').result === 'open');
    s.jumpClock(20 * 60_000);
    assert.match(s.trail.state.hold?.text ?? '', /put forward by 1200 s/);
    const jumpedAt = s.now();
    s.seconds(4);
    s.confirm(ada);
    s.until('return off', () => s.commands().includes('off:return'), 3600);
    assert.ok(s.now() - jumpedAt >= 14 * 60_000);
    assert.deepEqual(replay(s.trail.events, s.ctx), s.trail.state);
  });

  test('one that is put back holds as well, and the session is not stuck in its own future', () => {
    const s = service({ answer: begin });
    s.until('resting', () => s.record('rest:skimmer').result === 'open');
    s.jumpClock(-8 * 60_000);
    s.seconds(10);
    s.confirm(ada);
    s.until('unplug', heldAt('unplug:skimmer'), 400);
  });
});

describe('what was proved', () => {
  test('is earned anew after any sign of life', () => {
    const s = service({ answer: begin });
    s.until('unplug', heldAt('unplug:skimmer'));
    assert.match(s.trail.state.prompt?.text ?? '', /may be unplugged/);
    s.seconds(3);
    s.report('sensor.skimmer_power', 26);
    assert.match(s.trail.state.prompt?.text ?? s.trail.state.hold?.text ?? '', /not proven|draws 26 W/);
    s.until('asked to look', heldAt('#resume'), 30);
    s.seconds(4);
    s.confirm(ada);
    s.until('unplug', heldAt('unplug:skimmer'), 60);
    s.until('proved again', (state) => /may be unplugged/.test(state.prompt?.text ?? ''), 60);
  });
});

test('an alarm of the moment before a restart is told again where it still stands', () => {
  const s = createSitting({
    tank: small(),
    procedure: 'pump-pause',
    answer: (step) => (step === '#begin' ? ada : null),
  });
  s.until('pause', heldAt('hands-on:pause'));
  s.plant.turn('skimmer', true, s.now());
  s.until('told', (state) => state.hold?.reason === 'foreign-hand', 12);
  assert.deepEqual(s.alarms(), ['foreign-hand']);
  s.restart();
  s.seconds(30);
  assert.deepEqual(s.alarms(), ['foreign-hand', 'foreign-hand']);
});
