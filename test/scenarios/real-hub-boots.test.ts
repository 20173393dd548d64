// A real hub boots on this machine, its plugs behave and misbehave as told, and what it knows survives a restart. The
// scenarios that run the product on a real hub rest on this one.
import assert from 'node:assert/strict';
import { mkdtemp, readFile, rm } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { after, before, describe, test } from 'node:test';
import { setTimeout as delay } from 'node:timers/promises';
import {
  callService,
  closeChromium,
  createPerson,
  eventually,
  getStates,
  type HubClient,
  historyOf,
  pairPhone,
  photograph,
  press,
  type RealHub,
  restState,
  setFault,
  setSensor,
  startRealHub,
  testHome,
  trueLastReportedMs,
  waitForState,
} from '../support/index.ts';

const home = testHome({
  plugs: [
    { id: 'return_pump', name: 'Return pump', watts: 38.5 },
    { id: 'skimmer', name: 'Skimmer', watts: 21, idleWatts: 0.5, lateS: 1 },
  ],
  sensors: [
    {
      id: 'sump_level',
      name: 'Sump level',
      unit: 'mm',
      value: 210,
      risesWhenOff: { plug: 'return_pump', by: 60 },
    },
    { id: 'product_water', name: 'Product water', unit: 'L', value: 1234.5, stateClass: 'total_increasing' },
  ],
  floats: [{ id: 'sump_high', name: 'Sump high', deviceClass: 'problem' }],
});

const hourMs = 3_600_000;

describe('a real hub for tests', () => {
  let hub: RealHub;
  let client: HubClient;

  before(async () => {
    hub = await startRealHub({ ...home, timeZone: 'Europe/Berlin' });
    client = await hub.connect();
  });

  after(async () => {
    await client?.close();
    await closeChromium();
    await hub?.dispose();
  });

  const stateOf = async (entity: string): Promise<string | undefined> => (await getStates(client)).get(entity)?.state;
  const numberOf = async (entity: string): Promise<number> => Number(await stateOf(entity));

  test('wakes up with its plugs as they were remembered', async () => {
    const config = await client.call<{ version: string; time_zone: string; state: string }>({ type: 'get_config' });
    assert.deepEqual([config.version, config.time_zone, config.state], ['2025.4.4', 'Europe/Berlin', 'RUNNING']);
    assert.equal(await stateOf('switch.return_pump'), 'on');
    assert.equal(await numberOf('sensor.return_pump_power'), 38.5);
    assert.equal(await numberOf('sensor.sump_level'), 210);
    assert.equal(await stateOf('binary_sensor.sump_high'), 'off');
    const power = (await getStates(client)).get('sensor.return_pump_power');
    assert.equal(power?.attributes['unit_of_measurement'], 'W');
    assert.equal(power?.attributes['friendly_name'], 'Return pump power');
  });

  test('switches a plug: watts, water and history follow', async () => {
    const fromMs = Date.now() - hourMs;
    await callService(client, 'switch.turn_off', 'switch.return_pump');
    await waitForState(client, 'switch.return_pump', 'off');
    await waitForState(client, 'sensor.return_pump_power', ({ state }) => Number(state) === 0);
    await waitForState(client, 'sensor.sump_level', ({ state }) => Number(state) === 270);
    const states = await eventually('the recorder to keep the change', async () => {
      const rows = (await historyOf(client, ['switch.return_pump'], fromMs, Date.now() + hourMs)).get(
        'switch.return_pump',
      );
      const kept = rows?.map(({ state }) => state) ?? [];
      return kept.at(-1) === 'off' && kept.includes('on') ? kept : undefined;
    });
    assert.deepEqual(states.slice(-2), ['on', 'off']);
    await callService(client, 'switch.turn_on', 'switch.return_pump');
    await waitForState(client, 'sensor.return_pump_power', ({ state }) => Number(state) === 38.5);
  });

  test('has plugs that misbehave when told', async () => {
    const skimmer = async (): Promise<[string | undefined, number]> => [
      await stateOf('switch.skimmer'),
      await numberOf('sensor.skimmer_power'),
    ];
    const off = (): Promise<void> => callService(client, 'switch.turn_off', 'switch.skimmer');
    const on = async (): Promise<void> => {
      await callService(client, 'switch.turn_on', 'switch.skimmer');
      await eventually('the skimmer to be on', async () => (await skimmer()).join() === 'on,21');
    };

    await setFault(client, 'skimmer', 'echo-off-keeps-watts');
    await off();
    assert.deepEqual(await skimmer(), ['off', 21]);
    await on();

    await setFault(client, 'skimmer', 'refuses');
    await off();
    assert.deepEqual(await skimmer(), ['on', 21]);

    await setFault(client, 'skimmer', 'fails');
    await assert.rejects(off(), { code: 'home_assistant_error' });
    assert.deepEqual(await skimmer(), ['on', 21]);

    await setFault(client, 'skimmer', 'late');
    await off();
    assert.deepEqual(await skimmer(), ['on', 21]);
    await eventually('the late plug to follow', async () => (await skimmer()).join() === 'off,0.5');

    await setFault(client, 'skimmer', 'none');
    await on();
    await setFault(client, 'skimmer', 'watts-frozen');
    await off();
    assert.deepEqual(await skimmer(), ['off', 21]);

    await setFault(client, 'skimmer', 'unavailable');
    await waitForState(client, 'switch.skimmer', 'unavailable');
    await waitForState(client, 'sensor.skimmer_power', 'unavailable');

    await setFault(client, 'skimmer', 'none');
    await on();
  });

  test('lists an old report time after a refresh that changed nothing; a rendered template tells the true one', async () => {
    const entity = 'sensor.return_pump_power';
    const listed = Date.parse((await restState(hub, entity)).last_reported);
    const before = await trueLastReportedMs(client, entity);
    await callService(client, 'homeassistant.update_entity', undefined, { entity_id: [entity] });
    assert.ok((await trueLastReportedMs(client, entity)) > before, 'the refresh is a report');
    const state = await restState(hub, entity);
    assert.equal(Date.parse(state.last_reported), listed, 'the listing was kept from before');
    assert.equal((await getStates(client)).get(entity)?.last_reported, state.last_reported);
  });

  test('knows who pressed a button and who tapped a notification', async () => {
    const second = await createPerson(client, 'Second Hand');
    const theirs = await second.connect();
    try {
      await client.call({ type: 'input_button/create', name: 'Done with it' });
      await press(theirs, 'input_button.done_with_it');
      const button = await waitForState(client, 'input_button.done_with_it', ({ state }) => state !== 'unknown');
      assert.equal(button.context.user_id, second.userId);
      assert.notEqual(second.userId, hub.userId);
    } finally {
      await theirs.close();
    }

    const phone = await pairPhone({ url: hub.url, token: second.token }, 'Second phone', { after });
    await callService(client, phone.service as `${string}.${string}`, undefined, {
      message: 'Sump high',
      title: 'Tank',
    });
    const push = await eventually('the push to arrive', () => phone.pushes[0]);
    assert.deepEqual([push.title, push.message], ['Tank', 'Sump high']);
    const taps: unknown[] = [];
    await client.subscribe({ type: 'subscribe_events', event_type: 'mobile_app_notification_action' }, (event) => {
      taps.push(event);
    });
    await phone.tap('DONE_1');
    const tap = (await eventually('the tap to arrive', () => taps[0])) as {
      readonly data: { readonly action: string };
      readonly context: { readonly user_id: string };
    };
    assert.deepEqual([tap.data.action, tap.context.user_id], ['DONE_1', second.userId]);
  });

  test('shows a number on a dashboard that a person can read', async () => {
    const folder = await mkdtemp(join(tmpdir(), 'slackwater-photo-'));
    try {
      await client.call({
        type: 'lovelace/dashboards/create',
        url_path: 'test-tank',
        title: 'Test tank',
        mode: 'storage',
        icon: 'mdi:fish',
        show_in_sidebar: true,
        require_admin: false,
      });
      const card = { type: 'entities', title: 'Tank', entities: ['switch.return_pump', 'sensor.product_water'] };
      await client.call({
        type: 'lovelace/config/save',
        url_path: 'test-tank',
        config: { views: [{ title: 'Tank', cards: [card] }] },
      });
      const file = join(folder, 'dashboard.png');
      const photo = await photograph({ url: '/test-tank/0', hub, file, waitForText: ['Product water', '1,234.5 L'] });
      assert.match(photo.text, /^Return pump$/m);
      assert.match(photo.text, /^Product water\n1,234\.5 L$/m);
      assert.deepEqual(photo.errors, []);
      const png = await readFile(file);
      assert.equal(png.subarray(1, 4).toString('latin1'), 'PNG');
    } finally {
      await rm(folder, { recursive: true, force: true });
    }
  });

  test('comes back after a clean restart and after a power cut with the same token, states and history', async () => {
    await setSensor(client, 'product_water', 1300);
    await waitForState(client, 'sensor.product_water', ({ state }) => Number(state) === 1300);
    await hub.kill();
    assert.equal(hub.running(), false);
    await client.closed;
    await hub.start();
    client = await hub.connect();
    assert.equal(await stateOf('switch.return_pump'), 'on');
    assert.equal(await numberOf('sensor.product_water'), 1300);

    await client.close();
    await hub.restart();
    client = await hub.connect();
    assert.equal(await numberOf('sensor.product_water'), 1300);
    await eventually('the history from before to be there', async () => {
      const rows = await historyOf(client, ['sensor.product_water'], Date.now() - hourMs, Date.now());
      const values = rows.get('sensor.product_water')?.map(({ state }) => Number(state)) ?? [];
      return values.includes(1234.5) && values.includes(1300);
    });
  });

  test('can be frozen with its socket open, and answers again when thawed', async () => {
    hub.freeze();
    const late = client.call<{ state: string }>({ type: 'get_config' });
    const first = await Promise.race([late.then(() => 'answered'), delay(200, 'silent')]);
    hub.thaw();
    assert.equal(first, 'silent');
    assert.equal((await late).state, 'RUNNING');
  });

  test('refuses a token it did not give', async () => {
    await assert.rejects(hub.connect('not-a-token'), { code: 'auth_invalid' });
  });
});
