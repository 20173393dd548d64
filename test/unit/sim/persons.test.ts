import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { after, describe, test } from 'node:test';
import { loadConfig } from '../../../src/config/index.ts';
import { type Behaviour, PLUG_KEYS, type SimHub, simulatedPerson, startDemoHome } from '../../../src/sim/index.ts';
import { handClock } from './hand-clock.ts';
import { type Home, home, libraryConnection } from './support.ts';

/** Shows a prompt in the hub as the service does. */
async function ask(
  hub: SimHub,
  step: string,
  nonce: string,
  more: Readonly<Record<string, unknown>> = {},
): Promise<void> {
  const attributes = { session: 's1', step, nonce, prompt: 'Please', hold_reason: 'person-needed', ...more };
  const response = await fetch(`${hub.url}/api/states/sensor.slackwater_session`, {
    method: 'POST',
    headers: { authorization: `Bearer ${hub.token}` },
    body: JSON.stringify({ state: 'held', attributes }),
  });
  assert.ok(response.ok);
}

async function atTheTank(behaviour: Behaviour): Promise<Home & { readonly act: ReturnType<typeof simulatedPerson> }> {
  const one = await home();
  const connection = await libraryConnection(one.hub);
  await connection.sendMessagePromise({ type: 'input_button/create', name: 'Slackwater confirm' });
  const act = simulatedPerson({ ...one, name: 'Duty caretaker', seed: 7, behaviour });
  return { ...one, act };
}

const presses = (acts: readonly { readonly act: string }[]): readonly string[] =>
  acts.map(({ act }) => act).filter((act) => act.startsWith('confirms') || act.startsWith('presses'));

describe('simulated persons', () => {
  test('a helpful one pulls the cord, waits, confirms as a logged-in user, and later plugs in', async () => {
    const { hub, system, act } = await atTheTank('helpful');
    assert.match(act.label, /simulated person/);
    await ask(hub, 'unplug:skimmer', 'n1');
    await system.play(20_000);
    assert.equal(hub.plug('skimmer').pluggedIn, false);
    assert.deepEqual(
      act.acts.map((one) => one.act),
      ['pulls the cord of skimmer', 'confirms unplug'],
    );
    const [pulled, pressed] = act.acts;
    assert.ok((pressed?.at ?? 0) - (pulled?.at ?? 0) >= 3_000, 'at least three seconds apart');
    assert.equal(hub.state('input_button.slackwater_confirm')?.context.userId, act.person.userId);
    await ask(hub, 'plug-in:skimmer', 'n2');
    await system.play(20_000);
    assert.equal(hub.plug('skimmer').pluggedIn, true);
    assert.deepEqual(presses(act.acts), ['confirms unplug', 'confirms plug-in']);
  });

  test('one prompt is answered once, and trouble is not pressed away', async () => {
    const { hub, system, act } = await atTheTank('helpful');
    await ask(hub, 'unplug:skimmer', 'n1');
    await ask(hub, 'unplug:skimmer', 'n1', { prompt: 'Please do' });
    await system.play(20_000);
    assert.equal(presses(act.acts).length, 1);
    await ask(hub, 'off:skimmer', 'n2', { hold_reason: 'not-proven' });
    await system.play(120_000);
    assert.equal(presses(act.acts).length, 1);
  });

  test('where the same question still stands, a helpful one presses again, but not for ever', async () => {
    const { hub, system, act } = await atTheTank('helpful');
    await ask(hub, 'unplug:skimmer', 'n1');
    await system.play(60_000);
    assert.equal(presses(act.acts).length, 2);
    await system.play(600_000, 5_000);
    assert.equal(presses(act.acts).length, 5);
    assert.equal(act.acts.filter((one) => one.act.startsWith('pulls')).length, 1, 'the cord is pulled once');
  });

  test('a silent one does nothing', async () => {
    const { hub, system, act } = await atTheTank('silent');
    await ask(hub, 'unplug:skimmer', 'n1');
    await system.play(60_000);
    assert.deepEqual(act.acts, []);
    assert.equal(hub.plug('skimmer').pluggedIn, true);
  });

  test('a hasty one presses within the first two seconds, before having done anything', async () => {
    const { hub, system, act } = await atTheTank('too-early');
    await ask(hub, 'unplug:skimmer', 'n1');
    await system.play(1_500, 100);
    assert.deepEqual(presses(act.acts), ['presses too early']);
    assert.equal(hub.plug('skimmer').pluggedIn, true);
  });

  test('one at the wrong cord says it was done while the right device still draws', async () => {
    const { hub, system, act } = await atTheTank('wrong-cord');
    await ask(hub, 'unplug:skimmer', 'n1');
    await system.play(20_000);
    assert.equal(hub.plug('skimmer').pluggedIn, true);
    assert.equal(hub.plug('circulation_right').pluggedIn, false);
    assert.deepEqual(presses(act.acts), ['confirms unplug']);
  });

  test('work on a pump takes its scale off', async () => {
    const { hub, system } = await atTheTank('helpful');
    const before = hub.tank().cleanedAt.skimmer ?? 0;
    await ask(hub, 'unplug:skimmer', 'n1');
    await system.play(20_000);
    await ask(hub, 'hands-on:clean', 'n2');
    await system.play(120_000);
    assert.ok((hub.tank().cleanedAt.skimmer ?? 0) > before);
  });
});

describe('the demo home', () => {
  test('its configuration is accepted and names entities and persons that are there', async () => {
    const demo = await startDemoHome({ seed: 4, system: handClock(), historyDays: 1 });
    after(() => demo.hub.close());
    const { config } = loadConfig(demo.tankYaml, 'demo-tank.yaml');
    assert.equal(config.hub.url, demo.hub.url);
    const { equipment, sensors, counters, people, parts } = config.tank;
    const entities = [
      ...equipment.flatMap((one) => [one.switchEntity, one.powerEntity]),
      ...equipment.map(({ driver }) => ('entity' in driver ? driver.entity : undefined)),
      ...sensors.map(({ entity }) => entity),
      ...counters.map(({ source }) => source.entity),
    ].filter((entity) => entity !== undefined);
    for (const entity of entities) assert.ok(demo.hub.state(entity), `${entity} is in the hub`);
    assert.equal(equipment.filter(({ switchEntity }) => switchEntity !== undefined).length, PLUG_KEYS.length);
    assert.deepEqual(
      people.map(({ hubUserId }) => hubUserId),
      demo.hub.persons.map(({ userId }) => userId),
    );
    assert.ok(people.every(({ name }) => name.includes('simulated person')));
    assert.equal(parts.length, 17);
  });

  test('its configuration carries no secret', () => {
    const text = readFileSync(new URL('../../../src/sim/demo-tank.yaml', import.meta.url), 'utf8');
    assert.match(text, /token: \{ env: SLACKWATER_HUB_TOKEN \}/);
  });
});
