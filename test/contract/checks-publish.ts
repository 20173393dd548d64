import assert from 'node:assert/strict';
import type { ButtonDef } from '../../src/ports/index.ts';
import type { Reminder } from '../../src/remind/index.ts';
import { eventually } from '../support/eventually.ts';
import { callService, getStates, postState, press, restState } from '../support/hub-talk.ts';
import type { Bench } from './bench.ts';
import type { Check } from './check.ts';

export const BUTTONS: readonly ButtonDef[] = [
  { button: 'start-pause', name: 'Start the pump pause', icon: 'mdi:play' },
  { button: 'confirm', name: 'Confirm', icon: 'mdi:check' },
];

async function helperCount({ client }: Bench): Promise<number> {
  const own = await client();
  const helpers = await own.call<unknown[]>({ type: 'input_button/list' });
  own.close();
  return helpers.length;
}

async function openNotices({ client }: Bench): Promise<ReadonlyMap<string, string>> {
  const own = await client();
  type Notice = { readonly notification_id: string; readonly message: string };
  const notices = await own.call<Notice[]>({ type: 'persistent_notification/get' });
  own.close();
  return new Map(notices.map((notice) => [notice.notification_id, notice.message]));
}

const reminder: Reminder = {
  key: 'contract:uv-lamp:1:due',
  part: 'uv-lamp',
  life: 1,
  word: 'due',
  title: 'UV lamp is due',
  message: '8,256 of 8,000 h lit',
  token: 'T0kenT0kenT0kenT0kenT0ke',
};

export const publishChecks: readonly Check[] = [
  {
    name: 'published states are there with their attributes, and the same again sends nothing',
    async run({ shared, home, proxy }) {
      const state = {
        entity: 'sensor.contract_lamp_hours',
        state: '8256',
        attributes: { unit_of_measurement: 'h', friendly_name: 'UV lamp' },
      };
      await shared.hub.publish([state]);
      const shown = await restState(home, state.entity);
      assert.equal(shown.state, '8256');
      assert.deepEqual(shown.attributes, state.attributes);
      const sent = proxy.sentBytes();
      await shared.hub.publish([state]);
      assert.equal(proxy.sentBytes(), sent);
      await shared.hub.publish([{ ...state, state: '8257' }]);
      assert.equal((await restState(home, state.entity)).state, '8257');
    },
  },
  {
    name: 'many states published at once all arrive, the newest of each',
    async run({ shared, client }) {
      const entities = Array.from({ length: 40 }, (_, index) => `sensor.contract_many_${index}`);
      const publish = (state: string) =>
        shared.hub.publish(entities.map((entity) => ({ entity, state, attributes: {} })));
      await Promise.all([publish('1'), publish('2'), publish('3')]);
      const own = await client();
      const states = await getStates(own);
      assert.deepEqual([...new Set(entities.map((entity) => states.get(entity)?.state))], ['3']);
      own.close();
    },
  },
  {
    name: 'buttons are made once, whoever connects and how often',
    async run(bench) {
      const { shared, edge } = bench;
      const first = await shared.hub.ensureButtons(BUTTONS);
      const count = await helperCount(bench);
      const again = await shared.hub.ensureButtons(BUTTONS);
      const other = edge();
      await other.start();
      const later = await other.hub.ensureButtons(BUTTONS);
      assert.deepEqual([...again], [...first]);
      assert.deepEqual([...later], [...first]);
      assert.equal(await helperCount(bench), count);
      assert.deepEqual([...first.keys()], ['start-pause', 'confirm']);
      await other.hub.stop();
    },
  },
  {
    name: 'a button whose name is taken gets the entity the hub gives it',
    async run({ edge, home }) {
      await postState(home, 'input_button.contract_taken', 'unknown');
      const other = edge();
      await other.start();
      const made = await other.hub.ensureButtons([{ button: 'taken', name: 'Taken', icon: 'mdi:hand' }]);
      assert.equal(made.get('taken'), 'input_button.contract_taken_2');
      await other.hub.stop();
    },
  },
  {
    name: 'a press tells who pressed, also the second one; a machine’s press names nobody',
    async run({ shared, home, person, asPerson }) {
      const entities = await shared.hub.ensureButtons(BUTTONS);
      const entity = entities.get('confirm') ?? '';
      const from = shared.seen.presses.length;
      const client = await asPerson();
      const came = (count: number) =>
        eventually(`press ${count}`, () => {
          const presses = shared.seen.presses.slice(from);
          return presses.length >= count ? presses : undefined;
        });
      await press(client, entity);
      await came(1);
      await press(client, entity);
      await came(2);
      await home.pressAsMachine(entity);
      await came(3);
      await press(client, entity);
      const presses = await came(4);
      assert.deepEqual(
        presses.map((one) => [one.kind === 'button' && one.button, one.userId]),
        [
          ['confirm', person.userId],
          ['confirm', person.userId],
          ['confirm', null],
          ['confirm', person.userId],
        ],
      );
      client.close();
    },
  },
  {
    name: 'a field is made once and tells what was typed by whom; emptied, the same can be typed again',
    async run({ shared, edge, home, person, asPerson }) {
      const defs = [...BUTTONS, { button: 'value', name: 'Contract value', icon: 'mdi:form-textbox', isField: true }];
      const entity = (await shared.hub.ensureButtons(defs)).get('value') ?? '';
      assert.match(entity, /^input_text\./);
      assert.equal((await shared.hub.ensureButtons(defs)).get('value'), entity);
      const from = shared.seen.presses.length;
      const client = await asPerson();
      const typed = (count: number) =>
        eventually(`what was typed, ${count} times`, () => {
          const all = shared.seen.presses.slice(from).filter((one) => one.kind === 'typed');
          return all.length >= count ? all : undefined;
        });
      await callService(client, 'input_text.set_value', entity, { value: '35,2' });
      await typed(1);
      await shared.hub.emptyField?.('value');
      await typed(2);
      await callService(client, 'input_text.set_value', entity, { value: '35,2' });
      const all = await typed(3);
      assert.deepEqual(
        all.map(({ field, text, userId }) => [field, text, userId]),
        [
          ['value', '35,2', person.userId],
          ['value', '', home.userId],
          ['value', '35,2', person.userId],
        ],
      );
      // What stands there is no news to a service that starts now.
      const other = edge();
      await other.start();
      await other.hub.ensureButtons(defs);
      await press(client, (await other.hub.ensureButtons(defs)).get('confirm') ?? '');
      await eventually('the press', () => other.seen.presses.length > 0);
      assert.deepEqual(
        other.seen.presses.map(({ kind }) => kind),
        ['button'],
      );
      await other.hub.stop();
      client.close();
    },
  },
  {
    name: 'a press is told once, also where another connection follows the same buttons',
    async run({ shared, edge, asPerson }) {
      const other = edge();
      await other.start();
      const entities = await other.hub.ensureButtons(BUTTONS);
      // The last press lies only moments back and must not be taken for a new one.
      const from = shared.seen.presses.length;
      const client = await asPerson();
      await press(client, entities.get('start-pause') ?? '');
      await eventually('both to see it', () => shared.seen.presses.length > from && other.seen.presses.length > 0);
      assert.equal(other.seen.presses.length, 1);
      assert.equal(shared.seen.presses.length, from + 1);
      client.close();
      await other.hub.stop();
    },
  },
  {
    name: 'a reminder is shown once, missing services are named, and clearing takes it away',
    async run(bench) {
      const { shared, home } = bench;
      const services = [home.notifyService, 'notify.contract_lost_phone'];
      const before = home.sentMessages()?.length ?? 0;
      const first = await shared.hub.notify(reminder, services);
      assert.deepEqual(first, { existing: false, missingServices: ['notify.contract_lost_phone'] });
      assert.equal((await openNotices(bench)).get(reminder.key), reminder.message);
      const second = await shared.hub.notify(reminder, services);
      assert.equal(second.existing, true);
      const sent = home.sentMessages()?.slice(before);
      if (sent !== undefined) {
        assert.equal(sent.length, 1);
        assert.match(JSON.stringify(sent[0]), /SW_DONE_T0ken.*SW_LATER_T0ken/);
      }
      await shared.hub.notify({ ...reminder, word: 'overdue', message: 'overdue by 11 days' }, services);
      assert.equal((await openNotices(bench)).get(reminder.key), 'overdue by 11 days', 'other words replace it');
      await shared.hub.clearNotification(reminder.key, services);
      assert.equal((await openNotices(bench)).has(reminder.key), false);
    },
  },
  {
    name: 'an alarm is shown in the hub even where the phone is gone, and the same key replaces it',
    async run(bench) {
      const { shared } = bench;
      const alarm = { key: 'contract:alarm', title: 'Alarm', message: 'The pump came on by itself' };
      await shared.hub.tell(alarm, ['notify.contract_lost_phone']);
      await shared.hub.tell({ ...alarm, message: 'It is off again' }, []);
      assert.equal((await openNotices(bench)).get(alarm.key), 'It is off again');
      await shared.hub.clearNotification(alarm.key, []);
    },
  },
  {
    name: 'a dashboard is saved, read back, and saved again in its place',
    async run({ shared, client }) {
      const save = (title: string) =>
        shared.hub.installDashboard('contract-tank', 'Contract tank', { views: [{ title, cards: [] }] });
      await save('First');
      await save('Second');
      const own = await client();
      const config = await own.call<{ views: { title: string }[] }>({
        type: 'lovelace/config',
        url_path: 'contract-tank',
        force: false,
      });
      assert.deepEqual(
        config.views.map((view) => view.title),
        ['Second'],
      );
      const list = await own.call<{ url_path: string }[]>({ type: 'lovelace/dashboards/list' });
      assert.equal(list.filter((dashboard) => dashboard.url_path === 'contract-tank').length, 1);
      own.close();
    },
  },
];
