import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { guard, HOUR, hand, MINUTE, SECOND } from './bench.ts';

describe('dry heater', () => {
  /** Heats for so long at so many °C an hour, told each minute. */
  const heat = (h: ReturnType<typeof hand>, hours: number, perHour: number, watts: number, from = 25): number => {
    const steps = Math.round(hours * 60);
    for (let n = 0; n <= steps; n++) {
      h.on('heater', watts);
      h.tell({ 'sensor.temperature': Math.round((from + (perHour * n) / 60) * 10) / 10 });
      h.at += MINUTE;
    }
    return from + perHour * hours;
  };
  const dry = () => hand([guard('dry-heater', ['heater'], { sensors: ['temperature'] })]);

  // 198 W in 458 L of seawater: 198 / (1.136 × 458) = 0.38 °C/h, less what the tank loses.
  test('a heater that warms its water is left alone, in a cool room too', () => {
    const h = dry();
    heat(h, 3, 0.38 - 0.3, 198);
    assert.deepEqual(h.offs(), []);
  });

  test('watts while the water cools as it does without any heat are cut', () => {
    const h = dry();
    heat(h, 1.5, -0.3, 0);
    heat(h, 1.5, -0.3, 198, 24.5);
    assert.deepEqual(h.offs()[0], 'heater');
    assert.match(h.alarms()[0] ?? '', /heater has drawn 198 W for .* it may be dry, or without flow/);
  });

  test('a thermometer that says nothing is no sign of a dry heater', () => {
    const h = dry();
    for (let n = 0; n < 200; n++) {
      h.on('heater', 198);
      h.tell({ 'sensor.temperature': null });
      h.at += MINUTE;
    }
    assert.deepEqual(h.offs(), []);
  });

  test('a low level stops heat at once, unless the relay itself says off', () => {
    const def = guard('dry-heater', ['heater'], { sensors: ['level'], belowCm: 15 });
    const off = hand([def]);
    off.off('heater');
    for (const level of [14, 13.9, 13.8]) off.tell({ 'sensor.level': level });
    assert.deepEqual(off.offs(), []);
    const unknown = hand([def]);
    unknown.tell({ 'switch.heater': null });
    for (const level of [14, 13.9, 13.8]) unknown.tell({ 'sensor.level': level });
    assert.deepEqual(unknown.offs(), ['heater']);
  });
});

describe('mixing barrel', () => {
  test('heat without a mixing pump is cut within seconds', () => {
    const h = hand([guard('barrel-dry', ['barrel-heater'], { pump: 'mixing' })]);
    h.off('mixing');
    h.on('barrel-heater', 300);
    h.wait(12 * SECOND);
    assert.deepEqual(h.offs()[0], 'barrel-heater');
    assert.match(h.alarms()[0] ?? '', /the barrel may be empty, or not mixed/);
  });

  test('heat with the pump at its watts is fine', () => {
    const h = hand([guard('barrel-dry', ['barrel-heater'], { pump: 'mixing', sensors: ['barrel-low'] })]);
    h.tell({ 'sensor.barrel-low': 0 });
    h.on('mixing', 35);
    h.on('barrel-heater', 300);
    h.wait(MINUTE);
    assert.deepEqual(h.offs(), []);
    h.tell({ 'sensor.barrel-low': 1 });
    assert.deepEqual(h.offs(), ['barrel-heater']);
  });

  test('a pump at half its watts runs dry', () => {
    const h = hand([guard('barrel-dry', ['mixing'])]);
    for (let n = 0; n < 8; n++) {
      h.on('mixing', n < 4 ? 35 : 17);
      h.wait(30 * SECOND);
    }
    assert.deepEqual(h.offs()[0], 'mixing');
  });
});

describe('welded relay', () => {
  // Common practice, no source: told at the second reading, long before the tank is too warm.
  test('is told at the second report of watts after the relay said off', () => {
    const h = hand([guard('welded-relay', ['heater'])]);
    h.on('heater', 198);
    h.off('heater', 198);
    h.wait(20 * SECOND);
    h.tell({ 'sensor.heater_power': 198 });
    assert.deepEqual(h.offs(), []);
    h.wait(2 * SECOND);
    h.tell({ 'sensor.heater_power': 197.8 });
    assert.deepEqual(h.offs(), ['heater']);
    assert.match(h.alarms()[0] ?? '', /reports off and still draws 198 W: its relay may be welded\. Pull its plug/);
  });

  test('a late report of the watts from before is not', () => {
    const h = hand([guard('welded-relay', ['heater'])]);
    h.on('heater', 198);
    h.off('heater', 198);
    h.wait(4 * SECOND);
    h.tell({ 'sensor.heater_power': 198 });
    h.wait(MINUTE);
    h.tell({ 'sensor.heater_power': 0.3 });
    assert.deepEqual(h.offs(), []);
  });

  test('of a water mover it is told and nothing is switched', () => {
    const h = hand([guard('welded-relay', ['return'])]);
    h.off('return', 48);
    h.wait(20 * SECOND);
    h.tell({ 'sensor.return_power': 48 });
    h.tell({ 'sensor.return_power': 48 });
    assert.deepEqual(h.offs(), []);
    assert.match(h.alarms()[0] ?? '', /Not switched, since water must keep moving: return/);
    h.wait(2 * HOUR);
    assert.deepEqual(h.offs(), []);
  });
});
