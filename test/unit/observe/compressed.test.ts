import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { applyCompressed, type EntityMap } from '../../../src/observe/index.ts';

const none: EntityMap = new Map();
const start = applyCompressed(none, {
  a: {
    'switch.pump': { s: 'on', a: { friendly_name: 'Pump', mode: 'x' }, c: 'ctx1', lc: 100.5 },
    'sensor.watts': {
      s: '40',
      a: { unit_of_measurement: 'W' },
      c: { id: 'ctx2', user_id: 'ann' },
      lc: 100,
      lu: 130.25,
    },
  },
});

const only = <T>(list: readonly T[]): T => {
  assert.equal(list.length, 1);
  return list[0] as T;
};

describe('the compressed live form', () => {
  test('added: without `lu` it was updated when it changed; a bare context id has no person', () => {
    assert.deepEqual(start.states.get('switch.pump'), {
      entity: 'switch.pump',
      state: 'on',
      attributes: { friendly_name: 'Pump', mode: 'x' },
      lastChanged: 100_500,
      lastUpdated: 100_500,
      contextId: 'ctx1',
      userId: null,
    });
    const watts = start.states.get('sensor.watts');
    assert.deepEqual([watts?.lastChanged, watts?.lastUpdated, watts?.userId], [100_000, 130_250, 'ann']);
    assert.equal(start.changed.length, 2);
  });

  test('changed state: both times move', () => {
    const { changed } = applyCompressed(start.states, {
      c: { 'switch.pump': { '+': { s: 'off', lc: 200, c: { id: 'ctx3', user_id: 'bob' } } } },
    });
    const pump = only(changed);
    assert.deepEqual([pump.state, pump.lastChanged, pump.lastUpdated], ['off', 200_000, 200_000]);
    assert.deepEqual([pump.contextId, pump.userId], ['ctx3', 'bob']);
    assert.deepEqual(pump.attributes, { friendly_name: 'Pump', mode: 'x' });
  });

  test('`lu` alone: an attribute changed, the last change of the state stays', () => {
    const { changed } = applyCompressed(start.states, {
      c: { 'switch.pump': { '+': { a: { mode: 'y' }, lu: 300, c: 'ctx4' } } },
    });
    const pump = only(changed);
    assert.deepEqual([pump.lastChanged, pump.lastUpdated], [100_500, 300_000]);
    assert.deepEqual(pump.attributes, { friendly_name: 'Pump', mode: 'y' });
  });

  test('attributes go', () => {
    const { changed } = applyCompressed(start.states, {
      c: { 'switch.pump': { '-': { a: ['mode'] }, '+': { lu: 300 } } },
    });
    assert.deepEqual(only(changed).attributes, { friendly_name: 'Pump' });
  });

  test('a bare id in a change leaves the person, an explicit null takes the person away', () => {
    const same = applyCompressed(start.states, { c: { 'sensor.watts': { '+': { s: '41', lc: 140, c: 'ctx5' } } } });
    assert.equal(only(same.changed).userId, 'ann');
    const nobody = applyCompressed(start.states, {
      c: { 'sensor.watts': { '+': { s: '41', lc: 140, c: { id: 'ctx6', user_id: null } } } },
    });
    assert.equal(only(nobody.changed).userId, null);
  });

  test('removed, and changes of what we do not hold', () => {
    const result = applyCompressed(start.states, {
      r: ['switch.pump', 'switch.never'],
      c: { 'switch.ghost': { '+': { s: 'on', lc: 1 } } },
    });
    assert.deepEqual(result.removed, ['switch.pump']);
    assert.deepEqual(result.unmatched, ['switch.ghost']);
    assert.deepEqual(result.changed, []);
    assert.equal(result.states.has('switch.pump'), false);
  });

  test('the map that was given is left as it is', () => {
    const before = JSON.stringify([...start.states]);
    applyCompressed(start.states, { r: ['switch.pump'], c: { 'sensor.watts': { '+': { s: '9', lc: 900 } } } });
    assert.equal(JSON.stringify([...start.states]), before);
  });
});
