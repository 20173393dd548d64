import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { leftOffContext, leftOffStep, NOTHING_LEFT_OFF } from '../../../../src/procedure/guards/index.ts';
import { guard, HOUR, hand, MINUTE, SECOND, T0, TANK } from './bench.ts';

describe('a wall clock that is set', () => {
  for (const [name, byMs] of [
    ['forward by three hours', 3 * HOUR],
    ['back by three hours', -3 * HOUR],
  ] as const)
    test(`${name} makes no run longer and none shorter`, () => {
      const h = hand([guard('top-off', ['top-off'], { runMs: MINUTE, perDayMs: 10 * MINUTE })]);
      h.on('top-off', 9);
      h.wait(20 * SECOND);
      h.at += byMs;
      h.step({ kind: 'clock', at: h.at, byMs });
      h.wait(30 * SECOND);
      assert.deepEqual(h.offs(), []);
      h.wait(12 * SECOND);
      h.on('top-off', 9);
      assert.deepEqual(h.offs(), ['top-off']);
      assert.match(h.alarms()[0] ?? '', /has run for 1 min [0-9] s/);
    });

  test('keeps the rate of commands and the moment of a reminder', () => {
    const h = hand([guard('leak', ['top-off'], { sensors: ['leak'] })]);
    h.tell({ 'sensor.leak': 1 });
    h.at -= HOUR;
    h.step({ kind: 'clock', at: h.at, byMs: -HOUR });
    h.off('top-off');
    h.wait(59 * MINUTE);
    assert.equal(h.alarms().length, 1);
    h.wait(2 * MINUTE);
    assert.equal(h.alarms().length, 2);
  });

  test('neither hurries nor hides what was left off', () => {
    const ctx = leftOffContext(TANK);
    let state = { ...NOTHING_LEFT_OFF, at: T0, hubUp: true };
    const readings = [{ entity: 'switch.skimmer', value: 0, changedAt: T0, reportedAt: T0 }];
    const alarmsIn = (input: Parameters<typeof leftOffStep>[1]): number => {
      const [next, effects] = leftOffStep(state, input, ctx);
      state = next;
      return effects.filter(({ kind }) => kind === 'alarm').length;
    };
    assert.equal(alarmsIn({ kind: 'readings', at: T0, readings }), 0);
    assert.equal(alarmsIn({ kind: 'clock', at: T0 + 40 * HOUR, byMs: 40 * HOUR }), 0);
    assert.equal(alarmsIn({ kind: 'tick', at: T0 + 63 * HOUR }), 0);
    assert.equal(alarmsIn({ kind: 'tick', at: T0 + 65 * HOUR }), 1);
  });
});
