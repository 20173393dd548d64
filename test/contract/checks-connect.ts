import assert from 'node:assert/strict';
import { eventually } from '../support/eventually.ts';
import { HubError } from '../support/hub-client.ts';
import type { Check } from './check.ts';

export const connectChecks: readonly Check[] = [
  {
    name: 'a start resolves once the hub runs, with its version and zone, and tells "up" once before anything else',
    async run({ shared, home }) {
      const info = shared.hub.info();
      assert.equal(info?.version, home.version);
      assert.equal(info?.timeZone, home.timeZone);
      assert.deepEqual(
        shared.seen.links.map((link) => [link.up, link.up && link.hubRestarted]),
        [[true, false]],
      );
      const observed = new Set(shared.seen.observations.map((one) => one.entity));
      assert.ok(observed.has(home.plug.switch) && observed.has(home.plug.power), 'present states follow');
    },
  },
  {
    name: 'the clocks of a hub on the same machine are found to agree within a second',
    async run({ shared }) {
      const skewMs = shared.hub.info()?.clockSkewMs ?? Number.NaN;
      assert.ok(Math.abs(skewMs) < 1_000, `skew ${skewMs} ms`);
    },
  },
  {
    name: 'a refused token is said in one line and never tried again',
    async run({ edge, proxy }) {
      const refused = edge({ token: 'not-the-token' });
      const before = proxy.upgrades();
      await assert.rejects(refused.start(), { code: 'SW-HUB-002' });
      assert.equal(refused.seen.refusals.length, 1);
      assert.deepEqual(
        refused.seen.logged.filter((line) => line.includes('SW-HUB-002')).length,
        1,
        refused.seen.logged.join('\n'),
      );
      assert.equal(refused.seen.links.length, 0);
      // A working connection made afterwards is the only other one: no second try slipped in.
      const working = edge();
      await working.start();
      assert.equal(proxy.upgrades() - before, 2);
      await working.hub.stop();
    },
  },
  {
    name: 'an entity the hub does not have is a gap, not off',
    async run({ edge, home }) {
      const missing = 'switch.contract_not_there';
      const entities = { observe: [missing, home.plug.switch], readings: [missing], commandable: [], drivers: [] };
      const other = edge({ entities });
      await other.start();
      const first = other.seen.observations.find((one) => one.entity === missing);
      assert.equal(first?.value, null);
      assert.equal(other.seen.readings.find((one) => one.entity === missing)?.value, null);
      await other.hub.stop();
    },
  },
  {
    name: 'persons of the hub are known by name',
    async run({ edge, person }) {
      const other = edge();
      await other.start();
      assert.equal(other.hub.personName(person.userId), 'Evening caretaker');
      assert.equal(other.hub.personName('nobody'), null);
      await other.hub.stop();
    },
  },
  {
    name: 'a hub that is not there is waited for, and said once',
    async run({ edge, proxy, shared }) {
      proxy.refuse(true);
      // Else the upgrade would go out on a connection that is still open.
      proxy.cut();
      const patient = edge();
      const starting = patient.start();
      await eventually('several tries', () => patient.seen.logged.length > 0);
      proxy.refuse(false);
      await starting;
      const lines = patient.seen.logged.filter((line) => line.includes('cannot be reached'));
      assert.equal(lines.length, 1, patient.seen.logged.join('\n'));
      await patient.hub.stop();
      await eventually('the shared link to be back', () => shared.seen.links.at(-1)?.up === true);
    },
  },
  {
    name: 'the hub under test does refuse what it should, so that the checks mean something',
    async run({ asPerson }) {
      const person = await asPerson();
      await assert.rejects(person.call({ type: 'config/auth/list' }), HubError);
      await assert.rejects(person.call({ type: 'contract/no_such_command' }), { code: 'unknown_command' });
      person.close();
    },
  },
];
