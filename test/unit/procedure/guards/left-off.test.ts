import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  type LeftOffEffect,
  type LeftOffInput,
  type LeftOffState,
  leftOffContext,
  leftOffStep,
  NOTHING_LEFT_OFF,
} from '../../../../src/procedure/guards/index.ts';
import { HOUR, MINUTE, T0, TANK } from './bench.ts';

function eye() {
  const ctx = leftOffContext(TANK);
  const effects: LeftOffEffect[] = [];
  const self = {
    ctx,
    effects,
    at: T0,
    state: { ...NOTHING_LEFT_OFF, at: T0, hubUp: true } as LeftOffState,
    step: (input: LeftOffInput): void => {
      const [next, made] = leftOffStep(self.state, input, ctx);
      self.state = next;
      effects.push(...made);
    },
    wait: (ms: number): void => {
      for (let left = ms; left > 0; left -= MINUTE) {
        self.at += Math.min(left, MINUTE);
        self.step({ kind: 'tick', at: self.at });
      }
    },
    tell: (values: Readonly<Record<string, number | null>>, word?: string): void =>
      self.step({
        kind: 'readings',
        at: self.at,
        readings: Object.entries(values).map(([entity, value]) => ({
          ...{ entity, value, changedAt: self.at, reportedAt: self.at },
          ...(word === undefined ? {} : { word }),
        })),
      }),
    kinds: () => effects.map(({ kind }) => kind),
    alarms: () => effects.flatMap((effect) => (effect.kind === 'alarm' ? [effect.text] : [])),
  };
  return self;
}

const running = {
  'switch.return': 1,
  'sensor.return_power': 48,
  'switch.circulation': 1,
  'sensor.circulation_power': 22,
};

describe('equipment off without a session', () => {
  test('a return pump is asked about after a quarter of its hour, and is an alarm at the hour', () => {
    const e = eye();
    e.tell({ ...running, 'switch.return': 0, 'sensor.return_power': 0 });
    const flowing = (minutes: number): void => {
      for (let n = 0; n < minutes; n++) {
        e.tell({ 'sensor.circulation_power': 22 });
        e.wait(MINUTE);
      }
    };
    flowing(14);
    assert.deepEqual(e.effects, []);
    flowing(2);
    assert.deepEqual(e.kinds(), ['ask']);
    flowing(43);
    assert.deepEqual(e.kinds(), ['ask']);
    flowing(2);
    assert.match(e.alarms()[0] ?? '', /^return has been off for 1 h, without a session\. The display drains/);
  });

  test('the question and the alarm go when it is seen running again', () => {
    const e = eye();
    e.tell({ 'switch.skimmer': 0, 'sensor.skimmer_power': 0 });
    e.wait(25 * HOUR);
    assert.deepEqual(e.kinds(), ['ask', 'alarm']);
    e.tell({ 'switch.skimmer': null, 'sensor.skimmer_power': null });
    assert.equal(e.effects.length, 2);
    e.tell({ 'switch.skimmer': 1, 'sensor.skimmer_power': 26 });
    assert.deepEqual(e.kinds().slice(2), ['answered-itself', 'alarm-over']);
    assert.deepEqual(e.state.off, {});
  });

  test('one that is on and draws nothing counts as off; one that rests between its runs does not', () => {
    const e = eye();
    e.tell({ 'switch.skimmer': 1, 'sensor.skimmer_power': 0.3, 'switch.top-off': 1, 'sensor.top-off_power': 0 });
    assert.deepEqual(Object.keys(e.state.off), ['skimmer']);
    assert.equal(e.state.off['skimmer']?.how, 'draws-nothing');
  });

  test('what its own driver switches is off by right; a driver that is suspended is not', () => {
    const e = eye();
    e.tell({ 'switch.heater': 0, 'sensor.heater_power': 0 });
    e.tell({ 'climate.tank': null }, 'heat');
    e.wait(20 * HOUR);
    assert.deepEqual(e.effects, []);
    e.tell({ 'climate.tank': 0 });
    e.wait(3 * HOUR);
    assert.deepEqual(e.kinds(), ['ask', 'alarm', 'alarm']);
    assert.match(e.alarms()[0] ?? '', /heater has been without its driver for 2 h/);
    e.tell({ 'climate.tank': null });
    assert.ok(e.state.off['heater'], 'unavailable is not back');
    e.tell({ 'climate.tank': null }, 'heat');
    assert.deepEqual(e.state.off, {});
  });

  test('what a session or a guard has is told there', () => {
    const e = eye();
    e.step({ kind: 'busy', at: e.at, equipment: ['skimmer'] });
    e.tell({ 'switch.skimmer': 0 });
    e.wait(30 * HOUR);
    assert.deepEqual(e.effects, []);
    e.step({ kind: 'busy', at: e.at, equipment: [] });
    assert.deepEqual(e.kinds(), ['ask', 'alarm']);
  });

  test('"meant" quietens the skimmer for good and the return pump once', () => {
    const e = eye();
    e.tell({ ...running, 'switch.skimmer': 0, 'switch.return': 0 });
    for (const equipment of ['skimmer', 'return']) e.step({ kind: 'answered', at: e.at, equipment, meant: true });
    e.wait(30 * HOUR);
    const told = e.effects.flatMap((effect) =>
      effect.kind === 'alarm' && effect.code.startsWith('left_off') ? [effect.code] : [],
    );
    assert.ok(told.length > 20 && told.every((code) => code === 'left_off_return'), told.join());
  });

  test('clocks run on while the hub is away', () => {
    const e = eye();
    e.tell({ ...running, 'switch.return': 0 });
    e.step({ kind: 'hub', at: e.at, up: false });
    e.wait(61 * MINUTE);
    assert.ok(e.alarms().some((text) => text.startsWith('return has been off')));
  });

  test('the time goes on from what was kept through a restart', () => {
    const e = eye();
    e.tell({ 'switch.skimmer': 0 });
    e.wait(20 * HOUR);
    const again = eye();
    again.at = e.at;
    again.state = { ...again.state, ...(JSON.parse(JSON.stringify({ off: e.state.off })) as object), at: e.at };
    again.tell({ 'switch.skimmer': 0 });
    again.wait(5 * HOUR);
    assert.deepEqual(again.kinds(), ['alarm']);
  });
});

// K16: warn 15, alarm 30, hard limit 60 minutes.
describe('no water mover known to run', () => {
  const still = (e: ReturnType<typeof eye>) =>
    e.effects.flatMap((effect) =>
      effect.kind === 'alarm' && effect.code === 'still_water' ? [(e.at - T0) / MINUTE] : [],
    );

  test('is told at a quarter, a half and the whole of the hour, also with the hub away', () => {
    const e = eye();
    e.tell({ 'switch.return': 0, 'switch.circulation': 0 });
    e.step({ kind: 'hub', at: e.at, up: false });
    const told: number[] = [];
    for (let n = 0; n < 70; n++) {
      const before = still(e).length;
      e.wait(MINUTE);
      if (still(e).length > before) told.push((e.at - T0) / MINUTE);
    }
    assert.deepEqual(told, [15, 30, 60]);
  });

  test('one that is on and at its watts is enough; one of which nothing is known is not', () => {
    const one = eye();
    for (let n = 0; n < 40; n++) {
      one.tell({ 'switch.return': 0, 'switch.circulation': 1, 'sensor.circulation_power': 22 });
      one.wait(MINUTE);
    }
    assert.deepEqual(still(one), []);
    const unknown = eye();
    for (let n = 0; n < 20; n++) {
      unknown.tell({ 'switch.return': 0, 'switch.circulation': null, 'sensor.circulation_power': null });
      unknown.wait(MINUTE);
    }
    assert.equal(still(unknown).length, 1);
  });

  test('ends when one is seen to run', () => {
    const e = eye();
    e.tell({ 'switch.return': 0, 'switch.circulation': 0 });
    e.wait(16 * MINUTE);
    e.tell({ 'switch.circulation': 1, 'sensor.circulation_power': 22 });
    assert.deepEqual(e.effects.at(-1), { kind: 'alarm-over', code: 'still_water' });
  });
});

test('unknown readings take nothing off the list and put nothing on it', () => {
  const entities = TANK.equipment.flatMap(({ switchEntity, powerEntity }) => [switchEntity ?? '', powerEntity ?? '']);
  const values = fc.array(fc.tuple(fc.constantFrom(...entities), fc.constantFrom(0, 1, 26, 48)), { maxLength: 20 });
  fc.assert(
    fc.property(values, (told) => {
      const e = eye();
      for (const [entity, value] of told) e.tell({ [entity]: value });
      const before = Object.keys(e.state.off).toSorted();
      e.tell(Object.fromEntries(entities.map((entity) => [entity, null])));
      e.wait(10 * MINUTE);
      assert.deepEqual(Object.keys(e.state.off).toSorted(), before);
    }),
    { numRuns: 200 },
  );
});
