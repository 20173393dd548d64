import assert from 'node:assert/strict';
import { test } from 'node:test';
import { fakeHub, inTime, PUMP, START_S, soon, startRig, upRig } from './fake-hub.ts';

const off = { session: 's', step: 'off:pump', equipment: 'pump', entity: PUMP, turn: 'off' } as const;

test('a socket that never opens is given up and another one tried', async () => {
  const fake = fakeHub();
  fake.newSocket = 'leave';
  const rig = startRig(fake);
  await soon('the first socket', () => fake.sockets.length === 1);
  await inTime(fake, 'a second socket', () => fake.sockets.length === 2);
  assert.equal(fake.sockets[0]?.readyState, 3);
  assert.ok(fake.system.clock.monotonicMs() >= 15_000);
  await rig.hub.stop();
});

test('a hub that opens the socket and then says nothing is given up after the time for a login', async () => {
  const fake = fakeHub();
  fake.newSocket = 'open only';
  const rig = startRig(fake);
  await soon('the first socket', () => fake.sockets.length === 1);
  await inTime(fake, 'a second socket', () => fake.sockets.length === 2);
  assert.ok(fake.system.clock.monotonicMs() >= 45_000);
  assert.match(fake.system.log.lines.join('\n'), /did not finish the login/);
  await rig.hub.stop();
});

test('a token refused at a later connection ends it all: told once, no further socket', async () => {
  const fake = fakeHub();
  const rig = await upRig(fake);
  fake.on.set('auth', () => ({ refuse: 'auth_invalid' }));
  fake.socket().close();
  await soon('the refusal', () => rig.refusals.length > 0);
  fake.system.advance(3_600_000);
  assert.equal(fake.sockets.length, 2);
  assert.equal(rig.refusals.length, 1);
  assert.equal(rig.links.at(-1)?.up, false);
  assert.equal((await rig.hub.command(off)).outcome, 'refused');
  assert.deepEqual(fake.system.waiting(), []);
});

test('a banned machine is told about ip_bans.yaml and does not knock again', async () => {
  const fake = fakeHub();
  fake.newSocket = 'close';
  fake.onRest.set('/manifest.json', () => ({ status: 403, body: 'Forbidden' }));
  const rig = startRig(fake);
  await assert.rejects(rig.started, { code: 'SW-HUB-003' });
  fake.system.advance(3_600_000);
  assert.equal(fake.sockets.length, 1);
  assert.match(fake.system.log.lines.join('\n'), /ip_bans\.yaml/);
});

test('an address where something else answers says so', async () => {
  const fake = fakeHub();
  fake.newSocket = 'close';
  fake.onRest.set('/manifest.json', () => ({ status: 404, body: 'not here' }));
  const rig = startRig(fake);
  await soon('the word', () =>
    fake.system.log.lines.some((line) => /something answers there \(status 404\)/.test(line)),
  );
  await rig.hub.stop();
});

test('the token is written to no log line', async () => {
  const fake = fakeHub();
  fake.on.set('auth', () => ({ refuse: 'auth_invalid' }));
  const rig = startRig(fake);
  await assert.rejects(rig.started);
  assert.doesNotMatch(fake.system.log.lines.join('\n'), /secret-token/);
});

test('a missed pong replaces the connection, and a live one is left alone', async () => {
  const fake = fakeHub();
  const rig = await upRig(fake, { keepAliveMs: 20_000, pongMs: 5_000 });
  fake.system.advance(20_000);
  await soon('the pong to be taken', () => fake.system.waiting().some(({ name }) => name === 'hub: keep-alive'));
  assert.equal(fake.sockets.length, 1);
  fake.on.set('ping', () => 'mute');
  fake.system.advance(20_000);
  await soon('the ping', () => fake.sentOf('ping').length === 2);
  assert.equal(rig.links.length, 1, 'not before its time is up');
  fake.system.advance(5_000);
  await soon('the link to be up again', () => rig.links.length === 3);
  assert.match(JSON.stringify(rig.links[1]), /did not answer a ping/);
  assert.equal(fake.sockets.length, 2);
  await rig.hub.stop();
});

test('a gap begins at the last sign of life, not when the silence was noticed', async () => {
  const fake = fakeHub();
  const rig = await upRig(fake, { keepAliveMs: 20_000, pongMs: 5_000 });
  fake.system.advance(7_000);
  fake.emit('subscribe_entities', { c: { [PUMP]: { '+': { s: 'off', lc: START_S + 7 } } } });
  fake.on.set('ping', () => 'mute');
  fake.system.advance(13_000);
  await soon('the ping', () => fake.sentOf('ping').length === 1);
  fake.system.advance(5_000);
  await soon('down', () => rig.links.length >= 2);
  assert.deepEqual(rig.links[1]?.at, (START_S + 7) * 1000);
  await rig.hub.stop();
});

test('a command without an answer in time is still working, and its late answer is let go', async () => {
  const fake = fakeHub();
  const rig = await upRig(fake, { deadlineMs: 10_000 });
  fake.on.set('call_service', () => 'mute');
  const answering = rig.hub.command(off);
  await soon('the command', () => fake.sentOf('call_service').length === 1);
  fake.system.advance(10_000);
  assert.equal((await answering).outcome, 'still-working');
  const [sent] = fake.sentOf('call_service');
  fake.socket().emit({ id: sent?.id, type: 'result', success: true, result: null });
  fake.on.delete('call_service');
  assert.equal((await rig.hub.command({ ...off, turn: 'on' })).outcome, 'confirmed');
  assert.equal(rig.links.length, 1);
  await rig.hub.stop();
});

test('while the link is down nothing is sent and nothing is kept to be sent later', async () => {
  const fake = fakeHub();
  const rig = await upRig(fake);
  fake.newSocket = 'leave';
  fake.socket().close();
  await soon('down', () => rig.links.length === 2);
  assert.equal((await rig.hub.command(off)).outcome, 'refused');
  fake.newSocket = 'greet';
  fake.system.advance(15_000);
  await soon('up', () => rig.links.length === 3);
  assert.deepEqual(fake.sentOf('call_service'), []);
  await rig.hub.stop();
});

test('stopping ends every timer and never connects again', async () => {
  const fake = fakeHub();
  const rig = await upRig(fake);
  await rig.hub.stop();
  await soon('the socket to close', () => fake.socket().readyState === 3);
  fake.system.advance(3_600_000);
  assert.deepEqual(fake.system.waiting(), []);
  assert.equal(fake.sockets.length, 1);
  assert.equal(rig.links.length, 1);
});
