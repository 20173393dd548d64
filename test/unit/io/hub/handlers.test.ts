import assert from 'node:assert/strict';
import { test } from 'node:test';
import { guardLibrary, libraryFailure } from '../../../../src/io/hub/guard.ts';
import { fakeHub, PUMP, START_S, soon, upRig } from './fake-hub.ts';

const changeTo = (state: string, second: number) => ({ c: { [PUMP]: { '+': { s: state, lc: START_S + second } } } });

test('a handler that throws loses nothing of the same frame', async () => {
  const fake = fakeHub();
  const values: (number | null)[] = [];
  const rig = await upRig(
    fake,
    {},
    {
      onObservations(batch) {
        values.push(...batch.map((one) => one.value));
        if (batch.some((one) => one.value === 0)) throw new Error('a fault of ours');
      },
    },
  );
  fake.emit('subscribe_entities', changeTo('off', 1), changeTo('on', 2));
  await soon('both', () => values.length === 3);
  assert.deepEqual(values, [1, 0, 1]);
  assert.equal(rig.changes.length, 2, 'the other handlers run too');
  assert.match(fake.system.log.lines.join('\n'), /onObservations failed.*a fault of ours/s);
  assert.equal(rig.links.length, 1);
  await rig.hub.stop();
});

test('a change of an entity we hold no state of makes a new connection rather than a guess', async () => {
  const fake = fakeHub();
  const rig = await upRig(fake);
  fake.emit('subscribe_entities', { c: { 'switch.never_seen': { '+': { s: 'off', lc: START_S + 1 } } } });
  await soon('down and up', () => rig.links.length === 3);
  assert.match(JSON.stringify(rig.links[1]), /out of step/);
  await rig.hub.stop();
});

test('an update of attributes alone is a reading, neither an observation nor a change', async () => {
  const fake = fakeHub();
  const rig = await upRig(fake);
  fake.emit('subscribe_entities', { c: { [PUMP]: { '+': { a: { note: 1 }, lu: START_S + 5 } } } });
  await soon('the reading', () => rig.readings.length === 2);
  assert.equal(rig.observations.length, 1);
  assert.deepEqual(rig.changes, []);
  assert.deepEqual(rig.readings[1], {
    entity: PUMP,
    value: 1,
    changedAt: (START_S - 3_600) * 1000,
    reportedAt: (START_S + 5) * 1000,
  });
  await rig.hub.stop();
});

test('what the library drops is told apart from what is a fault of ours', () => {
  assert.match(libraryFailure(3) ?? '', /3/);
  assert.match(libraryFailure({ code: 'unknown_command', message: 'not loaded yet' }) ?? '', /unknown_command/);
  assert.match(libraryFailure({ type: 'result', error: { code: 3, message: 'Connection lost' } }) ?? '', /lost/);
  assert.equal(libraryFailure(new Error('ours')), null);
  assert.equal(libraryFailure(undefined), null);
  assert.equal(libraryFailure('text'), null);
});

test('a failure the library dropped is logged instead of ending the process; ours still ends it', () => {
  const caught: string[] = [];
  const before = process.listeners('unhandledRejection');
  const end = guardLibrary((text) => caught.push(text));
  const [listener] = process.listeners('unhandledRejection').filter((one) => !before.includes(one));
  assert.ok(listener);
  listener({ code: 'unknown_command', message: 'x' }, Promise.resolve());
  assert.equal(caught.length, 1);
  assert.throws(() => listener(new Error('ours'), Promise.resolve()), /ours/);
  end();
  assert.deepEqual(process.listeners('unhandledRejection'), before);
});
