import assert from 'node:assert/strict';
import { test } from 'node:test';
import { type FakeHub, fakeHub, type Rig, START_S, soon, upRig } from './fake-hub.ts';

const DEF = { button: 'confirm', name: 'Confirm', icon: 'mdi:check' };
const ENTITY = 'input_button.slackwater_confirm';
const iso = (second: number): string => new Date((START_S + second) * 1000).toISOString();

function withHelpers(fake: FakeHub, helpers: { id: string; name: string }[]): void {
  fake.on.set('input_button/list', () => ({ result: helpers }));
  fake.on.set('input_button/create', (message) => {
    const made = { id: String(message['name']).toLowerCase().replaceAll(/\W+/g, '_'), name: String(message['name']) };
    helpers.push(made);
    return { result: made };
  });
  fake.on.set('input_button/update', () => ({ result: null }));
  fake.on.set('config/entity_registry/list', () => ({
    result: helpers.map(({ id }) => ({ platform: 'input_button', unique_id: id, entity_id: `input_button.${id}` })),
  }));
}

async function withButton(fake: FakeHub, pressedAt: string): Promise<Rig> {
  withHelpers(fake, []);
  fake.states.set(ENTITY, { s: pressedAt, lc: START_S });
  fake.states.set('switch.pump', { s: 'on', lc: START_S - 3_600 });
  const rig = await upRig(fake);
  await rig.hub.ensureButtons([DEF]);
  return rig;
}

const pressed = (second: number, extra = {}) => ({
  c: { [ENTITY]: { '+': { s: iso(second), lc: START_S + second, ...extra } } },
});

test('the press a button remembers is not told, not even one of this very moment', async () => {
  const fake = fakeHub();
  const rig = await withButton(fake, iso(0));
  fake.emit('subscribe_entities', pressed(7, { c: { user_id: 'u1', id: 'x' } }));
  await soon('the new one', () => rig.presses.length > 0);
  assert.deepEqual(rig.presses, [
    {
      kind: 'button',
      button: 'confirm',
      at: (START_S + 7) * 1000,
      receivedAt: START_S * 1000,
      userId: 'u1',
    },
  ]);
  await rig.hub.stop();
});

test('helpers loaded anew bring an old press back, which is none', async () => {
  const fake = fakeHub();
  const rig = await withButton(fake, iso(-100));
  fake.emit('subscribe_entities', { r: [ENTITY] });
  fake.emit('subscribe_entities', { a: { [ENTITY]: { s: iso(-100), a: {}, c: 'x', lc: START_S + 30 } } });
  fake.emit('subscribe_entities', { c: { [ENTITY]: { '+': { s: 'unavailable', lc: START_S + 31 } } } });
  fake.emit('subscribe_entities', { c: { [ENTITY]: { '+': { s: iso(-100), lc: START_S + 32 } } } });
  fake.emit('subscribe_entities', { c: { [ENTITY]: { '+': { s: 'unknown', lc: START_S + 33 } } } });
  fake.emit('subscribe_entities', pressed(40));
  await soon('the real one', () => rig.presses.length > 0);
  assert.deepEqual(
    rig.presses.map((press) => press.at),
    [(START_S + 40) * 1000],
  );
  await rig.hub.stop();
});

test('the first press ever of a new button counts', async () => {
  const fake = fakeHub();
  const rig = await withButton(fake, 'unknown');
  fake.emit('subscribe_entities', pressed(3));
  await soon('the press', () => rig.presses.length === 1);
  assert.equal(rig.presses[0]?.userId, null);
  await rig.hub.stop();
});

test('a button that the keeper renamed is still ours and no second one is made', async () => {
  const fake = fakeHub();
  const helpers = [{ id: 'slackwater_confirm', name: 'Yes, go on' }];
  withHelpers(fake, helpers);
  const rig = await upRig(fake);
  const made = await rig.hub.ensureButtons([DEF]);
  assert.equal(made.get('confirm'), ENTITY);
  assert.equal(helpers.length, 1);
  assert.deepEqual(fake.sentOf('input_button/update'), []);
  await rig.hub.stop();
});

test('a button that was deleted is made again when the link comes back', async () => {
  const fake = fakeHub();
  const helpers: { id: string; name: string }[] = [];
  withHelpers(fake, helpers);
  const rig = await upRig(fake);
  await rig.hub.ensureButtons([DEF]);
  helpers.length = 0;
  fake.socket().close();
  await soon('up', () => rig.links.length === 3);
  assert.equal(helpers.length, 1);
  await rig.hub.stop();
});

test('a user who may not make buttons is told which right is missing', async () => {
  const fake = fakeHub();
  withHelpers(fake, []);
  fake.on.set('input_button/create', () => ({ refuse: 'unauthorized' }));
  const rig = await upRig(fake);
  await assert.rejects(rig.hub.ensureButtons([DEF]), { code: 'SW-HUB-008' });
  await rig.hub.stop();
});
