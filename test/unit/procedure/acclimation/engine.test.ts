import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { programmeLine } from '../../../../src/procedure/acclimation/index.ts';
import { CTX, createWorld, DAY, dayAt, HOUR, LAMP, MINUTE, T0, type World } from './world.ts';

/** Started in the evening of day 0, after the change. */
function started(): World {
  const w = createWorld();
  w.until(dayAt(0, 22));
  w.start();
  w.step();
  return w;
}

const onOff = (w: World): string[] =>
  w
    .commands()
    .map(({ at, turn }) => `${turn} ${Math.floor((at - T0) / DAY)} ${new Date(at).toISOString().slice(11, 16)}`);

describe('an undisturbed programme', () => {
  test('rests the driver, lights the share of each day from the usual beginning, and gives the driver back once', () => {
    const w = started();
    w.until(dayAt(11, 0));
    assert.equal(w.programme()?.status, 'over');
    assert.equal(w.driverOn, true);
    const commands = onOff(w);
    assert.equal(commands[0], 'suspend 0 22:00');
    // 60 %, then 5 % more of nine hours each day: 5 h 24 min, 5 h 51 min, …
    assert.deepEqual(commands.slice(1, 5), ['on 1 12:00', 'off 1 17:51', 'on 2 12:00', 'off 2 18:18']);
    assert.equal(commands.filter((text) => text.startsWith('on')).length, 7);
    assert.equal(commands.filter((text) => text.startsWith('off')).length, 7);
    assert.deepEqual(
      commands.filter((text) => text.startsWith('resume')),
      ['resume 8 04:30'],
    );
    for (const [date, ms] of w.lit) {
      const day = date - Math.floor(T0 / DAY);
      if (day > 0 && day < 8) assert.ok(ms <= (0.6 + 0.05 * day) * 9 * HOUR + MINUTE, `day ${day}: ${ms / HOUR} h`);
    }
    assert.deepEqual(w.alarms(), []);
    assert.match(w.says().join(), /under its driver again \(automation\.lamp\): its full hours are reached on day 9/);
  });

  test('started at night with the lamp off sends nothing to the lamp before its hour', () => {
    const w = started();
    w.until(dayAt(1, 11.9));
    assert.deepEqual(onOff(w), ['suspend 0 22:00']);
  });

  test('started while lit and past the share of the first day, the lamp goes off at once', () => {
    const w = createWorld();
    w.until(dayAt(0, 19));
    assert.equal(w.relay, 1);
    w.start();
    w.step();
    w.step();
    assert.deepEqual(onOff(w), ['suspend 0 19:00', 'off 0 19:01']);
  });

  test('says where it is', () => {
    const w = started();
    w.until(dayAt(2, 13));
    const p = w.programme() ?? assert.fail();
    assert.equal(
      programmeLine(p, w.state(), CTX),
      'Lamp, day 3 of 9 of new lamps: 70 % of its light, 12:00 to 18:18 of 12:00-21:00',
    );
  });
});

describe('other hands', () => {
  test('a lamp switched off stays off for that day, is told once, and is lit the next day', () => {
    const w = started();
    w.until(dayAt(1, 14));
    w.relay = 0;
    w.until(dayAt(2, 11));
    assert.deepEqual(onOff(w), ['suspend 0 22:00', 'on 1 12:00']);
    assert.equal(w.says().length, 1);
    assert.match(w.says()[0] ?? '', /switched off by another hand: that is respected for this day/);
    w.until(dayAt(2, 13));
    assert.equal(onOff(w).at(-1), 'on 2 12:00');
  });

  test('off and on again within the hours goes on as planned', () => {
    const w = started();
    w.until(dayAt(1, 14));
    w.relay = 0;
    w.step();
    w.relay = 1;
    w.until(dayAt(1, 18));
    assert.equal(onOff(w).at(-1), 'off 1 17:51');
  });

  test('lit after its hours it is left alone until the middle of the night', () => {
    const w = started();
    w.until(dayAt(1, 20));
    w.relay = 1;
    w.until(dayAt(2, 4));
    assert.equal(w.relay, 1);
    w.until(dayAt(2, 5));
    assert.equal(w.relay, 0);
    assert.equal(onOff(w).at(-1), 'off 2 04:30');
  });

  test('lit before its hours it still goes out at the end of the share', () => {
    const w = started();
    w.until(dayAt(1, 10));
    w.relay = 1;
    w.until(dayAt(1, 18));
    assert.deepEqual(onOff(w), ['suspend 0 22:00', 'off 1 17:51']);
  });

  test('the driver resumed by hand has the lamp for that day, and is taken over again the next', () => {
    const w = started();
    w.until(dayAt(1, 10));
    w.driverOn = true;
    w.until(dayAt(2, 3));
    assert.deepEqual(onOff(w), ['suspend 0 22:00']);
    assert.match(w.says()[0] ?? '', /resumed by another hand: Lamp is left to it for this day/);
    w.until(dayAt(2, 13));
    assert.deepEqual(onOff(w).slice(1), ['suspend 2 04:30', 'on 2 12:00']);
  });
});

describe('sessions, claims and guards come first', () => {
  test('nothing is sent while a session has the lamp, and the driver it resumed is taken over again afterwards', () => {
    const w = started();
    w.until(dayAt(1, 11));
    w.hold('a session has it');
    w.until(dayAt(1, 14));
    assert.deepEqual(onOff(w), ['suspend 0 22:00']);
    w.driverOn = true;
    w.hold(null);
    w.until(dayAt(1, 18));
    assert.deepEqual(onOff(w).slice(1), ['suspend 1 14:01', 'on 1 14:02', 'off 1 17:51']);
    assert.deepEqual(w.says(), []);
  });

  test('a claimed lamp is neither lit nor given back to its driver until the claim is released', () => {
    const w = started();
    w.until(dayAt(7, 22));
    w.hold('Ada claims it');
    w.until(dayAt(9, 15));
    assert.equal(w.programme()?.status, 'handing-back');
    assert.equal(w.driverOn, false);
    w.hold(null);
    w.step();
    w.step();
    assert.equal(w.programme()?.status, 'over');
    assert.equal(onOff(w).filter((text) => text.startsWith('resume')).length, 1);
  });
});

describe('what is not known', () => {
  test('a plug that is not heard at the beginning is not switched on; it is told, and lit when it reports', () => {
    const w = started();
    w.until(dayAt(1, 11));
    w.deaf = true;
    w.until(dayAt(1, 12.5));
    assert.deepEqual(onOff(w), ['suspend 0 22:00']);
    assert.match(w.alarms()[0] ?? '', /not switched on for its light: its plug or its driver has not been heard/);
    w.deaf = false;
    w.until(dayAt(1, 13));
    assert.equal(onOff(w).at(-1), 'on 1 12:31');
    assert.ok(w.sent.some(({ effect }) => effect.kind === 'alarm-over'));
  });

  test('a plug that does not obey is told twice, then a person is', () => {
    const w = started();
    w.until(dayAt(1, 11));
    w.stuck = true;
    w.until(dayAt(1, 16));
    assert.deepEqual(onOff(w).slice(1), ['on 1 12:00', 'on 1 12:01']);
    assert.deepEqual(w.alarms(), [
      'Lamp was told on at the beginning of its light and does not go on, also when told again. Switch it on by hand.',
    ]);
  });

  test('off goes out once even to a plug of which nothing is known', () => {
    const w = started();
    w.until(dayAt(1, 17));
    w.deaf = true;
    w.until(dayAt(1, 21));
    assert.deepEqual(onOff(w).slice(2), ['off 1 17:52']);
    assert.match(w.alarms()[0] ?? '', /told off at the end of its light and has not reported for 10 min/);
  });

  test('a driver that cannot be suspended is told twice and told of; the lamp is left to it, and tried again the next day', () => {
    const w = createWorld();
    w.until(dayAt(0, 22));
    w.driverDeaf = true;
    w.start();
    w.until(dayAt(1, 3));
    assert.deepEqual(onOff(w), ['suspend 0 22:00', 'suspend 0 22:01']);
    assert.match(w.alarms()[0] ?? '', /automation\.lamp did not suspend, also when told again/);
    w.driverDeaf = false;
    w.until(dayAt(1, 13));
    assert.equal(w.programme()?.status, 'running');
  });
});

describe('a restart of the service or the hub', () => {
  test('at any moment of the day sends nothing twice', () => {
    const plain = started();
    plain.until(dayAt(2, 0));
    for (const hour of [11.99, 12, 12.02, 15, 17.85, 17.87, 20]) {
      const w = started();
      w.until(dayAt(1, hour));
      w.kill();
      w.revive();
      w.until(dayAt(2, 0));
      assert.deepEqual(onOff(w), onOff(plain), `killed at ${hour} h`);
    }
  });

  test('a beginning missed with the service away is made up for, its end is not moved', () => {
    const w = started();
    w.until(dayAt(1, 11));
    w.kill();
    w.until(dayAt(1, 14));
    w.revive();
    w.until(dayAt(1, 18));
    assert.deepEqual(onOff(w).slice(1), ['on 1 14:01', 'off 1 17:51']);
  });

  test('with the hub away at the end of the share the lamp goes out as soon as it is back', () => {
    const w = started();
    w.until(dayAt(1, 17));
    w.link(false);
    w.until(dayAt(1, 19));
    w.link(true);
    w.until(dayAt(1, 20));
    assert.equal(onOff(w).at(-1)?.slice(0, 8), 'off 1 19');
    assert.equal(w.relay, 0);
  });

  test('a lamp found lit at night after the hub was away is switched off once', () => {
    const w = started();
    w.until(dayAt(1, 22));
    w.link(false);
    w.relay = 1;
    w.until(dayAt(1, 23));
    w.link(true);
    w.until(dayAt(2, 1));
    assert.equal(w.relay, 0);
    assert.match(w.says()[0] ?? '', /came on while it was out of sight, outside its light: it is switched off/);
  });

  test('the end that fell into an absence is made up for, once', () => {
    const w = started();
    w.until(dayAt(7, 22));
    w.kill();
    w.until(dayAt(12, 10));
    w.revive();
    w.until(dayAt(13, 0));
    assert.equal(w.programme()?.status, 'over');
    assert.equal(onOff(w).filter((text) => text.startsWith('resume')).length, 1);
    assert.equal(w.driverOn, true);
  });
});

describe('stopped by the keeper', () => {
  test('gives the driver back at once and sends nothing more', () => {
    const w = started();
    w.until(dayAt(3, 14));
    w.stop();
    w.step();
    w.step();
    assert.equal(w.programme()?.status, 'over');
    w.until(dayAt(5, 0));
    assert.equal(onOff(w).at(-1), 'resume 3 14:00');
  });

  test('in the very moment of the take-over the driver ends up with the lamp', () => {
    const w = createWorld();
    w.until(dayAt(0, 22));
    w.start();
    w.stop();
    w.until(dayAt(0, 23));
    assert.equal(w.driverOn, true);
    assert.equal(w.programme()?.status, 'over');
  });

  test('where the driver is configured otherwise by now nothing is sent, and a person is told to resume it', () => {
    const w = started();
    const lamp = CTX.lamps[LAMP] ?? assert.fail();
    const other = createWorld({ ...CTX, lamps: { [LAMP]: { ...lamp, driverEntity: 'automation.other' } } });
    const programme = w.programme() ?? assert.fail();
    other.kept.set(LAMP, JSON.stringify(programme));
    other.kill();
    other.revive();
    other.until(dayAt(1, 13));
    assert.deepEqual(other.commands(), []);
    other.stop();
    assert.match(other.programme()?.why ?? '', /automation\.lamp has to be resumed by hand/);
    assert.deepEqual(other.commands(), []);
  });
});

test('in the declared dark of the tank nothing is lit', () => {
  const w = createWorld({ ...CTX, lights: { onMinute: 14 * 60, offMinute: 21 * 60 } });
  w.until(dayAt(0, 22));
  w.start();
  w.until(dayAt(1, 18));
  assert.deepEqual(onOff(w).slice(1), ['on 1 14:00', 'off 1 17:51']);
});

test('while hub and service disagree on the time nothing is lit, and off still goes out', () => {
  const w = started();
  w.give({ kind: 'skew', at: w.at, skewed: true });
  w.relay = 1;
  w.until(dayAt(1, 13));
  assert.deepEqual(
    onOff(w).filter((text) => text.startsWith('on')),
    [],
  );
});
