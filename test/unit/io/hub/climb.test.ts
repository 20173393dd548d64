import assert from 'node:assert/strict';
import { test } from 'node:test';
import { type Answer, fakeHub, inTime, PUMP, START_S, soon, startRig, upRig } from './fake-hub.ts';

const config = (state: string): Answer => ({
  result: { state, version: '2025.4.4', time_zone: 'Europe/London' },
});

test('nothing is passed on while the hub is starting, and only the settled state afterwards', async () => {
  const fake = fakeHub();
  fake.states.set(PUMP, { s: 'unavailable', lc: START_S });
  fake.on.set('get_config', () => config('STARTING'));
  const rig = startRig(fake, { settleMs: 10_000 });
  await inTime(fake, 'several looks', () => fake.sentOf('get_config').length >= 3);
  assert.deepEqual(fake.sentOf('subscribe_entities'), []);
  fake.on.delete('get_config');
  await inTime(fake, 'the snapshot', () => fake.sentOf('subscribe_entities').length === 1);
  await soon('settling', () => fake.system.waiting().some(({ name }) => name === 'hub: let it settle'));
  fake.emit('subscribe_entities', { c: { [PUMP]: { '+': { s: 'off', lc: START_S + 3 } } } });
  fake.emit('subscribe_entities', { c: { [PUMP]: { '+': { s: 'on', lc: START_S + 4 } } } });
  assert.deepEqual(rig.links, []);
  fake.system.advance(10_000);
  await rig.started;
  assert.deepEqual(
    rig.observations.map((one) => [one.value, one.at]),
    [[1, (START_S + 4) * 1000]],
  );
  assert.deepEqual(rig.changes, [], 'jumps of the start are nobody’s hand');
  await rig.hub.stop();
});

test('a hub that has stood for long needs no settling', async () => {
  const fake = fakeHub();
  const rig = await upRig(fake, { settleMs: 10_000 });
  assert.equal(fake.system.clock.monotonicMs(), 0);
  await rig.hub.stop();
});

test('a refused subscription is tried again until it is taken, without an unhandled rejection', async (t) => {
  const unhandled: unknown[] = [];
  const listener = (reason: unknown) => unhandled.push(reason);
  process.on('unhandledRejection', listener);
  t.after(() => process.off('unhandledRejection', listener));
  const fake = fakeHub();
  const rig = await upRig(fake);
  fake.on.set('subscribe_entities', () => ({ refuse: 'unknown_command' }));
  const before = fake.sentOf('subscribe_entities').length;
  fake.socket().close();
  await soon('the first refusal', () => fake.sentOf('subscribe_entities').length > before);
  await inTime(fake, 'more tries', () => fake.sentOf('subscribe_entities').length >= before + 4);
  assert.equal(rig.links.at(-1)?.up, false);
  fake.on.delete('subscribe_entities');
  await inTime(fake, 'up', () => rig.links.at(-1)?.up === true);
  assert.deepEqual(unhandled, []);
  const said = fake.system.log.lines.filter((line) => line.includes('not ready yet'));
  assert.equal(said.length, 1, said.join('\n'));
  assert.equal(fake.sockets.length, 2, 'on the same connection');
  await rig.hub.stop();
});

test('a subscription that is never answered is given up after the deadline and made anew', async () => {
  const fake = fakeHub();
  fake.states.set(PUMP, { s: 'on', lc: START_S - 3_600 });
  fake.on.set('subscribe_entities', () => 'mute');
  const rig = startRig(fake);
  await soon('the first one', () => fake.sentOf('subscribe_entities').length === 1);
  fake.on.delete('subscribe_entities');
  await inTime(fake, 'up', () => rig.links.length === 1);
  // The first request is answered after all: its events must not be taken twice.
  const [first] = fake.sentOf('subscribe_entities');
  fake.socket().emit({ id: first?.id, type: 'result', success: true, result: null });
  fake.socket().emit({ id: first?.id, type: 'event', event: { a: { [PUMP]: { s: 'off', lc: START_S + 1 } } } });
  fake.emit('subscribe_entities', { c: { [PUMP]: { '+': { s: 'off', lc: START_S + 2 } } } });
  await soon('the change', () => rig.observations.length === 2);
  assert.deepEqual(
    rig.observations.map((one) => one.at / 1000 - START_S),
    [-3_600, 2],
  );
  await rig.hub.stop();
});

test('a connection lost halfway up is begun anew, and nothing of the first try is told', async () => {
  const fake = fakeHub();
  fake.states.set(PUMP, { s: 'on', lc: START_S - 3_600 });
  let times = 0;
  fake.on.set('subscribe_events', (_, socket) => {
    times += 1;
    if (times > 1) return { result: null };
    socket.close();
    return 'mute';
  });
  const rig = startRig(fake);
  await soon('up', () => rig.links.length > 0);
  assert.deepEqual(
    rig.links.map((link) => link.up),
    [true],
  );
  assert.equal(fake.sockets.length, 2);
  assert.equal(rig.observations.length, 1);
  await rig.hub.stop();
});

test('a user without all rights still gets observations, and is told what is missing', async () => {
  const fake = fakeHub();
  fake.on.set('subscribe_events', () => ({ refuse: 'unauthorized' }));
  fake.on.set('config/auth/list', () => ({ refuse: 'unauthorized' }));
  const rig = await upRig(fake);
  assert.equal(rig.observations.length, 1);
  assert.match(fake.system.log.lines.join('\n'), /without administrator rights.*answers to notifications/);
  assert.equal(rig.hub.personName('u1'), 'Ada');
  await rig.hub.stop();
});

test('an entity gone from the first snapshot after a reconnect is a gap, not its old state', async () => {
  const fake = fakeHub();
  const rig = await upRig(fake);
  fake.states.clear();
  fake.states.set('sensor.slackwater_service', { s: 'running', lc: START_S });
  fake.socket().close();
  await soon('up again', () => rig.links.length === 3);
  assert.equal(rig.observations.at(-1)?.value, null);
  assert.equal((await rig.hub.refresh([PUMP]))[0]?.value, null);
  await rig.hub.stop();
});

test('a configured entity the hub does not have is named once, with the nearest it does have', async () => {
  const fake = fakeHub();
  fake.states.set('switch.pumpe', { s: 'on', lc: START_S - 3_600 });
  fake.on.set('config/entity_registry/list_for_display', () => ({
    result: { entities: [{ ei: 'switch.pumpe' }, { ei: 'sensor.pump' }] },
  }));
  const rig = await upRig(fake);
  const said = () => fake.system.log.lines.filter((line) => line.includes('SW-HUB-009'));
  await soon('the word', () => said().length > 0);
  fake.socket().close();
  await soon('up again', () => rig.links.length === 3);
  assert.equal(said().length, 1);
  assert.match(said()[0] ?? '', /switch\.pump,.*for switching.*Did you mean switch\.pumpe\?/);
  await rig.hub.stop();
});

test('answers to notifications asked for twice are still told once', async () => {
  const fake = fakeHub();
  fake.states.set(PUMP, { s: 'on', lc: START_S - 3_600 });
  fake.on.set('subscribe_events', () => 'mute');
  const rig = startRig(fake);
  await soon('the first request', () => fake.sentOf('subscribe_events').length === 1);
  fake.on.delete('subscribe_events');
  await inTime(fake, 'up', () => rig.links.length === 1);
  const event = {
    data: { action: 'SW_LATER_abc' },
    time_fired: '2025-06-15T15:06:40+00:00',
    context: { user_id: 'u1' },
  };
  const [late] = fake.sentOf('subscribe_events');
  fake.socket().emit({ id: late?.id, type: 'result', success: true, result: null });
  fake.socket().emit({ id: late?.id, type: 'event', event });
  fake.emit('mobile_app_notification_action', event);
  await soon('the answer', () => rig.presses.length > 0);
  assert.equal(rig.presses.length, 1);
  await rig.hub.stop();
});
