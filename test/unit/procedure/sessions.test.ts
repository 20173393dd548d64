import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { judgeConfirmation, replay } from '../../../src/procedure/index.ts';
import { ada, bo, createSitting, ended, heldAt, machine } from './plant.ts';
import { equipment, reef, small, without } from './tanks.ts';

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
  const answers = (step: string) => (step === '#begin' ? machine : null);

  test('a machine may confirm the plan, but never say "unplugged"', () => {
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

describe('plugs that lie', () => {
  test('one that says off and keeps its watts stops the session with words', () => {
    const s = service({ faults: { skimmer: 'welded' } });
    const state = s.until('held', (each) => each.hold?.reason === 'contradiction');
    assert.match(state.hold?.text ?? '', /skimmer says off but still draws 26 W.*Unplug it now/);
    assert.deepEqual(s.commands(), ['off:top-off', 'off:skimmer', 'off:skimmer']);
    assert.deepEqual(s.alarms(), ['contradiction']);
    s.seconds(3600);
    assert.equal(s.commands().length, 3);
  });

  test('one that does not obey is told twice, then a person is called', () => {
    const s = service({ faults: { skimmer: 'stuck' } });
    const state = s.until('held', (each) => each.hold?.reason === 'not-proven');
    assert.match(state.hold?.text ?? '', /still reads on after 2 commands/);
  });

  test('one that falls silent is unknown, never off', () => {
    const s = service({ faults: { skimmer: 'silent' } });
    const state = s.until('held', (each) => each.hold?.reason === 'unknown-reading');
    assert.match(state.hold?.text ?? '', /has not reported since the command/);
    assert.equal(s.record('off:skimmer').result, 'open');
  });

  test('a heater caught heating must be seen to fall; one that keeps heating is a contradiction', () => {
    for (const [fault, reason] of [
      [{}, null],
      [{ heater: 'welded' }, 'contradiction'],
    ] as const) {
      const tank = small();
      const s = createSitting({
        tank: { ...tank, equipment: [...tank.equipment, equipment('heater', 'heater', { normalPowerW: 200 })] },
        procedure: 'pump-pause',
        faults: fault,
      });
      s.plant.plug('heater').calling = true;
      const state = s.until(
        'heater done',
        (each) => each.hold?.reason === 'contradiction' || s.record('off:heater').closedAt !== null,
      );
      if (reason === null) assert.equal(s.record('off:heater').evidence, 3);
      else assert.equal(state.hold?.reason, reason);
    }
  });

  test('a pump that hums without turning after its start is told three times in all, then a person is called', () => {
    const s = pause({ faults: { return: 'not-turning' } });
    const state = s.until('held', (each) => each.hold?.reason === 'not-proven');
    assert.match(state.hold?.text ?? '', /return is switched on but it draws 3\.0 W instead of about 48 W/);
    assert.equal(s.commands().filter((each) => each === 'on:return').length, 3);
    assert.deepEqual(state.offNow.includes('return'), true);
  });

  test('after the person put it right and resumed, the session reads again and goes on', () => {
    const faults: Record<string, 'stuck'> = { skimmer: 'stuck' };
    const s = service({ faults });
    s.until('held', (each) => each.hold?.reason === 'not-proven');
    delete faults['skimmer'];
    s.seconds(5);
    s.confirm(ada);
    s.until('complete', (state) => state.status === 'complete');
    assert.equal(s.commands().filter((each) => each === 'off:skimmer').length, 3);
  });
});

describe('other hands', () => {
  test('a claimed plug that comes on alarms within a report and holds, and a resume is not enough while it is on', () => {
    const s = service({ answer: (step: string) => (step.startsWith('hands-on') || step === '#resume' ? null : ada) });
    s.until('hands on', heldAt('hands-on:lift'));
    s.plant.turn('skimmer', true, s.now());
    const at = s.now();
    s.until('alarm', (state) => state.hold?.reason === 'foreign-hand', 12);
    assert.ok(s.now() - at <= 11_000);
    assert.match(s.trail.state.hold?.text ?? '', /claimed by Ada. Hands out of the water now/);
    s.seconds(4);
    s.confirm(ada);
    s.seconds(3);
    assert.equal(s.trail.state.hold?.reason, 'foreign-hand');
    s.plant.turn('skimmer', false, s.now());
    s.seconds(12);
    s.confirm(ada);
    s.until('hands on again', heldAt('hands-on:lift'), 20);
    assert.deepEqual(s.alarms(), ['foreign-hand']);
  });

  test('watts on a claimed plug for 2 s are an alarm even with its relay off', () => {
    const s = service({
      answer: (step: string) => (step.startsWith('hands-on') ? null : step === '#resume' ? null : ada),
    });
    s.until('hands on', heldAt('hands-on:lift'));
    const watts = (at: number) => ({ entity: 'sensor.skimmer_power', value: 5, changedAt: at, reportedAt: at });
    s.send({ kind: 'readings', at: s.now() + 100, readings: [watts(s.now() + 100)], nextNonce: s.nonce() });
    assert.deepEqual(s.alarms(), []);
    s.send({ kind: 'tick', at: s.now() + 2_100, nextNonce: s.nonce() });
    assert.deepEqual(s.alarms(), ['foreign-hand']);
  });

  test('something we keep off that is switched on holds the session', () => {
    const s = pause({ answer: (step: string) => (step === '#begin' ? ada : null) });
    s.until('pause', heldAt('hands-on:pause'));
    s.plant.turn('top-off', true, s.now());
    const state = s.until('held', (each) => each.hold?.reason === 'foreign-hand', 12);
    assert.match(state.hold?.text ?? '', /top off was switched on by other hands/);
  });

  test('after the end a claim is still guarded', () => {
    const s = service({
      answer: (step: string) => (step.startsWith('hands-on') || step.startsWith('#release') ? null : ada),
    });
    s.until('hands on', heldAt('hands-on:lift'));
    s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
    s.plant.turn('skimmer', true, s.now());
    s.seconds(12);
    assert.deepEqual(s.alarms(), ['foreign-hand']);
  });
});

describe('level', () => {
  test('a rise over the learned one stops the run with an alarm', () => {
    const s = pause();
    s.plant.world.riseCm = 9;
    const state = s.until('held', (each) => each.hold?.reason === 'limit-exceeded');
    assert.match(state.hold?.text ?? '', /siphon break may be blocked/);
    assert.ok(s.alarms().includes('limit-exceeded'));
    assert.ok(!s.commands().includes('on:return'));
  });

  test('a return that reads off while the sump does not rise is not believed', () => {
    const s = pause();
    s.plant.world.riseCm = 0;
    const state = s.until('held', (each) => each.hold?.reason === 'effect-missing');
    assert.match(state.hold?.text ?? '', /rose only 0\.0 cm/);
  });

  test('salt water missing in the end keeps the top-off off until it is put back', () => {
    const s = service({ answer: (step: string) => (step === '#resume' ? null : ada) });
    s.until('hands on', (state) => state.claims.length > 0);
    s.plant.world.extraCm = -1.2;
    const state = s.until('held', (each) => each.hold?.reason === 'effect-missing');
    assert.match(state.hold?.text ?? '', /1\.2 cm below.*put it back as salt water/);
    assert.ok(!s.commands().includes('on:top-off'));
    s.plant.world.extraCm = 0;
    s.seconds(60);
    s.confirm(ada);
    s.until('complete', (each) => each.status === 'complete');
  });

  test('a sump already too full is not stopped into', () => {
    const s = pause();
    s.plant.world.level = 37;
    s.plant.world.extraCm = 17;
    const state = s.until('held', (each) => each.hold?.reason === 'limit-exceeded');
    assert.match(state.hold?.text ?? '', /over the rim/);
    assert.deepEqual(s.commands(), []);
  });
});

describe('hub and service', () => {
  test('a short loss of the hub reads everything again and goes on by itself', () => {
    const s = service();
    s.until('resting', (state) => s.record('rest:skimmer').result === 'open' && state.status === 'running');
    s.loseHub();
    assert.equal(s.trail.state.hold?.reason, 'hub-lost');
    s.seconds(30);
    assert.equal(s.trail.state.prompt, null);
    s.hubReturns();
    s.until('complete', (state) => state.status === 'complete');
  });

  test('a long loss waits for a person', () => {
    const s = service();
    s.until('resting', () => s.record('rest:skimmer').result === 'open');
    s.loseHub();
    s.seconds(90);
    s.hubReturns();
    s.seconds(300);
    assert.equal(s.trail.state.status, 'held');
    assert.equal(s.trail.state.prompt?.step, '#resume');
    s.confirm(ada);
    s.until('complete', (state) => state.status === 'complete');
  });

  test('a restart in the middle of a switch-off reads the plug first and does not command again what is off', () => {
    const s = service();
    s.until('going off', (state) => s.commands().includes('off:skimmer') && state.status === 'running');
    s.restart();
    s.seconds(120);
    assert.equal(s.trail.state.hold?.reason, 'service-restarted');
    assert.equal(s.commands().filter((each) => each === 'off:skimmer').length, 1);
    s.confirm(machine);
    assert.equal(s.trail.state.status, 'held');
    s.confirm(ada);
    s.until('complete', (state) => state.status === 'complete');
    assert.equal(s.commands().filter((each) => each === 'off:skimmer').length, 1);
    assert.equal(s.record('off:skimmer').evidence, 3);
  });

  test('a restart where the command never arrived: still on after the resume, commanded once more', () => {
    const s = service();
    s.until('going off', () => s.commands().includes('off:skimmer'));
    s.plant.turn('skimmer', true, s.now());
    s.restart();
    s.seconds(30);
    s.confirm(ada);
    s.until('complete', (state) => state.status === 'complete');
    assert.equal(s.commands().filter((each) => each === 'off:skimmer').length, 2);
  });

  test('a refused command holds with the hub’s words', () => {
    const s = service();
    s.until('going off', () => s.commands().includes('off:skimmer'));
    const command = {
      session: 's1',
      step: 'off:skimmer',
      equipment: 'skimmer',
      entity: 'switch.skimmer',
      turn: 'off',
    } as const;
    s.send({ kind: 'command-ended', at: s.now(), command, outcome: 'refused', detail: 'no permission' });
    assert.equal(s.trail.state.hold?.reason, 'command-refused');
    assert.match(s.trail.state.hold?.text ?? '', /no permission/);
    s.seconds(1);
    assert.equal(s.trail.state.prompt?.step, '#resume');
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
});
