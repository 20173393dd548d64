import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { ada, bo, createSitting, heldAt, machine } from './plant.ts';
import { equipment, sensor, small } from './tanks.ts';

const service = (more = {}) => createSitting({ tank: small(), procedure: 'skimmer-service', ...more });
const pause = (more = {}) => createSitting({ tank: small(), procedure: 'pump-pause', ...more });

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

describe('the wrong cord', () => {
  const toUnplug = (step: string) => (step === '#begin' ? ada : null);

  test('another load dying as "unplugged" is said asks for it, and hands stay out', () => {
    for (const first of ['dies before the word', 'dies after the word']) {
      const s = service({ answer: toUnplug });
      s.until('unplug', heldAt('unplug:skimmer'));
      s.seconds(20);
      s.plant.plug('return').unplugged = true;
      if (first === 'dies before the word') s.seconds(10);
      s.confirm(ada);
      const state = s.until('asked', (each) => each.hold?.reason === 'contradiction', 31);
      assert.match(state.hold?.text ?? '', /return went dead just as skimmer was unplugged: was it the wrong cord/);
      assert.deepEqual(s.alarms(), ['wrong-cord']);
    }
  });

  test('a lamp whose own schedule turns it off at that moment asks nothing', () => {
    const tank = small();
    const lamp = equipment('lamp', 'led-lamp', { normalPowerW: 60 });
    const s = createSitting({
      tank: { ...tank, equipment: [...tank.equipment, lamp] },
      procedure: 'skimmer-service',
      answer: toUnplug,
    });
    s.until('unplug', heldAt('unplug:skimmer'));
    s.seconds(20);
    s.plant.turn('lamp', false, s.now());
    s.confirm(ada);
    s.seconds(60);
    assert.deepEqual(s.alarms(), []);
    assert.equal(s.trail.state.prompt?.step, 'hands-on:lift');
  });
});

describe('before and between', () => {
  const heated = () => {
    const tank = small();
    const heater = equipment('heater', 'heater', { normalPowerW: 200 });
    const sensors = [sensor('t1', 'display-temperature'), sensor('t2', 'sump-temperature')];
    return { ...tank, equipment: [...tank.equipment, heater], sensors: [...tank.sensors, ...sensors] };
  };

  test('a wet leak sensor keeps everything from being switched; one that gets wet stops the run', () => {
    const tank = { ...small(), sensors: [...small().sensors, sensor('leak', 'leak')] };
    const wet = (at: number) => ({ entity: 'sensor.leak', value: 1, changedAt: at, reportedAt: at + 1 });
    const s = createSitting({ tank, procedure: 'skimmer-service' });
    s.seconds(2);
    s.send({ kind: 'readings', at: s.now(), readings: [wet(s.now() + 3_600_000)], nextNonce: s.nonce() });
    const state = s.until('held', (each) => each.hold?.reason === 'limit-exceeded');
    assert.match(state.hold?.text ?? '', /sensor\.leak/);
    assert.deepEqual(s.commands(), []);
    const t = createSitting({ tank, procedure: 'skimmer-service' });
    t.until('resting', () => t.record('rest:skimmer').result === 'open');
    t.send({ kind: 'readings', at: t.now(), readings: [wet(t.now() + 3_600_000)], nextNonce: t.nonce() });
    assert.equal(t.trail.state.hold?.reason, 'limit-exceeded');
    assert.deepEqual(t.alarms(), ['wet']);
  });

  test('no circulation proved to run: the return is not stopped', () => {
    const s = pause({ startOff: ['flow'] });
    const state = s.until('held', (each) => each.hold?.reason === 'limit-exceeded');
    assert.match(state.hold?.text ?? '', /No water mover that stays on is proved to run \(flow\)/);
    assert.deepEqual(s.commands(), []);
  });

  test('the last circulation pump dying in the pause is told', () => {
    const s = pause({ answer: (step: string) => (step === '#begin' ? ada : null) });
    s.until('pause', heldAt('hands-on:pause'));
    s.plant.turn('flow', false, s.now());
    s.until('told', () => s.alarms().includes('no-water-mover'), 150);
  });

  test('a heater stays off while the two temperatures do not agree, and starts when they do', () => {
    const s = createSitting({
      tank: heated(),
      procedure: 'pump-pause',
      answer: (step) => (step === '#resume' ? null : ada),
    });
    s.until('return back', () => s.record('on:return').closedAt !== null);
    s.plant.world.probeGapC = 1.2;
    const state = s.until('held', (each) => each.hold?.reason === 'contradiction');
    assert.match(state.hold?.text ?? '', /heater stays off: the temperatures differ by 1\.2 °C/);
    assert.ok(!s.commands().includes('on:heater'));
    s.plant.world.probeGapC = 0.2;
    s.seconds(15);
    s.confirm(ada);
    s.until('complete', (each) => each.status === 'complete');
  });

  test('missing readings hold before anything is switched', () => {
    const tank = { ...small(), sensors: [sensor('gone', 'sump-level')] };
    const s = createSitting({ tank, procedure: 'skimmer-service', hides: ['sensor.gone'] });
    const state = s.until('held', (each) => each.hold?.reason === 'unknown-reading', 600);
    assert.match(state.hold?.text ?? '', /No fresh reading from sensor\.gone/);
    assert.deepEqual(s.commands(), []);
  });

  test('starts keep their distance: 10 s between two of them', () => {
    const s = createSitting({ tank: heated(), procedure: 'pump-pause' });
    s.until('complete', (each) => each.status === 'complete');
    const starts = s.trail.effects
      .filter(({ effect }) => effect.kind === 'command' && effect.command.turn === 'on')
      .map(({ at }) => at);
    assert.equal(starts.length, 4);
    for (const [i, at] of starts.entries()) assert.ok(i === 0 || at - (starts[i - 1] ?? 0) >= 10_000);
  });

  test('with the clock ten times as fast the same session takes a tenth of the time', () => {
    const span = (timeFactor: number): number => {
      const s = service({ timeFactor });
      s.until('complete', (each) => each.status === 'complete');
      return (s.trail.state.endedAt ?? 0) - s.trail.state.startedAt;
    };
    const ratio = span(1) / span(10);
    assert.ok(ratio > 6 && ratio < 11, `${ratio}`);
  });
});

describe('what came alive again before its plug was pulled', () => {
  test('is called proved off only when the sump has risen a second time', () => {
    const tank = small();
    const s = createSitting({
      tank,
      procedure: 'return-pump-service',
      answer: (step) => (step.startsWith('unplug:return') || step === '#resume' ? null : ada),
    });
    s.until('unplug', heldAt('unplug:return'));
    assert.match(s.trail.state.prompt?.text ?? '', /sump rose .* It may be unplugged/);
    s.plant.turn('return', true, s.now());
    s.until('told', (state) => state.hold?.reason === 'foreign-hand', 15);
    s.seconds(120);
    s.plant.world.riseCm = 0;
    s.plant.turn('return', false, s.now());
    s.seconds(40);
    s.confirm(ada);
    s.until('asked again', heldAt('unplug:return'), 60);
    s.seconds(60);
    assert.match(s.trail.state.prompt?.text ?? '', /reported off, not proven: unplug it now/);
    s.plant.world.riseCm = 4.8;
    s.until('proved again', (state) => /may be unplugged/.test(state.prompt?.text ?? ''), 240);
  });
});

test('a return that stood still between two reports of one moment has not run on: a heater waits for two minutes of flow', () => {
  const tank = small();
  const heated = { ...tank, equipment: [...tank.equipment, equipment('heater', 'heater', { normalPowerW: 200 })] };
  const s = createSitting({ tank: heated, procedure: 'pump-pause' });
  s.until('flow is waited for', () => s.record('after:heater').result === 'open');
  s.seconds(60);
  const at = s.now();
  const watts = (value: number, agoMs: number) => ({
    entity: 'sensor.return_power',
    value,
    changedAt: at - agoMs,
    reportedAt: at - agoMs,
  });
  s.send({ kind: 'readings', at, readings: [watts(3, 800), watts(48, 100)], nextNonce: s.nonce() });
  s.until('heater on', () => s.commands().includes('on:heater'), 600);
  assert.ok(s.now() - at >= 120_000, `${s.now() - at}`);
});
