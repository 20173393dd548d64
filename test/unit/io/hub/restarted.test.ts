import assert from 'node:assert/strict';
import { test } from 'node:test';
import { tellRestart } from '../../../../src/io/hub/restarted.ts';
import type { EntityMap, EntityState } from '../../../../src/observe/index.ts';

const MARKER = 'sensor.slackwater_service';
const SEEN = 1_000_000;

function snapshot(states: Readonly<Record<string, number>>): EntityMap {
  const entry = (entity: string, at: number): [string, EntityState] => [
    entity,
    { entity, state: 'on', attributes: {}, lastChanged: at, lastUpdated: at, contextId: '', userId: null },
  ];
  return new Map(Object.entries(states).map(([entity, at]) => entry(entity, at)));
}

const tell = (states: Readonly<Record<string, number>>, more = {}) =>
  tellRestart({ snapshot: snapshot(states), marker: MARKER, markerPosted: true, lastSeenAt: SEEN, ...more });

test('our mark gone and everything newer: restarted when the oldest state was written', () => {
  assert.deepEqual(tell({ 'switch.a': SEEN + 50, 'switch.b': SEEN + 20 }), {
    hubRestarted: true,
    restartedAt: SEEN + 20,
  });
});

test('our mark still there: not restarted, however new the states', () => {
  assert.deepEqual(tell({ [MARKER]: SEEN - 10, 'switch.a': SEEN + 50 }), { hubRestarted: false, restartedAt: null });
});

test('our mark gone but something older there: taken as a restart of unknown moment, which is the safe side', () => {
  assert.deepEqual(tell({ 'switch.a': SEEN - 5, 'switch.b': SEEN + 20 }), { hubRestarted: true, restartedAt: null });
});

test('a hub without any of our entities has lost our mark with them', () => {
  assert.deepEqual(tell({}), { hubRestarted: true, restartedAt: null });
});

test('where no mark could be left, only the times tell', () => {
  const unmarked = { markerPosted: false };
  assert.equal(tell({ 'switch.a': SEEN - 5, 'switch.b': SEEN + 20 }, unmarked).hubRestarted, false);
  assert.deepEqual(tell({ 'switch.a': SEEN + 5 }, unmarked), { hubRestarted: true, restartedAt: SEEN + 5 });
});

test('a hub never seen before did not restart', () => {
  assert.deepEqual(tell({ 'switch.a': SEEN + 50 }, { lastSeenAt: null }), { hubRestarted: false, restartedAt: null });
});
