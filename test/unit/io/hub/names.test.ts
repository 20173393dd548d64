import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { Names, type RegistryRow } from '../../../../src/io/hub/names.ts';
import type { SourceMemory } from '../../../../src/io/hub/options.ts';
import { keptLog } from '../../../../src/io/system/index.ts';
import { fakeHub, inTime, PUMP, type Rig, START_S, soon, upRig } from './fake-hub.ts';

const row = (entity: string, id: string, unique = `unique ${id}`): RegistryRow => ({
  id,
  entity_id: entity,
  unique_id: unique,
  platform: 'plugs',
});

function memory(): SourceMemory & { text: string | null } {
  const kept = {
    text: null as string | null,
    read: () => kept.text,
    write: (text: string) => {
      kept.text = text;
    },
  };
  return kept;
}

const [A, B, NEW] = ['switch.a', 'switch.b', 'switch.new'];

describe('names of the configuration and of the hub', () => {
  test('a renamed entity is known by its registry id, over a restart, and both names are asked for its past', () => {
    const kept = memory();
    const first = new Names([A], kept, keptLog());
    assert.equal(first.learn([row(A, '1')], null), false);
    const log = keptLog();
    const second = new Names([A], kept, log);
    assert.equal(second.learn([row(NEW, '1')], null), true);
    assert.deepEqual([second.toHub(A), second.toOurs(NEW), second.toOurs(A)], [NEW, [A], []]);
    assert.deepEqual(second.pastNames(A), [
      { entity: NEW, until: null },
      { entity: A, until: null },
    ]);
    assert.match(log.lines.join('\n'), /SW-HUB-015 .*switch\.a.*switch\.new/);
  });

  test('one that was set up anew under the same unique id is the same one', () => {
    const kept = memory();
    new Names([A], kept, keptLog()).learn([row(A, '1', 'serial 7')], null);
    const later = new Names([A], kept, keptLog());
    later.learn([row(NEW, '2', 'serial 7')], null);
    assert.equal(later.toHub(A), NEW);
  });

  test('two that changed places are told apart, and rows under a name another has now are left alone', () => {
    const kept = memory();
    const names = new Names([A, B], kept, keptLog());
    names.learn([row(A, '1'), row(B, '2')], null);
    names.learn([row(B, '1'), row(A, '2')], null);
    assert.deepEqual([names.toHub(A), names.toHub(B)], [B, A]);
    assert.deepEqual([names.toOurs(A), names.toOurs(B)], [[B], [A]]);
    assert.deepEqual(names.pastNames(A), [{ entity: B, until: null }]);
  });

  test('a rename that was seen bounds how long the old name was its own', () => {
    const names = new Names([A], memory(), keptLog());
    names.learn([row(A, '1')], null);
    names.learn([row(NEW, '1'), row(A, '9')], 5_000);
    assert.deepEqual(names.pastNames(A), [
      { entity: NEW, until: null },
      { entity: A, until: 5_000 },
    ]);
  });

  test('once the file says the new name, the past under the old one is still its own', () => {
    const kept = memory();
    new Names([A], kept, keptLog()).learn([row(A, '1')], null);
    const names = new Names([NEW], kept, keptLog());
    names.learn([row(NEW, '1')], null);
    assert.deepEqual(
      names.pastNames(NEW).map(({ entity }) => entity),
      [NEW, A],
    );
  });

  test('what is gone from the registry for a while keeps its place; what never was in it cannot be followed', () => {
    const log = keptLog();
    const names = new Names([A, B], memory(), log);
    names.learn([row(NEW, '3'), row(A, '1')], null);
    names.learn([], null);
    assert.equal(names.toHub(A), A);
    names.tellUnfollowed(new Set([A, B]));
    names.tellUnfollowed(new Set([A, B]));
    assert.deepEqual(
      log.lines.filter((line) => line.includes('no unique id')).map((line) => line.includes(B) && !line.includes(A)),
      [true],
    );
  });
});

const LIST = 'config/entity_registry/list';
const RENAMED = 'switch.pump_by_the_window';

async function renamingRig(): Promise<{ fake: ReturnType<typeof fakeHub>; rig: Rig }> {
  const fake = fakeHub();
  fake.on.set(LIST, () => ({ result: [row(PUMP, '1')] }));
  return { fake, rig: await upRig(fake, { settleMs: 0 }) };
}

const event = (seconds: number) => ({
  data: { action: 'update', entity_id: RENAMED, old_entity_id: PUMP, changes: { entity_id: PUMP } },
  time_fired: new Date(seconds * 1000).toISOString(),
});

describe('a rename on a live link', () => {
  test('the entity goes and comes back under its new name without a gap, and is commanded by it', async () => {
    const { fake, rig } = await renamingRig();
    const from = rig.observations.length;
    fake.states.set(RENAMED, { s: 'on', lc: START_S + 1 });
    fake.on.set(LIST, () => ({ result: [row(RENAMED, '1')] }));
    fake.emit('subscribe_entities', { r: [PUMP] });
    fake.emit('entity_registry_updated', event(START_S + 1));
    await soon('the new name', () => rig.observations.length > from);
    fake.emit('subscribe_entities', { c: { [RENAMED]: { '+': { s: 'off', lc: START_S + 5 } } } });
    await soon('the change', () => rig.observations.at(-1)?.value === 0);
    assert.deepEqual(
      rig.observations.slice(from).map(({ entity, value }) => [entity, value]),
      [
        [PUMP, 1],
        [PUMP, 0],
      ],
    );
    fake.states.set(RENAMED, { s: 'off', lc: START_S + 5 });
    const answer = await rig.hub.command({ session: 's', step: '1', equipment: 'pump', entity: PUMP, turn: 'off' });
    assert.equal(answer.outcome, 'confirmed');
    assert.deepEqual(fake.sentOf('call_service').at(-1)?.['target'], { entity_id: RENAMED });
    assert.equal(rig.links.length, 1);
    await rig.hub.stop();
  });

  test('an entity that goes and does not come back is a gap, dated when it went', async () => {
    const { fake, rig } = await renamingRig();
    const from = rig.observations.length;
    fake.emit('subscribe_entities', { r: [PUMP] });
    await inTime(fake, 'the gap', () => rig.observations.length > from);
    const [gap] = rig.observations.slice(from);
    assert.deepEqual([gap?.entity, gap?.value, gap?.at], [PUMP, null, START_S * 1000]);
    assert.equal(rig.readings.at(-1)?.value, null);
    await rig.hub.stop();
  });

  test('one that is back a moment later under the same name has its gap told first', async () => {
    const { fake, rig } = await renamingRig();
    const from = rig.observations.length;
    fake.emit('subscribe_entities', { r: [PUMP] });
    await soon('that it went', () => rig.readings.at(-1)?.value === null);
    fake.emit('subscribe_entities', { a: { [PUMP]: { s: 'on', lc: START_S + 0.4 } } });
    await soon('both', () => rig.observations.length >= from + 2);
    assert.deepEqual(
      rig.observations.slice(from).map(({ value, at }) => [value, at - START_S * 1000]),
      [
        [null, 0],
        [1, 400],
      ],
    );
    await rig.hub.stop();
  });

  test('a registry that may not be read leaves everything under the names of the file', async () => {
    const fake = fakeHub();
    fake.on.set(LIST, () => ({ refuse: 'unauthorized' }));
    const rig = await upRig(fake);
    assert.equal(rig.observations.at(-1)?.entity, PUMP);
    await rig.hub.stop();
  });
});

describe('the clocks', () => {
  test('a skew finer than a millisecond leaves the moments of observations whole, of missing entities too', async () => {
    const fake = fakeHub();
    fake.states.set(PUMP, { s: 'on', lc: START_S - 3_600 });
    fake.onRest.set('/api/template', () => ({
      status: 200,
      body: { now: (fake.system.clock.now() + 0.37) / 1000, rows: [] },
    }));
    const entities = { observe: [PUMP, 'switch.never_was'], readings: [], commandable: [], drivers: [] };
    const rig = await upRig(fake, { entities });
    const missing = rig.observations.find(({ entity }) => entity === 'switch.never_was');
    assert.equal(missing?.value, null);
    assert.ok(rig.observations.every(({ at }) => Number.isInteger(at)));
    await rig.hub.stop();
  });

  test('are compared at each connection and every hour while it lasts', async () => {
    const fake = fakeHub();
    let aheadMs = 1_000;
    fake.onRest.set('/api/template', () => ({
      status: 200,
      body: { now: (fake.system.clock.now() + aheadMs) / 1000, rows: [] },
    }));
    const told: number[] = [];
    const rig = await upRig(fake, {}, { onSkew: (skewMs) => told.push(Math.round(skewMs)) });
    assert.deepEqual(told, [1_000]);
    aheadMs = 7_500;
    const began = fake.system.clock.now();
    await inTime(fake, 'the next measure', () => told.length > 1);
    assert.deepEqual(told, [1_000, 7_500]);
    assert.equal(Math.round((fake.system.clock.now() - began) / 60_000), 60);
    assert.equal(Math.round(rig.hub.info()?.clockSkewMs ?? 0), 7_500);
    await rig.hub.stop();
  });
});
