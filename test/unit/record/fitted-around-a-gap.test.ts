import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { type CounterState, foldObservations, initialState, project, type Slice } from '../../../src/count/index.ts';
import type { CounterDef, PartLife } from '../../../src/model/index.ts';
import type { Observation } from '../../../src/observe/index.ts';
import { baselineOf, lifeUsage, type UsageSources } from '../../../src/record/index.ts';
import { HOUR_MS } from '../../../src/units/index.ts';
import { lamp } from './tank.ts';

const T0 = Date.UTC(2026, 0, 5, 10);
const METER = 'sensor.lamp_energy';
const by = { unitsPerReading: 1, leastPerHourOn: 0.1, mostPerHourOn: 0.1, mostPerHourOff: 0, coarseness: 0 };
const def: CounterDef = {
  id: 'lamp-hours',
  name: 'Lamp hours',
  source: { kind: 'on-state', entity: 'switch.lamp', narrowedBy: { entity: METER, ...by } },
  measures: ['on-hours'],
};

const row = (hour: number, value: number | null, entity = 'switch.lamp'): Observation => ({
  entity,
  value,
  at: T0 + hour * HOUR_MS,
  receivedAt: T0 + hour * HOUR_MS,
  origin: 'live',
});

function sourcesAt(now: number, feed: readonly Observation[]): UsageSources {
  const folded = foldObservations([def], new Map([[def.id, initialState(def)]]), feed);
  const state = folded.states.get(def.id) as CounterState;
  const view = { def, folded: state, projected: { ...state, amounts: project(def, state, now) } };
  const slices = (_: string, __: string, from: number): readonly Slice[] =>
    folded.slices.filter(({ hour }) => hour + HOUR_MS > from);
  return { counters: new Map([[def.id, view]]), slices };
}

const onHours = (life: PartLife, now: number, sources: UsageSources) => {
  const usage = lifeUsage(lamp, life, now, sources).find(({ measure }) => measure === 'on-hours');
  assert.ok(usage !== undefined);
  return [usage.low, usage.best, usage.high].map((amount) => Math.round(amount * 1e6) / 1e6);
};

// Off until 12:00, unseen until 16:00, off since; the meter comes back late and says three hours of light.
const gap = [row(0, 0), row(0, 50, METER), row(2, null), row(2, null, METER), row(6, 0)];
const settled = [...gap, row(8, 50.3, METER)];

describe('a part fitted near a gap that a meter settles later', () => {
  test('right after it: nothing of the gap is proven of the new part', () => {
    const fittedAt = T0 + 6.5 * HOUR_MS;
    const baseline = baselineOf(lamp, fittedAt, fittedAt, sourcesAt(fittedAt, gap));
    const life: PartLife = { part: 'lamp', number: 2, fittedAt, fittedBy: 'Ana', baseline };
    const now = T0 + 9 * HOUR_MS;
    const [low, , high] = onHours(life, now, sourcesAt(now, settled));
    assert.equal(low, 0);
    assert.ok((high ?? 0) >= 0 && (high ?? 99) <= 4);
  });

  test('said later, to have been in the middle of it: at least one of the three hours, at most two', () => {
    const now = T0 + 9 * HOUR_MS;
    const sources = sourcesAt(now, settled);
    const life: PartLife = { part: 'lamp', number: 2, fittedAt: T0 + 4 * HOUR_MS, fittedBy: 'Ana' };
    assert.deepEqual(onHours(life, now, sources), [1, 1.5, 2]);
  });
});
