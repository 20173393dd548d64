import assert from 'node:assert/strict';
import { eventually } from '../support/eventually.ts';
import { callService, fireEvent, postState, restState } from '../support/hub-talk.ts';
import type { Bench } from './bench.ts';
import type { Check } from './check.ts';

/** Values of the probe that came since `from` entries. */
function probed({ shared, probe }: Bench, from: number): readonly (number | null)[] {
  return shared.seen.observations
    .slice(from)
    .filter((one) => one.entity === probe)
    .map((one) => one.value);
}

export const stateChecks: readonly Check[] = [
  {
    name: 'a change comes with the moment it happened by the hub, and with the person behind it',
    async run({ shared, home, person, asPerson }) {
      const { seen } = shared;
      const from = seen.changes.length;
      const client = await asPerson();
      await callService(client, 'homeassistant.turn_off', home.driver);
      await callService(client, 'homeassistant.turn_on', home.driver);
      const changes = await eventually('both changes', () => {
        const mine = seen.changes.slice(from).filter((change) => change.entity === home.driver);
        return mine.length >= 2 ? mine : undefined;
      });
      assert.deepEqual(
        changes.map((change) => [change.value, change.userId]),
        [
          [0, person.userId],
          [1, person.userId],
        ],
      );
      const truth = await restState(home, home.driver);
      assert.equal(changes[1]?.at, Math.floor(Date.parse(truth.last_changed)));
      assert.notEqual(changes[0]?.contextId, changes[1]?.contextId);
      client.close();
    },
  },
  {
    name: 'an update of attributes alone is no change and moves no date',
    async run(bench) {
      const { shared, home, probe } = bench;
      const from = shared.seen.observations.length;
      await postState(home, probe, '1', { note: 'first' });
      await postState(home, probe, '1', { note: 'second' });
      await postState(home, probe, '2', { note: 'second' });
      await eventually('the last value', () => probed(bench, from).includes(2));
      assert.deepEqual(probed(bench, from), [1, 2]);
    },
  },
  {
    name: 'unknown, unavailable and words are gaps; on, off and numbers are values',
    async run(bench) {
      const { shared, home, probe } = bench;
      const from = shared.seen.observations.length;
      for (const state of ['on', 'unavailable', 'off', 'unknown', '12.5', 'somewhere', '0']) {
        await postState(home, probe, state);
      }
      await eventually('the last value', () => probed(bench, from).length >= 7);
      assert.deepEqual(probed(bench, from), [1, null, 0, null, 12.5, null, 0]);
    },
  },
  {
    name: 'a meter carries its unit',
    async run({ shared, home, meter }) {
      await postState(home, meter, '417.2', { unit_of_measurement: 'L' });
      const seen = await eventually('the meter', () =>
        shared.seen.observations.find((one) => one.entity === meter && one.value === 417.2),
      );
      assert.equal(seen.unit, 'L');
      assert.equal(seen.origin, 'live');
      assert.ok((seen.reportedAt ?? 0) >= seen.at);
    },
  },
  {
    name: 'a removed entity becomes a gap',
    async run({ shared, home, probe }) {
      await postState(home, probe, '5');
      await eventually('the value', () => shared.seen.observations.at(-1)?.value === 5);
      const from = shared.seen.observations.length;
      await fetch(`${home.url}/api/states/${probe}`, {
        method: 'DELETE',
        headers: { authorization: `Bearer ${home.token}` },
      });
      const gone = await eventually('the gap', () =>
        shared.seen.observations.slice(from).find((one) => one.entity === probe),
      );
      assert.equal(gone.value, null);
    },
  },
  {
    name: 'a forced refresh moves the report time of an unchanged value, each time anew',
    async run({ shared, home }) {
      const ask = async () => {
        const [reading] = await shared.hub.refresh([home.plug.switch]);
        assert.ok(reading);
        return reading;
      };
      const first = await ask();
      const second = await ask();
      const third = await ask();
      assert.equal(first.value, 1);
      assert.deepEqual([second.changedAt, third.changedAt], [first.changedAt, first.changedAt]);
      assert.ok(second.reportedAt > first.reportedAt, `${second.reportedAt} after ${first.reportedAt}`);
      assert.ok(third.reportedAt > second.reportedAt, `${third.reportedAt} after ${second.reportedAt}`);
    },
  },
  {
    name: 'an answered notification comes as a press with its action and person; others are left alone',
    async run({ shared, home, person }) {
      const from = shared.seen.presses.length;
      await fireEvent(home, 'mobile_app_notification_action', { action: 'SOMEBODY_ELSE' });
      await fireEvent(home, 'mobile_app_notification_action', { action: 'SW_DONE_abc' });
      const press = await eventually('the answer', () => shared.seen.presses[from]);
      assert.equal(press.kind === 'notification' && press.action, 'SW_DONE_abc');
      assert.equal(press.userId, home.userId);
      assert.notEqual(press.userId, person.userId);
    },
  },
];
