import assert from 'node:assert/strict';
import { test } from 'node:test';
import { type FakeHub, fakeHub, inTime, type Rig, START_S, soon, upRig } from './fake-hub.ts';

const A = '/api/states/sensor.a';
const B = '/api/states/sensor.b';
const state = (entity: string, value: string) => ({ entity, state: value, attributes: {} });

const posts = (fake: FakeHub): readonly string[] =>
  fake.posted
    .filter(({ path }) => path === A || path === B)
    .map(({ path, body }) => `${path.at(-1)} ${(body as { state: string }).state}`);

async function ready(fake: FakeHub): Promise<Rig> {
  const rig = await upRig(fake);
  await rig.hub.leaveMark();
  await soon('our mark', () => fake.posted.some(({ path }) => path.endsWith('_service')));
  return rig;
}

test('only what differs is posted, in the order first published', async () => {
  const fake = fakeHub();
  const rig = await ready(fake);
  await rig.hub.publish([state('sensor.b', '1'), state('sensor.a', '1')]);
  await rig.hub.publish([state('sensor.a', '1'), state('sensor.b', '2')]);
  assert.deepEqual(posts(fake), ['b 1', 'a 1', 'b 2']);
  await rig.hub.stop();
});

test('what cannot be posted now is posted later, newest only, without being asked', async () => {
  const fake = fakeHub();
  const rig = await ready(fake);
  fake.onRest.set(A, () => ({ status: 503, body: {} }));
  await rig.hub.publish([state('sensor.a', '1')]);
  await rig.hub.publish([state('sensor.a', '2')]);
  const said = fake.system.log.lines.filter((line) => line.includes('could not be published'));
  assert.equal(said.length, 1, said.join('\n'));
  fake.onRest.delete(A);
  const before = posts(fake).length;
  await inTime(fake, 'another try', () => posts(fake).length > before);
  assert.deepEqual(posts(fake).slice(before), ['a 2']);
  await rig.hub.stop();
});

test('a state the hub will never take does not block the others', async () => {
  const fake = fakeHub();
  const rig = await ready(fake);
  fake.onRest.set(A, () => ({ status: 400, body: { message: 'Invalid state specified.' } }));
  await rig.hub.publish([state('sensor.a', 'x'.repeat(300)), state('sensor.b', '1')]);
  await rig.hub.publish([state('sensor.b', '2')]);
  assert.equal(posts(fake).filter((post) => post.startsWith('a')).length, 1);
  assert.deepEqual(posts(fake).slice(-2), ['b 1', 'b 2']);
  await rig.hub.stop();
});

test('a connection that broke under a post is tried once more at once', async () => {
  const fake = fakeHub();
  const rig = await ready(fake);
  let broken = 1;
  fake.onRest.set(A, () => {
    broken -= 1;
    if (broken >= 0) throw new TypeError('fetch failed');
    return { status: 200, body: {} };
  });
  await rig.hub.publish([state('sensor.a', '1')]);
  assert.deepEqual(posts(fake), ['a 1', 'a 1']);
  await rig.hub.stop();
});

test('after a hub restart everything is posted again, after a mere drop nothing is', async () => {
  const fake = fakeHub();
  const rig = await ready(fake);
  await rig.hub.publish([state('sensor.a', '1'), state('sensor.b', '2')]);
  fake.states.set('sensor.slackwater_service', { s: 'running', lc: START_S });
  fake.socket().close();
  await soon('up', () => rig.links.length === 3);
  assert.deepEqual(posts(fake), ['a 1', 'b 2']);
  fake.states.delete('sensor.slackwater_service');
  fake.states.set('switch.pump', { s: 'on', lc: START_S + 60 });
  fake.socket().close();
  await soon('up', () => rig.links.length === 5);
  await soon('the posts', () => posts(fake).length === 4);
  assert.deepEqual(posts(fake).slice(2), ['a 1', 'b 2']);
  await rig.hub.stop();
});

test('a token refused over REST ends in a refusal, not in more refused calls', async () => {
  const fake = fakeHub();
  const rig = await ready(fake);
  fake.onRest.set(A, () => ({ status: 401, body: '401: Unauthorized' }));
  fake.on.set('auth', () => ({ refuse: 'auth_invalid' }));
  await rig.hub.publish([state('sensor.a', '1'), state('sensor.b', '1')]);
  await soon('the refusal', () => rig.refusals.length === 1);
  fake.system.advance(3_600_000);
  assert.deepEqual(posts(fake), ['a 1']);
});
