import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { foldObservations, initialStates, project } from '../../../src/count/index.ts';
import { SlackwaterError } from '../../../src/errors/index.ts';
import type { CounterDef, Equipment } from '../../../src/model/index.ts';
import { applySources, changeSources, countersNamed, NO_ENTITY, type SourceEntry } from '../../../src/record/index.ts';
import { HOUR_MS } from '../../../src/units/index.ts';
import { lampHours } from './tank.ts';

const T0 = Date.UTC(2025, 0, 1);
const energy: CounterDef = {
  id: 'lamp-energy',
  name: 'Lamp energy',
  source: { kind: 'total', entity: 'sensor.lamp_energy', unitsPerReading: 1, maxPerHour: 3 },
  measures: ['energy'],
};
const pump: CounterDef = { ...lampHours, id: 'pump-hours', source: { kind: 'on-state', entity: 'switch.pump' } };
const configured = [lampHours, energy, pump];
const lampPlug: Equipment = {
  id: 'left-lamp',
  name: 'Left lamp',
  role: 'led-lamp',
  driver: { kind: 'always-on' },
  switchEntity: 'switch.lamp',
  powerEntity: 'sensor.lamp_power',
  cycling: false,
  inSump: false,
  switchDelayMs: 5000,
};
const codeOf = (run: () => unknown): string => {
  try {
    run();
  } catch (error) {
    assert.ok(error instanceof SlackwaterError);
    return error.code;
  }
  return 'none';
};
const shelf = () => {
  const kept: SourceEntry[] = [];
  const of = (id: string) => kept.filter(({ counter }) => counter === id);
  const apply = (defs: readonly CounterDef[], now: number) => {
    const result = applySources(defs, of, now);
    kept.push(...result.entries);
    return result;
  };
  return { kept, apply };
};
const entityOf = (defs: readonly CounterDef[], id: string) => defs.find((def) => def.id === id)?.source.entity;

describe('what feeds a counter', () => {
  test('is the configuration until it is changed, then the change, with a warning until the file says the same', () => {
    const { kept, apply } = shelf();
    const first = apply(configured, T0);
    assert.deepEqual(first.defs, configured);
    assert.deepEqual(
      kept.map(({ counter, how }) => [counter, how]),
      configured.map(({ id }) => [id, 'first']),
    );
    kept.push(
      ...changeSources({
        how: 'replace',
        targets: [lampHours],
        entity: 'switch.new',
        at: T0,
        by: 'Ana',
        defs: first.defs,
      }),
    );
    const changed = apply(configured, T0 + 1);
    assert.equal(entityOf(changed.defs, 'lamp-hours'), 'switch.new');
    assert.deepEqual(changed.warnings, [
      'The counter lamp-hours reads switch.new since 2025-01-01 (Ana), the configuration still says switch.lamp: change it there.',
    ]);
    const agreed = apply([{ ...lampHours, source: { kind: 'on-state', entity: 'switch.new' } }, energy, pump], T0 + 2);
    assert.deepEqual(agreed.warnings, []);
    // Whoever edits the file later knows better than the change.
    const edited = apply(
      [{ ...lampHours, source: { kind: 'on-state', entity: 'switch.third' } }, energy, pump],
      T0 + 3,
    );
    assert.equal(entityOf(edited.defs, 'lamp-hours'), 'switch.third');
    assert.deepEqual([edited.warnings, kept.at(-1)?.how], [[], 'edit']);
  });

  test('a moved plug feeds the new counter, and what it fed before has no source', () => {
    const { kept, apply } = shelf();
    const { defs } = apply(configured, T0);
    kept.push(...changeSources({ how: 'move', targets: [pump], entity: 'switch.lamp', at: T0, by: 'Ana', defs }));
    const moved = apply(configured, T0 + 1);
    assert.equal(entityOf(moved.defs, 'pump-hours'), 'switch.lamp');
    assert.equal(entityOf(moved.defs, 'lamp-hours'), NO_ENTITY);
    assert.equal(moved.warnings.length, 2);
  });

  test('an equipment means the counters that read its plug, of the same kind of entity', () => {
    const named = (name: string, entity: string) => () => countersNamed(name, configured, [lampPlug], entity);
    assert.deepEqual(
      named('left-lamp', 'switch.new')().map(({ id }) => id),
      ['lamp-hours'],
    );
    assert.deepEqual(
      named('lamp-energy', 'sensor.new')().map(({ id }) => id),
      ['lamp-energy'],
    );
    assert.equal(codeOf(named('left-lamp', 'sensor.new')), 'SW-REC-014');
    assert.equal(codeOf(named('left-lump', 'switch.new')), 'SW-REC-015');
    const same = () =>
      changeSources({
        how: 'replace',
        targets: [lampHours],
        entity: 'switch.lamp',
        at: T0,
        by: 'Ana',
        defs: configured,
      });
    assert.equal(codeOf(same), 'SW-REC-016');
  });

  test('a new meter is a new baseline: the total goes on from where it was and never falls', () => {
    const observe = (entity: string, at: number, value: number | null) =>
      ({ entity, at, value, receivedAt: at, origin: 'live' }) as const;
    const before = foldObservations([energy], initialStates([energy]), [
      observe('sensor.lamp_energy', T0, 500),
      observe('sensor.lamp_energy', T0 + HOUR_MS, 501),
      observe('sensor.lamp_energy', T0 + 2 * HOUR_MS, null),
    ]);
    const next: CounterDef = { ...energy, source: { ...energy.source, entity: 'sensor.new' } };
    const after = foldObservations([next], before.states, [
      observe('sensor.new', T0 + 3 * HOUR_MS, 0),
      observe('sensor.new', T0 + 4 * HOUR_MS, 2),
    ]);
    const state = after.states.get('lamp-energy');
    assert.ok(state);
    const amount = project(next, state, T0 + 4 * HOUR_MS).energy;
    assert.equal(amount?.low, 3);
    assert.equal(amount?.best, 3);
    assert.deepEqual(after.resets, []);
  });

  test('on-hours go on over a new plug; the time between the two is a gap', () => {
    const observe = (entity: string, at: number, value: number | null) =>
      ({ entity, at, value, receivedAt: at, origin: 'live' }) as const;
    const before = foldObservations([lampHours], initialStates([lampHours]), [
      observe('switch.lamp', T0, 1),
      observe('switch.lamp', T0 + 5 * HOUR_MS, null),
    ]);
    const next: CounterDef = { ...lampHours, source: { kind: 'on-state', entity: 'switch.new' } };
    const { states } = foldObservations([next], before.states, [observe('switch.new', T0 + 6 * HOUR_MS, 1)]);
    const state = states.get('lamp-hours');
    assert.ok(state);
    const amount = project(next, state, T0 + 8 * HOUR_MS)['on-hours'];
    assert.deepEqual([amount?.low, amount?.high], [7, 8]);
  });
});
