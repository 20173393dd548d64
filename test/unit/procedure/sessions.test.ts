import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { judgeConfirmation, recalled, replay } from '../../../src/procedure/index.ts';
import { ada, bo, createSitting, ended, heldAt, machine } from './plant.ts';
import { reef, small, without } from './tanks.ts';

const service = (more = {}) => createSitting({ tank: small(), procedure: 'skimmer-service', ...more });
const pause = (more = {}) => createSitting({ tank: small(), procedure: 'pump-pause', ...more });

describe('a good session', () => {
  test('takes the skimmer out and back with the evidence of each step', () => {
    const s = service();
    s.until('complete', (state) => state.status === 'complete');
    assert.deepEqual(s.commands(), ['off:top-off', 'off:skimmer', 'on:skimmer', 'on:top-off']);
    assert.equal(s.record('off:skimmer').evidence, 3);
    assert.equal(s.record('unplug:skimmer').evidence, 6);
    assert.equal(s.record('on:skimmer').evidence, 3);
    assert.equal(s.record('off:top-off').result, 'passed-unproven');
    assert.deepEqual(s.trail.state.offNow, []);
    assert.deepEqual(s.alarms(), []);
    assert.match(s.trail.state.summary, /Back and proved: skimmer; reported on, not proven: top off/);
  });

  test('stops and starts two returns one after the other, each proved, circulation never touched', () => {
    const s = createSitting({ tank: reef(), procedure: 'pump-pause' });
    s.until('complete', (state) => state.status === 'complete');
    assert.equal(s.record('off:return-a').evidence, 3);
    assert.equal(s.record('off:return-b').evidence, 4);
    assert.match(s.record('off:return-b').evidenceText, /sump rose/);
    assert.equal(s.record('settle:rise').evidence, 4);
    assert.ok(!s.commands().some((command) => command.includes('flow')));
    const returns = s.commands().filter((command) => command.includes('return'));
    assert.deepEqual(returns, ['off:return-a', 'off:return-b', 'on:return-b', 'on:return-a']);
    const cooled = (s.record('off:return-a').openedAt ?? 0) - (s.record('off:heater-2').closedAt ?? 0);
    assert.ok(cooled >= 15 * 60_000);
  });

  test('a state is plain data, and its events alone give it again', () => {
    const s = service();
    s.until('complete', (state) => state.status === 'complete');
    assert.deepEqual(JSON.parse(JSON.stringify(s.trail.state)), s.trail.state);
    assert.deepEqual(replay(s.trail.events, s.ctx), s.trail.state);
  });

  test('an event that changes nothing gives the very same state back', () => {
    const s = service({ answer: () => null });
    const before = s.seconds(5);
    assert.equal(s.seconds(1), before);
  });
});

describe('the second confirmation', () => {
  test('nothing is switched before it', () => {
    const s = service({ answer: () => null });
    s.seconds(60);
    assert.deepEqual(s.commands(), []);
    assert.equal(s.trail.state.status, 'idle');
  });

  test('a plan nobody confirms goes away after 10 min', () => {
    const s = service({ answer: () => null });
    s.until('stopped', (state) => state.status === 'stopped', 601);
    assert.match(s.trail.state.summary, /Nothing was switched/);
    assert.deepEqual(s.commands(), []);
  });

  test('too early, wrong nonce, wrong step, wrong session, used: each refused with its own words', () => {
    const s = service({ answer: () => null });
    const judge = (more: object) => {
      const prompt = s.trail.state.prompt;
      const confirmation = {
        session: 's1',
        step: prompt?.step ?? '',
        nonce: prompt?.nonce ?? '',
        actor: ada,
        at: s.now(),
      };
      const judged = judgeConfirmation(s.trail.state, { ...confirmation, ...more }, s.ctx);
      return judged.ok ? 'ok' : judged.code;
    };
    s.seconds(1);
    assert.equal(judge({}), 'SW-SES-005');
    s.confirm(ada);
    assert.equal(s.trail.state.status, 'idle');
    s.seconds(2);
    assert.equal(judge({ nonce: 'other' }), 'SW-SES-008');
    assert.equal(judge({ step: 'unplug:skimmer' }), 'SW-SES-004');
    assert.equal(judge({ session: 's0' }), 'SW-SES-008');
    assert.equal(judge({}), 'ok');
    const used = s.trail.state.prompt?.nonce ?? '';
    s.confirm(ada);
    assert.equal(s.trail.state.status, 'running');
    assert.equal(judge({ step: '#begin', nonce: used }), 'SW-SES-006');
    assert.equal(judge({ step: 'x', nonce: 'fresh' }), 'SW-SES-013');
  });
});

describe('who may say what', () => {
  const answers = (step: string) => (step === '#begin' ? ada : null);

  test('a machine or nobody at all cannot confirm the plan: nothing is switched', () => {
    for (const actor of [machine, { kind: 'unknown', via: 'hub' }] as const) {
      const s = service({ answer: (step: string) => (step === '#begin' ? actor : null) });
      s.seconds(120);
      assert.equal(s.trail.state.status, 'idle');
      assert.ok(s.trail.state.records.every((record) => record.result === 'pending'));
    }
  });

  test('a machine cannot say "unplugged"', () => {
    const s = service({ answer: answers });
    s.until('unplug', heldAt('unplug:skimmer'));
    s.seconds(5);
    s.confirm(machine);
    s.confirm({ kind: 'unknown', via: 'hub' });
    assert.deepEqual(s.trail.state.claims, []);
    assert.equal(s.record('unplug:skimmer').result, 'open');
  });

  test('only the person of the claim releases it; a named deputy may too', () => {
    const until = (step: string) => (step.startsWith('plug-in') ? null : ada);
    for (const [deputies, released] of [
      [{}, false],
      [{ Ada: 'Bo' }, true],
    ] as const) {
      const s = service({ answer: until, deputies });
      s.until('plug in', heldAt('plug-in:skimmer'));
      s.seconds(5);
      s.confirm(bo);
      assert.equal(s.trail.state.claims.length === 0, released);
    }
  });

  test('a claim outlives an abort and is released afterwards by its person', () => {
    const s = service({
      answer: (step: string) => (step.startsWith('hands-on') ? null : step.startsWith('#release') ? null : ada),
    });
    s.until('hands on', heldAt('hands-on:lift'));
    s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
    assert.equal(s.trail.state.status, 'aborted');
    assert.match(s.trail.state.summary, /Off or not proved back: top off, skimmer.*Claimed: skimmer by Ada/);
    assert.equal(s.trail.state.prompt?.step, '#release:skimmer');
    s.seconds(5);
    s.confirm(bo);
    assert.equal(s.trail.state.claims.length, 1);
    s.confirm(ada);
    assert.equal(s.trail.state.claims.length, 0);
    assert.deepEqual(s.commands(), ['off:top-off', 'off:skimmer']);
  });
});

describe('what may be unplugged', () => {
  test('with the proof fresh, it may', () => {
    const s = service({ answer: (step: string) => (step === '#begin' ? ada : null) });
    const state = s.until('unplug', heldAt('unplug:skimmer'));
    assert.match(state.prompt?.text ?? '', /proved off .*may be unplugged/);
  });

  test('when the readings grow old, the word is taken back and the old answer with it', () => {
    const s = service({ answer: (step: string) => (step === '#begin' ? ada : null) });
    s.until('unplug', heldAt('unplug:skimmer'));
    const old = s.trail.state.prompt;
    // Readings of 3 min ago, nothing since.
    s.send({ kind: 'tick', at: s.now() + 180_000, nextNonce: s.nonce() });
    assert.match(s.trail.state.prompt?.text ?? '', /reported off, not proven: unplug it now/);
    assert.notEqual(s.trail.state.prompt?.nonce, old?.nonce);
  });

  test('without watts it is only reported off', () => {
    const tank = small();
    const blind = tank.equipment.map((each) => (each.id === 'skimmer' ? without(each, 'powerEntity') : each));
    const s = createSitting({
      tank: { ...tank, equipment: blind },
      procedure: 'skimmer-service',
      answer: (step) => (step === '#begin' ? ada : null),
    });
    const state = s.until('unplug', heldAt('unplug:skimmer'));
    assert.equal(s.record('off:skimmer').result, 'passed-unproven');
    assert.match(state.prompt?.text ?? '', /reported off, not proven: unplug it now/);
    assert.doesNotMatch(state.prompt?.text ?? '', /may be unplugged/);
  });

  test('what was off before proves nothing by being quiet, and stays off in the end', () => {
    const s = service({ startOff: ['skimmer'] });
    const state = s.until('unplug', heldAt('unplug:skimmer'));
    assert.match(state.prompt?.text ?? '', /not proven/);
    assert.match(s.record('off:skimmer').evidenceText, /was off before the session/);
    s.until('complete', (each) => each.status === 'complete');
    assert.equal(s.record('on:skimmer').result, 'skipped');
    assert.ok(!s.commands().includes('on:skimmer'));
    assert.match(s.trail.state.summary, /left off as before: skimmer/);
  });
});

describe('ends', () => {
  test('an abort in the pause switches nothing on, and says what is off', () => {
    const s = pause({ answer: (step: string) => (step === '#begin' ? ada : null) });
    s.until('pause', heldAt('hands-on:pause'));
    const before = s.commands().length;
    s.send({ kind: 'abort', at: s.now(), actor: machine, nextNonce: s.nonce() });
    s.seconds(600);
    assert.equal(s.commands().length, before);
    assert.match(s.trail.state.summary, /Aborted by flow. Off or not proved back: top off, skimmer, return/);
    assert.deepEqual(s.trail.state.offNow, ['top-off', 'skimmer', 'return']);
  });

  test('a forgotten pause ends by itself after 30 min, unless the hub was away meanwhile', () => {
    const forgetful = (step: string) => (step === '#begin' ? ada : null);
    const s = pause({ answer: forgetful });
    const opened = s.until('pause', heldAt('hands-on:pause')).prompt?.appearedAt ?? 0;
    s.until('complete', ended);
    assert.equal(s.trail.state.status, 'complete');
    assert.ok((s.record('hands-on:pause').closedAt ?? 0) - opened >= 30 * 60_000 - 1000);
    const t = pause({ answer: forgetful });
    t.until('pause', heldAt('hands-on:pause'));
    t.loseHub();
    t.seconds(20);
    t.hubReturns();
    t.seconds(2 * 3600);
    assert.equal(t.trail.state.status, 'held');
    assert.ok(!t.commands().includes('on:return'));
    assert.ok(t.alarms().includes('still-waiting'));
    assert.ok(t.alarms().includes('off-too-long'));
  });

  test('a return that stays off because the hub is away is told at half an hour, with what a hand can do', () => {
    const s = pause({ answer: (step: string) => (step === '#begin' ? ada : null) });
    s.until('pause', heldAt('hands-on:pause'));
    const offAt = Number(recalled(s.trail.state.memory, 'offAt.return'));
    s.loseHub();
    const told = () =>
      s.trail.effects.flatMap(({ at, effect }) =>
        effect.kind === 'alarm' && effect.code === 'off-long' ? [{ at, text: effect.text }] : [],
      );
    s.seconds(60 * 60);
    assert.equal(told().length, 1);
    assert.ok(Math.abs((told()[0]?.at ?? 0) - offAt - 30 * 60_000) <= 2_000);
    assert.match(told()[0]?.text ?? '', /^return has been off for 30 min, and the hub cannot be reached: .*by hand/);
  });

  test('while a person works, the same half hour is only shown', () => {
    const s = pause({ answer: (step: string) => (step === '#begin' ? ada : null) });
    s.until('complete', ended);
    assert.ok(!s.alarms().includes('off-long'));
  });
});
