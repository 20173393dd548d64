// One thermostat may rule two heaters: given back for the one, it would switch the other.
import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { createLeftOut } from '../../../src/app/left-out.ts';
import { keptLog } from '../../../src/io/system/index.ts';
import type { Tank } from '../../../src/model/index.ts';
import type { System } from '../../../src/ports/index.ts';
import { leftBehind, recalled } from '../../../src/procedure/index.ts';
import { ada, bo, createSitting, heldAt } from './plant.ts';
import { equipment, sensor, small } from './tanks.ts';

const THERMOSTAT = 'climate.display';
const twoHeaters = (): Tank => {
  const tank = small();
  const heater = (id: string) =>
    equipment(id, 'heater', { normalPowerW: 200, pair: 'heaters', driver: { kind: 'thermostat', entity: THERMOSTAT } });
  return {
    ...tank,
    equipment: [...tank.equipment, heater('heater-1'), heater('heater-2')],
    sensors: [...tank.sensors, sensor('display', 'display-temperature')],
  };
};
const pause = (answer = (_step: string) => ada as typeof ada | null) =>
  createSitting({ tank: twoHeaters(), procedure: 'pump-pause', answer });

const drivers = (s: ReturnType<typeof pause>) =>
  s.trail.effects.flatMap(({ at, effect }) => (effect.kind === 'driver' ? [{ turn: effect.turn, at }] : []));

describe('a thermostat over two heaters', () => {
  test('comes back once, with the last of them, and nothing is told of other hands', () => {
    const s = pause();
    s.until('complete', (state) => state.status === 'complete');
    const resumed = drivers(s).filter(({ turn }) => turn === 'resume');
    assert.equal(resumed.length, 1);
    for (const id of ['on:heater-1', 'on:heater-2'])
      assert.ok((s.record(id).closedAt ?? Infinity) <= (resumed[0]?.at ?? 0));
    assert.deepEqual(s.alarms(), []);
    assert.equal(s.plant.world.drivers.get(THERMOSTAT), true);
    const texts = ['hand-back:heater-1', 'hand-back:heater-2'].map((id) => s.record(id).evidenceText);
    assert.ok(texts.some((text) => /climate\.display rules heater \d too, and is given back with it/.test(text)));
    assert.ok(texts.some((text) => /climate\.display reports active/.test(text)));
  });

  test('stays suspended at an abort while one of them is off, and both are listed as without it', () => {
    const s = pause((step) => (step === '#begin' ? ada : null));
    s.until('pause', heldAt('hands-on:pause'));
    s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
    assert.ok(!drivers(s).some(({ turn }) => turn === 'resume'));
    const left = leftBehind(s.trail.state, s.ctx).filter(({ driver }) => driver === THERMOSTAT);
    assert.deepEqual(left.map(({ equipment }) => equipment).toSorted(), ['heater-1', 'heater-2']);
  });

  test('taken for the first of them and aborted before the second: the second is listed, though it is on', () => {
    const s = pause((step) => (step === '#begin' ? ada : null));
    s.until('taken', ({ memory }) =>
      ['heater-1', 'heater-2'].some((id) => recalled(memory, `taken.${id}`) === THERMOSTAT),
    );
    s.until('told off', (state) => state.offNow.some((id) => id.startsWith('heater')));
    s.send({ kind: 'abort', at: s.now(), actor: bo, nextNonce: s.nonce() });
    const { state } = s.trail;
    const off = state.offNow.filter((id) => id.startsWith('heater'));
    assert.equal(off.length, 1);
    assert.match(state.summary, /climate\.display \(nothing switches heater \d now\)/);
    const settings = new Map<string, string>();
    const list = createLeftOut({
      store: { setting: () => null, putSetting: (key: string, value: string) => void settings.set(key, value) },
      system: { log: keptLog() } as unknown as System,
      ctx: s.ctx,
      onChange: () => undefined,
    });
    list.session(state);
    const listed = () =>
      list
        .list()
        .map((one) => one.equipment)
        .filter((id) => id.startsWith('heater'))
        .toSorted();
    assert.deepEqual(listed(), ['heater-1', 'heater-2']);
    // A thermostat at work says in which mode; its heaters may then be off or on as it likes.
    s.seconds(5);
    const at = s.now();
    list.readings([
      { entity: 'switch.heater_1', value: 0, changedAt: at, reportedAt: at },
      { entity: 'switch.heater_2', value: 1, changedAt: at, reportedAt: at },
    ]);
    assert.deepEqual(listed(), ['heater-1', 'heater-2']);
    list.readings([{ entity: THERMOSTAT, value: null, word: 'heat', changedAt: at, reportedAt: at }]);
    assert.deepEqual(listed(), []);
  });
});

test('what decides by itself is not back while its plug is off', () => {
  const tank = small();
  const doser = equipment('doser', 'dosing-pump', { normalPowerW: 7, driver: { kind: 'own-controller' } });
  const s = createSitting({ tank: { ...tank, equipment: [...tank.equipment, doser] }, procedure: 'pump-pause' });
  s.until('doser back', () => s.record('on:doser').closedAt !== null);
  s.plant.turn('doser', false, s.now());
  const state = s.until('held', (each) => each.status === 'held' && /doser/.test(each.hold?.text ?? ''));
  assert.match(state.hold?.text ?? '', /Came back, and is not running any more: doser/);
});
