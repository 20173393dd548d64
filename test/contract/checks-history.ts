import assert from 'node:assert/strict';
import type { EntityId } from '../../src/model/index.ts';
import type { Observation } from '../../src/observe/index.ts';
import type { HistoryRequest } from '../../src/ports/index.ts';
import { eventually } from '../support/eventually.ts';
import { historyOf, postState, restState } from '../support/hub-talk.ts';
import type { Bench } from './bench.ts';
import type { Check } from './check.ts';

async function read({ shared }: Bench, request: HistoryRequest): Promise<Observation[]> {
  const rows: Observation[] = [];
  for await (const batch of shared.hub.history(request)) rows.push(...batch);
  return rows;
}

const pairs = (rows: readonly Observation[]): (readonly [EntityId, number, number | null])[] =>
  rows.map((row) => [row.entity, row.at, row.value] as const);

/** Posts the values one after the other and gives the moments the hub wrote them at. */
async function feed(bench: Bench, entity: EntityId, values: readonly string[]): Promise<readonly number[]> {
  const { home } = bench;
  const times: number[] = [];
  for (const [index, value] of values.entries()) {
    await postState(home, entity, value, { unit_of_measurement: 'L', note: index });
    const { last_changed } = await restState(home, entity);
    times.push(Date.parse(last_changed));
    await eventually('the next millisecond', () => home.system.clock.now() > (times.at(-1) ?? 0) + 1);
  }
  return times;
}

export const historyChecks: readonly Check[] = [
  {
    name: 'history gives the same moments and values as the live stream did, newest included',
    async run(bench) {
      const { shared, home, meter } = bench;
      const from = shared.seen.observations.length;
      const times = await feed(bench, meter, ['1', '2', 'unavailable', '3', '3.5', '4']);
      await eventually('all live', () => shared.seen.observations.slice(from).length >= times.length);
      const live = shared.seen.observations.slice(from).filter((one) => one.entity === meter);
      const rows = await read(bench, { entities: [meter], from: (times[0] ?? 0) - 1, to: home.system.clock.now() });
      const wanted = pairs(live);
      assert.deepEqual(pairs(rows).slice(-wanted.length), wanted);
      assert.ok(rows.every((row) => row.origin === 'history'));
      assert.equal(rows.at(-1)?.unit, 'L');
    },
  },
  {
    name: 'history agrees with what the hub itself says of the same entity',
    async run(bench) {
      const { home, client, meter } = bench;
      const from = home.system.clock.now();
      const times = await feed(bench, meter, ['10', '11', '12']);
      const to = home.system.clock.now();
      const own = await client();
      const truth = await eventually('the hub to have written all', async () => {
        const rows = (await historyOf(own, [meter], from, to)).get(meter) ?? [];
        return rows.filter((row) => row.atMs > from).length >= times.length ? rows : undefined;
      });
      const wanted = truth.filter((row) => row.atMs > from).map((row) => [Math.floor(row.atMs), Number(row.state)]);
      const rows = await read(bench, { entities: [meter], from, to });
      assert.deepEqual(
        rows.filter((row) => row.at > from).map((row) => [row.at, row.value]),
        wanted,
      );
      own.close();
    },
  },
  {
    name: 'what held at the beginning is given as the state then, and dates no change',
    async run(bench) {
      const { meter } = bench;
      const times = await feed(bench, meter, ['20', '21', '22']);
      const [, second = 0, third = 0] = times;
      const from = second + 1;
      const rows = await read(bench, { entities: [meter], from, to: third });
      assert.deepEqual(
        rows.map((row) => [row.at, row.value]),
        [
          [from, 21],
          [third, 22],
        ],
      );
    },
  },
  {
    name: 'a row exactly on a bound is neither lost nor given twice',
    async run(bench) {
      const { meter } = bench;
      const times = await feed(bench, meter, ['30', '31', '32', '33']);
      const [first = 0, second = 0, third = 0, last = 0] = times;
      const whole = await read(bench, { entities: [meter], from: first, to: last });
      const left = await read(bench, { entities: [meter], from: first, to: second });
      const middle = await read(bench, { entities: [meter], from: second, to: third });
      const right = await read(bench, { entities: [meter], from: third, to: last });
      const keys = (rows: readonly Observation[]) => rows.map((row) => `${row.at} ${row.value}`);
      assert.deepEqual(keys(whole), [`${first} 30`, `${second} 31`, `${third} 32`, `${last} 33`]);
      assert.deepEqual([...new Set([...keys(left), ...keys(middle), ...keys(right)])], keys(whole));
    },
  },
  {
    name: 'several entities come merged by time, each moment of each once',
    async run(bench) {
      const { home, meter, probe } = bench;
      const from = home.system.clock.now();
      await feed(bench, meter, ['40', '41']);
      await feed(bench, probe, ['50', '51']);
      await feed(bench, meter, ['42']);
      const rows = (await read(bench, { entities: [probe, meter], from, to: home.system.clock.now() })).filter(
        (row) => row.at > from,
      );
      assert.deepEqual(
        rows.map((row) => row.value),
        [40, 41, 50, 51, 42],
      );
      assert.equal(new Set(rows.map((row) => `${row.entity} ${row.at}`)).size, rows.length);
    },
  },
  {
    name: 'updates of attributes alone are not rows of history',
    async run(bench) {
      const { home, meter } = bench;
      const from = home.system.clock.now();
      await postState(home, meter, '60', { note: 'a' });
      await postState(home, meter, '60', { note: 'b' });
      await postState(home, meter, '61', { note: 'b' });
      await eventually('the live value', () => bench.shared.seen.observations.at(-1)?.value === 61);
      const rows = await read(bench, { entities: [meter], from, to: home.system.clock.now() });
      assert.deepEqual(
        rows.filter((row) => row.at > from).map((row) => row.value),
        [60, 61],
      );
    },
  },
];
