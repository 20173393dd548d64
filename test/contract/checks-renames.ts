import assert from 'node:assert/strict';
import type { EntityId } from '../../src/model/index.ts';
import type { Observation } from '../../src/observe/index.ts';
import { eventually } from '../support/eventually.ts';
import { waitForState } from '../support/hub-talk.ts';
import type { Bench } from './bench.ts';
import type { Check } from './check.ts';

const renamed = (entity: EntityId): EntityId => `${entity}_moved_away`;

async function rename(bench: Bench, from: EntityId, to: EntityId): Promise<void> {
  const client = await bench.client();
  await client.call({ type: 'config/entity_registry/update', entity_id: from, new_entity_id: to });
  client.close();
}

const valuesOf = (rows: readonly Observation[], entity: EntityId): readonly (number | null)[] =>
  rows.filter((row) => row.entity === entity).map((row) => row.value);

/** Values without those that only say the same again. */
const turns = (values: readonly (number | null)[]): readonly (number | null)[] =>
  values.filter((value, index) => index === 0 || value !== values[index - 1]);

const command = ({ shared, home }: Bench, turn: 'on' | 'off') =>
  shared.hub.command({ session: 'rename', step: turn, equipment: 'other', entity: home.otherPlug.switch, turn });

export const renameChecks: readonly Check[] = [
  {
    name: 'a rename is followed while it happens: no gap, the same name for us, commands and readings go along',
    async run(bench) {
      const { shared, home } = bench;
      const { switch: plug } = home.otherPlug;
      const client = await bench.client();
      const [links, from, began] = [shared.seen.links.length, shared.seen.observations.length, home.system.clock.now()];
      await rename(bench, plug, renamed(plug));
      await eventually('the warning', () => shared.seen.logged.find((line) => line.includes(renamed(plug))));
      const off = await eventually('the plug under its new name', async () => {
        const answer = await command(bench, 'off');
        return answer.outcome === 'confirmed' ? answer : undefined;
      });
      assert.equal(off.outcome, 'confirmed');
      await waitForState(client, renamed(plug), 'off');
      await eventually('off to be seen', () => valuesOf(shared.seen.observations.slice(from), plug).at(-1) === 0);
      const [reading] = await shared.hub.refresh([plug]);
      assert.deepEqual([reading?.entity, reading?.value], [plug, 0]);
      await command(bench, 'on');
      await eventually('on to be seen', () => valuesOf(shared.seen.observations.slice(from), plug).at(-1) === 1);
      assert.deepEqual(turns(valuesOf(shared.seen.observations.slice(from), plug)), [1, 0, 1]);
      assert.ok(shared.seen.observations.slice(from).every((one) => one.entity !== renamed(plug)));
      assert.equal(shared.seen.links.length, links);
      assert.ok(shared.seen.logged.some((line) => line.startsWith('SW-HUB-015') && line.includes(renamed(plug))));
      const rows: Observation[] = [];
      const request = { entities: [plug], from: began, to: home.system.clock.now() };
      for await (const batch of shared.hub.history(request)) rows.push(...batch);
      assert.deepEqual(turns(valuesOf(rows, plug)), [1, 0, 1]);
      client.close();
    },
  },
  {
    name: 'a service that starts after a rename knows the device by its registry id, and without one it says so',
    async run(bench) {
      const { home, meter } = bench;
      const { power } = home.otherPlug;
      let kept: string | null = null;
      const sources = {
        read: () => kept,
        write: (text: string) => {
          kept = text;
        },
      };
      const first = bench.edge({ sources });
      await first.start();
      await first.hub.stop();
      assert.notEqual(kept, null);
      await rename(bench, power, renamed(power));
      const second = bench.edge({ sources });
      await second.start();
      const seen = await eventually('its watts', () =>
        second.seen.observations.find((one) => one.entity === power && one.value !== null),
      );
      assert.equal(seen.unit, 'W');
      assert.ok(second.seen.logged.some((line) => line.startsWith('SW-HUB-015') && line.includes(renamed(power))));
      assert.ok(second.seen.logged.some((line) => line.includes('no unique id') && line.includes(meter)));
      assert.ok(second.seen.logged.every((line) => !line.startsWith('SW-HUB-009') || !line.includes(power)));
      await second.hub.stop();
    },
  },
  {
    name: 'named back, everything is as it was',
    async run(bench) {
      const { shared, home } = bench;
      const { switch: plug, power } = home.otherPlug;
      await rename(bench, renamed(plug), plug);
      await rename(bench, renamed(power), power);
      const client = await bench.client();
      await waitForState(client, plug, 'on');
      const answer = await eventually('the plug under its old name', async () => {
        const said = await command(bench, 'on');
        return said.outcome === 'confirmed' ? said : undefined;
      });
      assert.equal(answer.outcome, 'confirmed');
      // The two names are followed one after the other, the meter's second.
      const reading = await eventually('its watts under the old name', async () => {
        const [seen] = await shared.hub.refresh([power]);
        return seen !== undefined && seen.value !== null && seen;
      });
      assert.equal(reading.entity, power);
      client.close();
    },
  },
];
