import assert from 'node:assert/strict';
import type { HourStatistic, Observation } from '../../src/observe/index.ts';
import type { HistoryRequest } from '../../src/ports/index.ts';
import { DAY_MS, HOUR_MS, SECOND_MS } from '../../src/units/index.ts';
import { eventually } from '../support/eventually.ts';
import type { HubClient } from '../support/hub-client.ts';
import { callService, historyOf, postState, restState } from '../support/hub-talk.ts';
import type { Bench } from './bench.ts';
import type { Check } from './check.ts';

async function hoursOf({ shared }: Bench, request: HistoryRequest): Promise<HourStatistic[]> {
  const hours: HourStatistic[] = [];
  for await (const batch of shared.hub.statistics(request)) hours.push(...batch);
  return hours;
}

async function rowsOf({ shared }: Bench, request: HistoryRequest): Promise<Observation[]> {
  const rows: Observation[] = [];
  for await (const batch of shared.hub.history(request)) rows.push(...batch);
  return rows;
}

/** Brings hours into the hub's long-term statistics by its own command. */
async function importHours(
  client: HubClient,
  id: string,
  unit: string,
  stats: readonly { readonly start: number; readonly [field: string]: number }[],
): Promise<void> {
  const isTotal = stats[0]?.['state'] !== undefined;
  await client.call({
    type: 'recorder/import_statistics',
    metadata: {
      statistic_id: id,
      source: 'recorder',
      name: null,
      unit_of_measurement: unit,
      has_sum: isTotal,
      has_mean: !isTotal,
    },
    stats: stats.map((row) => ({ ...row, start: new Date(row.start).toISOString() })),
  });
}

/** The hub purges in the background. */
async function purge(bench: Bench, client: HubClient, entity: string, since: number): Promise<void> {
  await callService(client, 'recorder.purge', undefined, { keep_days: 0 });
  await eventually('the hub to have purged', async () => {
    const rows = await historyOf(client, [entity], since, bench.home.system.clock.now());
    return (rows.get(entity) ?? []).length === 0 ? true : undefined;
  });
}

export const pastChecks: readonly Check[] = [
  {
    name: 'an entity the recorder has nothing of, or that never was, gives no rows',
    async run(bench) {
      const now = bench.home.system.clock.now();
      const entities = ['sensor.contract_never_was', bench.meter];
      const rows = await rowsOf(bench, { entities, from: now - 30 * DAY_MS, to: now - 20 * DAY_MS });
      assert.deepEqual(rows, []);
    },
  },
  {
    name: 'a reading that is called off asks nothing more',
    async run(bench) {
      const now = bench.home.system.clock.now();
      const off = new AbortController();
      off.abort();
      const request = { entities: [bench.meter], from: now - 30 * DAY_MS, to: now, signal: off.signal };
      assert.deepEqual(await rowsOf(bench, request), []);
      assert.deepEqual(await hoursOf(bench, request), []);
    },
  },
  {
    name: 'hours of the long-term statistics come as the hub keeps them, bounds to the hour, one micro sign',
    async run(bench) {
      const client = await bench.client();
      const first = Math.floor(bench.home.system.clock.now() / HOUR_MS) * HOUR_MS - 400 * DAY_MS;
      const at = (index: number): number => first + index * HOUR_MS;
      const water = [0, 1, 2, 4].map((index) => ({ start: at(index), state: 700 + index, sum: index }));
      const salts = [0, 1].map((index) => ({ start: at(index), mean: 5 + index, min: 4, max: 8 }));
      await importHours(client, bench.meter, 'L', water);
      await importHours(client, 'sensor.contract_conductivity', '\u00b5S/cm', salts);
      const entities = ['sensor.contract_conductivity', 'sensor.contract_never_was', bench.meter];
      const whole = await eventually('the hub to have taken them', async () => {
        const hours = await hoursOf(bench, { entities, from: at(-24), to: at(24) });
        return hours.length === 6 ? hours : undefined;
      });
      const of = (entity: string) => whole.filter((hour) => hour.entity === entity);
      assert.deepEqual(
        of(bench.meter).map((hour) => [hour.from, hour.to, hour.state, hour.sum, hour.unit]),
        water.map(({ start, state, sum }) => [start, start + HOUR_MS, state, sum, 'L']),
      );
      assert.deepEqual(
        of('sensor.contract_conductivity').map((hour) => [hour.from, hour.min, hour.mean, hour.max, hour.unit]),
        salts.map(({ start, mean, min, max }) => [start, min, mean, max, '\u03bcS/cm']),
      );
      const part = await hoursOf(bench, { entities: [bench.meter], from: at(1), to: at(4) });
      assert.deepEqual(
        part.map((hour) => hour.state),
        [701, 702],
      );
      client.close();
    },
  },
  {
    name: 'what the hub has purged is gone, of an unchanged entity too, and so is its reach; statistics stay',
    async run(bench) {
      const { home, meter, shared } = bench;
      const client = await bench.client();
      const began = home.system.clock.now();
      await postState(home, meter, '800', { unit_of_measurement: 'L' });
      await eventually('the row', async () => {
        const rows = await rowsOf(bench, { entities: [meter], from: began, to: home.system.clock.now() });
        return rows.some((row) => row.value === 800) ? true : undefined;
      });
      const before = await shared.hub.reach([meter, home.plug.switch]);
      assert.notEqual(before.bridgeableMs, null);
      assert.ok(before.hourly.includes(meter));
      await purge(bench, client, meter, began);
      const { state } = await restState(home, meter);
      assert.equal(state, '800');
      assert.deepEqual(await rowsOf(bench, { entities: [meter], from: began, to: home.system.clock.now() }), []);
      assert.equal((await shared.hub.reach([meter])).bridgeableMs, null);
      const from = home.system.clock.now();
      await postState(home, meter, '801', { unit_of_measurement: 'L' });
      const rows = await eventually('the first new row', async () => {
        const found = await rowsOf(bench, { entities: [meter], from: began, to: home.system.clock.now() });
        return found.length > 0 ? found : undefined;
      });
      assert.deepEqual(
        rows.map((row) => row.value),
        [801],
      );
      // What held at the beginning is not made up from what came later.
      assert.ok((rows[0]?.at ?? 0) >= from - SECOND_MS);
      const after = await shared.hub.reach([meter]);
      assert.ok(after.bridgeableMs !== null && after.bridgeableMs <= home.system.clock.now() - from + SECOND_MS);
      const kept = await hoursOf(bench, { entities: [meter], from: began - 500 * DAY_MS, to: began - 300 * DAY_MS });
      assert.equal(kept.length, 4);
      client.close();
    },
  },
];
