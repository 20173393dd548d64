import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { type CounterState, foldObservations, initialStates } from '../../../src/count/index.ts';
import type { Actor, CounterDef, Part, PartLife } from '../../../src/model/index.ts';
import { lifeUsage, settleFall, type UsageSources } from '../../../src/record/index.ts';
import { HOUR_MS } from '../../../src/units/index.ts';
import { lamp } from './tank.ts';

const T0 = Date.UTC(2025, 0, 1);
const ana: Actor = { kind: 'person', name: 'Ana', via: 'api' };
const feed: CounterDef = {
  id: 'feed',
  name: 'Feed water',
  source: { kind: 'total', entity: 'sensor.feed', unitsPerReading: 1, maxPerHour: 20 },
  measures: ['litres'],
};
const carbon: Part = { ...lamp, id: 'carbon', name: 'Carbon', limits: [], usageFrom: { litres: 'feed' } };
const present: PartLife = { part: 'carbon', number: 2, fittedAt: T0, fittedBy: 'Ana', baseline: {} };

/** 100, 110, then a jump of 500 that stays: more than 20 L an hour can bring. */
const folded = foldObservations(
  [feed],
  initialStates([feed]),
  [100, 110, 610, 615, 620].map((value, i) => ({
    entity: 'sensor.feed',
    value,
    at: T0 + i * HOUR_MS,
    receivedAt: T0,
    origin: 'live' as const,
  })),
);
const state = folded.states.get('feed') as CounterState;
const sources: UsageSources = {
  counters: new Map([['feed', { def: feed, folded: state, projected: state }]]),
  slices: () => [],
};
const litres = (life: PartLife) => {
  const found = lifeUsage(carbon, life, T0 + 4 * HOUR_MS, sources)[0];
  return [found?.low, found?.best, found?.high];
};
const settled = (choice: string) => {
  const [doubt] = folded.doubts;
  assert.ok(doubt);
  const amount = doubt.after - doubt.before;
  const result = settleFall({
    ...{ part: carbon, present, measure: 'litres' as const, amount, at: doubt.at, question: 'q', choice },
    ...{ now: T0 + 4 * HOUR_MS, by: ana, sources },
  });
  assert.ok(result);
  return result;
};

describe('a rise that is faster than the meter can be', () => {
  test('stands in the upper bound until a person says what it was', () => {
    assert.deepEqual(
      folded.doubts.map(({ kind, before, after }) => [kind, before, after]),
      [['jump-too-fast', 110, 610]],
    );
    assert.deepEqual(litres(present), [20, 20, 520]);
    assert.deepEqual(litres(settled('yes').life), [520, 520, 520]);
    assert.deepEqual(litres(settled('no').life), [20, 20, 20]);
    assert.equal(settled('yes').entry.before, present);
  });

  test('what lies before the part was fitted is none of its own', () => {
    const result = settleFall({
      ...{ part: carbon, present: { ...present, fittedAt: T0 + 3 * HOUR_MS }, measure: 'litres' as const, amount: 500 },
      ...{ at: T0 + 2 * HOUR_MS, question: 'q', choice: 'yes', now: T0 + 4 * HOUR_MS, by: ana, sources },
    });
    assert.equal(result, null);
  });
});
