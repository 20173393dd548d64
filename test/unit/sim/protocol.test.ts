import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import {
  callService,
  createConnection,
  createLongLivedTokenAuth,
  ERR_INVALID_AUTH,
  getConfig,
  getServices,
  getStates,
  getUser,
  type HassEntities,
  subscribeEntities,
} from 'home-assistant-js-websocket';
import { eventually } from '../../support/index.ts';
import { entityIn, home, libraryConnection, stateOf, until } from './support.ts';

describe('the simulated hub answers the client library that real hubs are spoken to with', () => {
  test('it lets a right token in and names itself', async () => {
    const { hub } = await home();
    const connection = await libraryConnection(hub);
    assert.equal(connection.haVersion, '2025.4.4');
    assert.equal((await getUser(connection)).id, hub.userId);
    const config = await getConfig(connection);
    assert.equal(config.state, 'RUNNING');
    assert.equal(config.time_zone, 'Europe/London');
    await connection.ping();
  });

  test('it refuses a wrong token for good', async () => {
    const { hub } = await home();
    const auth = createLongLivedTokenAuth(hub.url, 'not-a-token');
    await assert.rejects(createConnection({ auth, setupRetry: 0 }), (error) => error === ERR_INVALID_AUTH);
  });

  test('it shows all twenty plugs and offers the services that switch them', async () => {
    const { hub } = await home();
    const connection = await libraryConnection(hub);
    const states = await getStates(connection);
    assert.equal(states.filter(({ entity_id }) => entity_id.startsWith('switch.')).length, 20);
    const services = await getServices(connection);
    assert.ok(services['switch']?.['turn_off']);
    assert.ok(services['homeassistant']?.['update_entity']);
    assert.ok(services['notify']?.['mobile_app_caretaker']);
  });

  test('a switched plug reaches a client through its entity subscription', async () => {
    const one = await home();
    const connection = await libraryConnection(one.hub);
    let seen: HassEntities | undefined;
    subscribeEntities(connection, (entities) => {
      seen = entities;
    });
    await entityIn(() => seen, 'switch.skimmer', 'on');
    await callService(connection, 'switch', 'turn_off', {}, { entity_id: 'switch.skimmer' });
    await one.system.play(3_000);
    const off = await entityIn(() => seen, 'switch.skimmer', 'off');
    assert.equal(off.context.user_id, one.hub.userId);
    const watts = await eventually('the meter to follow', async () => {
      await one.system.play(1_000);
      const state = Number(seen?.['sensor.skimmer_power']?.state);
      return state < 1 ? state : undefined;
    });
    assert.ok(watts <= 0.6);
  });

  test('a press by a person carries that person, a second one only its new id', async () => {
    const { hub, system } = await home();
    const connection = await libraryConnection(hub);
    await connection.sendMessagePromise({ type: 'input_button/create', name: 'Service day', icon: 'mdi:fish' });
    const frames: Record<string, { '+': { c?: unknown } }>[] = [];
    await connection.subscribeMessage<{ c?: (typeof frames)[number] }>(
      ({ c }) => {
        if (c !== undefined) frames.push(c);
      },
      { type: 'subscribe_entities', entity_ids: ['input_button.service_day'] },
    );
    const [caretaker] = hub.persons;
    assert.ok(caretaker);
    for (const _ of [1, 2]) {
      hub.call('input_button.press', 'input_button.service_day', caretaker.userId);
      system.advance(1_000);
    }
    const contexts = await eventually('both presses', async () =>
      frames.length === 2 ? frames.map((frame) => frame['input_button.service_day']?.['+'].c) : undefined,
    );
    assert.equal((contexts[0] as { user_id: string }).user_id, caretaker.userId);
    assert.equal(typeof contexts[1], 'string', 'the user did not change, so the second context is a bare id');
  });

  test('a call that the plug refuses comes back as the hub’s error', async () => {
    const { hub } = await home({ faults: { skimmer: 'refuses' } });
    const connection = await libraryConnection(hub);
    await assert.rejects(
      callService(connection, 'switch', 'turn_off', {}, { entity_id: 'switch.skimmer' }),
      (error: { code: string }) => error.code === 'home_assistant_error',
    );
    await assert.rejects(
      callService(connection, 'switch', 'no_such_service'),
      (error: { code: string }) => error.code === 'not_found',
    );
    await assert.rejects(
      connection.sendMessagePromise({ type: 'no/such/command' }),
      (error: { code: string }) => error.code === 'unknown_command',
    );
  });

  test('somebody who is not an administrator can press but not make helpers', async () => {
    const { hub } = await home();
    const connection = await libraryConnection(hub, hub.persons[0]?.token);
    await assert.rejects(
      connection.sendMessagePromise({ type: 'input_button/create', name: 'Not mine' }),
      (error: { code: string }) => error.code === 'unauthorized',
    );
    const list = await connection.sendMessagePromise<unknown[]>({ type: 'input_button/list' });
    assert.deepEqual(list, []);
  });

  test('notifications, dashboards and a second helper of the same name', async () => {
    const { hub } = await home();
    const connection = await libraryConnection(hub);
    const send = <T>(message: { type: string; [key: string]: unknown }): Promise<T> =>
      connection.sendMessagePromise<T>(message);
    await callService(connection, 'persistent_notification', 'create', {
      notification_id: 'due_uv',
      title: 'UV lamp',
      message: 'is due',
    });
    const shown = await send<{ notification_id: string }[]>({ type: 'persistent_notification/get' });
    assert.deepEqual(
      shown.map(({ notification_id }) => notification_id),
      ['due_uv'],
    );
    await callService(connection, 'persistent_notification', 'dismiss', { notification_id: 'due_uv' });
    assert.deepEqual(hub.notifications(), []);

    await send({ type: 'lovelace/dashboards/create', url_path: 'reef-service', title: 'Reef', mode: 'storage' });
    await send({ type: 'lovelace/config/save', url_path: 'reef-service', config: { views: [{ title: 'Wear' }] } });
    const config = await send<{ views: unknown[] }>({ type: 'lovelace/config', url_path: 'reef-service' });
    assert.equal(config.views.length, 1);

    await send({ type: 'input_button/create', name: 'Confirm' });
    await send({ type: 'input_button/create', name: 'Confirm' });
    assert.ok(hub.state('input_button.confirm'));
    assert.ok(hub.state('input_button.confirm_2'));
    const registry = await send<{ entity_id: string; unique_id: string }[]>({ type: 'config/entity_registry/list' });
    assert.ok(registry.some(({ entity_id, unique_id }) => entity_id === 'input_button.confirm_2' && unique_id !== ''));
  });
});

describe('a restart of the simulated hub', () => {
  test('posted states are gone, helpers stay, plugs keep their relays', async () => {
    const one = await home();
    const { hub } = one;
    const connection = await libraryConnection(hub);
    await connection.sendMessagePromise({ type: 'input_button/create', name: 'Confirm' });
    await post(hub, 'sensor.slackwater_due', { state: '2', attributes: {} });
    hub.call('switch.turn_off', 'switch.skimmer');
    await until(one, 'the skimmer is off', () => stateOf(hub, 'switch.skimmer').state === 'off');
    const restarted = hub.restart({ downMs: 20_000, startingMs: 5_000 });
    await eventually('the hub to be away', async () => (hub.links() === 0 ? true : undefined));
    await until(one, 'the hub is starting', () => hub.state('switch.skimmer')?.state === 'unavailable');
    await one.system.play(8_000);
    await restarted;
    assert.equal(hub.state('sensor.slackwater_due'), undefined);
    assert.equal(stateOf(hub, 'input_button.confirm').attributes['friendly_name'], 'Confirm');
    assert.equal(stateOf(hub, 'switch.skimmer').state, 'off');
    assert.equal(hub.plug('skimmer').relayClosed, false);
    const again = await libraryConnection(hub);
    assert.equal((await getConfig(again)).state, 'RUNNING');
  });

  test('dropped links are noticed by the client, which comes back by itself', async () => {
    const { hub } = await home();
    const connection = await libraryConnection(hub);
    const lost = new Promise((resolve) => connection.addEventListener('disconnected', resolve));
    const back = new Promise((resolve) => connection.addEventListener('ready', resolve));
    hub.dropLinks();
    await lost;
    await back;
    assert.equal((await getConfig(connection)).state, 'RUNNING');
  });
});

describe('the REST side', () => {
  test('nothing is told without a token', async () => {
    const { hub } = await home();
    for (const path of ['/api/', '/api/states', '/api/config']) {
      assert.equal((await fetch(hub.url + path)).status, 401, path);
    }
  });

  test('a posted state is there with its times; an unchanged one moves the report time only', async () => {
    const { hub, system } = await home();
    const first = await post(hub, 'sensor.probe', { state: '1.5', attributes: { unit_of_measurement: 'h' } });
    assert.equal(first.status, 201);
    system.advance(30_000);
    const second = await post(hub, 'sensor.probe', { state: '1.5', attributes: { unit_of_measurement: 'h' } });
    assert.equal(second.status, 200);
    const shown = (await (await get(hub, '/api/states/sensor.probe')).json()) as Record<string, string>;
    assert.equal(shown['last_changed'], '2027-03-02T10:00:00.000000+00:00');
    assert.equal(shown['last_updated'], '2027-03-02T10:00:00.000000+00:00');
    assert.equal(shown['last_reported'], '2027-03-02T10:00:30.000000+00:00');
    assert.equal((await get(hub, '/api/states/sensor.unknown')).status, 404);
  });

  test('a fired event reaches a subscriber', async () => {
    const { hub } = await home();
    const connection = await libraryConnection(hub);
    const events: unknown[] = [];
    await connection.subscribeEvents((event: { data: unknown }) => {
      events.push(event.data);
    }, 'mobile_app_notification_action');
    await call(hub, '/api/events/mobile_app_notification_action', { action: 'SW_DONE_1' });
    await eventually('the event', async () => (events.length > 0 ? true : undefined));
    assert.deepEqual(events, [{ action: 'SW_DONE_1' }]);
  });
});

type Address = { readonly url: string; readonly token: string };

function get(hub: Address, path: string): Promise<Response> {
  return fetch(hub.url + path, { headers: { authorization: `Bearer ${hub.token}` } });
}

function call(hub: Address, path: string, body: unknown): Promise<Response> {
  return fetch(hub.url + path, {
    method: 'POST',
    headers: { authorization: `Bearer ${hub.token}`, 'content-type': 'application/json' },
    body: JSON.stringify(body),
  });
}

const post = (hub: Address, entity: string, body: unknown): Promise<Response> =>
  call(hub, `/api/states/${entity}`, body);
