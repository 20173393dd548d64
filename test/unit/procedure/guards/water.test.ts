import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { guard, HOUR, hand, MINUTE, SECOND } from './bench.ts';

describe('high level and leak', () => {
  test('a wet float switches every adder off in the same step, records first and tells it', () => {
    const h = hand([guard('high-level', ['top-off', 'doser'], { sensors: ['high'] })]);
    h.tell({ 'sensor.high': 0 });
    assert.deepEqual(h.effects, []);
    const made = h.tell({ 'sensor.high': 1 });
    assert.deepEqual(
      made.map(({ kind }) => kind),
      ['record', 'off', 'off', 'alarm', 'refresh'],
    );
    assert.deepEqual(h.offs(), ['top-off', 'doser']);
    assert.match(h.alarms()[0] ?? '', /Guard high-level: high is wet\. Off until a person resets it: top-off, doser\./);
  });

  test('one bubble on a level sensor is no high level; a level that stays is', () => {
    const h = hand([guard('high-level', ['top-off'], { sensors: ['level'], aboveCm: 24 })]);
    for (const level of [20, 20.1, 24.5, 20, 19.9, 20]) h.tell({ 'sensor.level': level });
    assert.deepEqual(h.offs(), []);
    for (const level of [24.5, 24.6, 24.6]) h.tell({ 'sensor.level': level });
    assert.deepEqual(h.offs(), ['top-off']);
  });

  test('a float that goes silent or dry again clears nothing', () => {
    const h = hand([guard('leak', ['top-off'], { sensors: ['leak'] })]);
    h.tell({ 'sensor.leak': 1 });
    h.tell({ 'sensor.leak': null });
    h.wait(MINUTE);
    h.tell({ 'sensor.leak': 0 });
    h.wait(HOUR);
    assert.ok(h.state.latches['leak']);
  });

  test('a sensor of which nothing is known for half an hour is told once, and once when it is seen again', () => {
    const h = hand([guard('leak', ['top-off'], { sensors: ['leak'] })]);
    h.tell({ 'sensor.leak': null });
    h.wait(29 * MINUTE);
    assert.deepEqual(h.alarms(), []);
    h.wait(10 * MINUTE);
    assert.deepEqual(h.alarms(), ['Guard leak cannot see: nothing is known of leak.']);
    h.tell({ 'sensor.leak': 0 });
    assert.deepEqual(h.effects.at(-1), { kind: 'alarm-over', code: 'guard_leak_blind' });
  });
});

describe('top-off', () => {
  const ordinary = (h: ReturnType<typeof hand>, runs: number, ms = 20 * SECOND): void => {
    for (let n = 0; n < runs; n++) {
      h.on('top-off', 9);
      h.wait(ms);
      h.on('top-off', 0);
      h.wait(MINUTE);
    }
  };

  test('a stuck float is cut at three usual runs, after the plug was asked', () => {
    const h = hand([guard('top-off', ['top-off'])]);
    ordinary(h, 12);
    const from = h.at;
    h.on('top-off', 9);
    h.wait(61 * SECOND);
    assert.deepEqual(h.offs(), []);
    assert.ok(h.effects.some(({ kind }) => kind === 'refresh'));
    h.on('top-off', 9);
    assert.deepEqual(h.offs(), ['top-off']);
    assert.ok(h.at - from <= 65 * SECOND, `${h.at - from} ms`);
    assert.match(h.alarms()[0] ?? '', /top-off has run for 1 min 1 s, longer than 1 min/);
  });

  test('a lost report of the end is no long run', () => {
    const h = hand([guard('top-off', ['top-off'])]);
    ordinary(h, 12);
    h.on('top-off', 9);
    h.wait(61 * SECOND);
    h.on('top-off', 0);
    h.wait(MINUTE);
    assert.deepEqual(h.offs(), []);
  });

  test('a plug that does not answer is taken to run on', () => {
    const h = hand([guard('top-off', ['top-off'], { runMs: MINUTE })]);
    h.on('top-off', 9);
    h.wait(80 * SECOND);
    assert.deepEqual(h.offs()[0], 'top-off');
    assert.match(h.alarms()[0] ?? '', /has not answered/);
  });

  test('before enough runs were seen the longest of all holds', () => {
    const h = hand([guard('top-off', ['top-off'])]);
    h.on('top-off', 9);
    h.wait(4 * MINUTE);
    assert.deepEqual(h.offs(), []);
    h.wait(2 * MINUTE);
    assert.deepEqual(h.offs()[0], 'top-off');
  });

  test('the runs of a day together have a cap', () => {
    const h = hand([guard('top-off', ['top-off'], { runMs: MINUTE, perDayMs: 245 * SECOND })]);
    ordinary(h, 12);
    assert.deepEqual(h.offs(), []);
    ordinary(h, 1);
    assert.deepEqual(h.offs()[0], 'top-off');
    assert.match(h.alarms()[0] ?? '', /within a day, more than 4 min 5 s/);
  });

  test('a day later the same amount is fine again', () => {
    const h = hand([guard('top-off', ['top-off'], { runMs: MINUTE, perDayMs: 245 * SECOND })]);
    ordinary(h, 12);
    h.at += 25 * HOUR;
    h.on('top-off', 0);
    ordinary(h, 12);
    assert.deepEqual(h.offs(), []);
  });
});

describe('RO litres and flow after the switch-off', () => {
  test('more product than the cap within a day is stopped', () => {
    const h = hand([guard('ro-litres', ['ro'], { sensors: ['product'], litres: 40 })]);
    h.on('ro', 46);
    for (let n = 0; n <= 400; n++) {
      h.at += MINUTE;
      h.tell({ 'sensor.product': 1_000 + n / 10 });
    }
    assert.deepEqual(h.offs(), []);
    h.tell({ 'sensor.product': 1_040.2 });
    assert.deepEqual(h.offs(), ['ro']);
  });

  test('a meter that was reset or replaced adds nothing', () => {
    const h = hand([guard('ro-litres', ['ro'], { sensors: ['product'], litres: 40 })]);
    for (const value of [6_000, 3, 6_010, 6_011]) h.tell({ 'sensor.product': value });
    assert.deepEqual(h.offs(), []);
  });

  // Common practice, no source: a seat that leaks 11 L/h is to be noticed within three minutes.
  test('a valve seat leaking 11 L/h is noticed within three minutes', () => {
    const h = hand([guard('flow-while-off', ['ro'], { sensors: ['product'] })]);
    h.on('ro', 46);
    h.tell({ 'sensor.product': 100 });
    h.off('ro');
    const from = h.at;
    let litres = 100;
    for (let n = 1; n <= 36 && h.offs().length === 0; n++) {
      h.at = from + n * 5 * SECOND;
      const now = 100 + Math.floor(((11 * n * 5) / 3600) * 10) / 10;
      if (now !== litres) h.tell({ 'sensor.product': now });
      litres = now;
    }
    assert.deepEqual(h.offs(), ['ro']);
    assert.ok(h.at - from <= 3 * MINUTE);
    assert.match(h.alarms()[0] ?? '', /although ro reports off\. Close its hand valve/);
  });

  test('what still runs out of the pipes within the first minute is none', () => {
    const h = hand([guard('flow-while-off', ['ro'], { sensors: ['product'] })]);
    h.tell({ 'sensor.product': 100 });
    h.off('ro');
    h.at += 30 * SECOND;
    h.tell({ 'sensor.product': 100.5 });
    h.at += 10 * MINUTE;
    h.tell({ 'sensor.product': 100.6 });
    assert.deepEqual(h.offs(), []);
  });

  test('an unknown relay is not off: flow is then no fault of the valve', () => {
    const h = hand([guard('flow-while-off', ['ro'], { sensors: ['product'] })]);
    h.tell({ 'switch.ro': null, 'sensor.product': 100 });
    for (let n = 1; n < 30; n++) {
      h.at += MINUTE;
      h.tell({ 'sensor.product': 100 + n });
    }
    assert.deepEqual(h.offs(), []);
  });
});
