import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import {
  type LeftOffEffect,
  type LeftOffInput,
  type LeftOffState,
  leftOffContext,
  leftOffStep,
  NOTHING_LEFT_OFF,
} from '../../../../src/procedure/guards/index.ts';
import { MINUTE, T0, TANK } from './bench.ts';

const ctx = leftOffContext(TANK);

function watch() {
  const self = { state: { ...NOTHING_LEFT_OFF, at: T0 } as LeftOffState, at: T0, effects: [] as LeftOffEffect[] };
  const step = (input: LeftOffInput): void => {
    const [next, effects] = leftOffStep(self.state, input, ctx);
    self.state = next;
    self.effects.push(...effects);
  };
  const plugs = (value: number | null, ids: readonly string[]): void =>
    step({
      kind: 'readings',
      at: self.at,
      readings: ids.map((id) => ({ entity: `switch.${id}`, value, changedAt: self.at, reportedAt: self.at })),
    });
  const wait = (minutes: number): void => {
    for (let n = 0; n < minutes; n += 1) {
      self.at += MINUTE;
      step({ kind: 'tick', at: self.at });
    }
  };
  const alarms = (): readonly string[] =>
    self.effects.flatMap((one) => (one.kind === 'alarm' && one.code === 'dark_plugs' ? [one.text] : []));
  const overs = (): number =>
    self.effects.filter((one) => one.kind === 'alarm-over' && one.code === 'dark_plugs').length;
  const hub = (up: boolean): void => step({ kind: 'hub', at: self.at, up });
  return { self, step, plugs, wait, alarms, overs, hub };
}

describe('plugs of which nothing is heard although the hub is there', () => {
  test('are told together after ten minutes, once, and are over when all are heard again', () => {
    const w = watch();
    w.hub(true);
    w.plugs(null, ['skimmer', 'heater']);
    w.plugs(1, ['return', 'circulation']);
    w.wait(9);
    assert.deepEqual(w.alarms(), []);
    w.wait(60);
    assert.equal(w.alarms().length, 1);
    assert.match(
      w.alarms()[0] ?? '',
      /^Nothing is heard of these plugs since the hub is back, for 10 min: skimmer, heater\./,
    );
    w.plugs(1, ['skimmer']);
    w.wait(1);
    assert.equal(w.overs(), 0);
    w.plugs(0, ['heater']);
    w.wait(1);
    assert.equal(w.overs(), 1);
  });

  test('another one later is told with those that are still away', () => {
    const w = watch();
    w.hub(true);
    w.plugs(1, ['skimmer', 'heater']);
    w.wait(60);
    w.plugs(null, ['skimmer']);
    w.wait(12);
    w.plugs(null, ['heater']);
    w.wait(12);
    assert.deepEqual(
      w.alarms().map((text) => /: ([^.]*)\./.exec(text)?.[1]),
      ['skimmer', 'skimmer, heater'],
    );
    assert.match(w.alarms()[0] ?? '', /this plug any more/);
  });

  test('a plug that comes and goes, one in hand, and all of them while the hub is away are nothing to tell', () => {
    const w = watch();
    w.hub(true);
    for (let n = 0; n < 20; n += 1) {
      w.plugs(null, ['skimmer']);
      w.wait(8);
      w.plugs(1, ['skimmer']);
      w.wait(1);
    }
    w.step({ kind: 'busy', at: w.self.at, equipment: ['heater'] });
    w.plugs(null, ['heater']);
    w.wait(60);
    w.plugs(null, ['return']);
    w.wait(2);
    w.hub(false);
    w.wait(120);
    assert.deepEqual(w.alarms(), []);
  });

  test('what was never heard of at all is no plug that went dark', () => {
    const w = watch();
    w.hub(true);
    w.wait(60);
    assert.deepEqual(w.alarms(), []);
  });
});
