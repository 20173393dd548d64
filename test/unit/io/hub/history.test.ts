import assert from 'node:assert/strict';
import { test } from 'node:test';
import fc from 'fast-check';
import { instantOfSeconds, type Observation } from '../../../../src/observe/index.ts';
import type { HistoryRequest } from '../../../../src/ports/index.ts';
import {
  type Answer,
  type FakeHub,
  fakeHub,
  inTime,
  type Message,
  PUMP,
  type Rig,
  START_S,
  soon,
  upRig,
} from './fake-hub.ts';

type Row = { readonly s: string | null; readonly lu: number; readonly lc?: number };
type Recorded = Map<string, Row[]>;

const METER = 'sensor.litres';
const HOUR_S = 3_600;
const DAY_MS = 86_400_000;

/** Answers as the hub's recorder does: bounds are strict, the start row carries the query's start as its time. */
function recorder(rows: Recorded): (message: Message) => Answer {
  return (message) => {
    const [start, end] = [message['start_time'], message['end_time']].map((text) => Date.parse(String(text)) / 1000);
    const answer: Record<string, Row[]> = {};
    for (const entity of message['entity_ids'] as string[]) {
      const all = rows.get(entity) ?? [];
      const before = all.findLast((row) => row.lu < (start ?? 0));
      const found = all.filter((row) => row.lu > (start ?? 0) && row.lu < (end ?? 0));
      const first = message['include_start_time_state'] === true && before ? [{ s: before.s, lu: start ?? 0 }] : [];
      if (first.length + found.length > 0) answer[entity] = [...first, ...found];
    }
    return { result: answer };
  };
}

const QUERY = 'history/history_during_period';

async function rigWith(fake: FakeHub, rows: Recorded, options = {}): Promise<Rig> {
  fake.on.set(QUERY, recorder(rows));
  fake.states.set(PUMP, { s: 'on', lc: START_S - 400 * 24 * HOUR_S });
  fake.states.set(METER, { s: '5', lc: START_S - 400 * 24 * HOUR_S, a: { unit_of_measurement: 'L' } });
  const entities = { observe: [PUMP, METER], readings: [], commandable: [], drivers: [] };
  return upRig(fake, { entities, ...options });
}

async function readAll(rig: Rig, request: HistoryRequest): Promise<Observation[]> {
  const found: Observation[] = [];
  for await (const batch of rig.hub.history(request)) found.push(...batch);
  return found;
}

test('whatever the rows and however they are sliced: each row within once, in order, and the state at the start', async () => {
  const moment = fc.integer({ min: -60 * 24 * HOUR_S, max: -HOUR_S }).map((second) => START_S + second);
  const moments = fc.uniqueArray(moment, { minLength: 0, maxLength: 30 });
  await fc.assert(
    fc.asyncProperty(moments, moments, moment, moment, async (pump, meter, a, b) => {
      fc.pre(a !== b);
      const [from, to] = [Math.min(a, b) * 1000, Math.max(a, b) * 1000];
      const rowsOf = (seconds: number[]): Row[] =>
        seconds.sort((x, y) => x - y).map((lu, index) => ({ s: String(index), lu }));
      const rows: Recorded = new Map([
        [PUMP, rowsOf(pump)],
        [METER, rowsOf(meter)],
      ]);
      const fake = fakeHub();
      const rig = await rigWith(fake, rows);
      const found = await readAll(rig, { entities: [PUMP, METER], from, to });
      await rig.hub.stop();
      const wanted = [...rows].flatMap(([entity, list]) => {
        const known = list.map((row) => ({ entity, at: instantOfSeconds(row.lu), value: Number(row.s) }));
        const held = known.findLast((row) => row.at <= from);
        const within = known.filter((row) => row.at > from && row.at <= to);
        return held === undefined ? within : [{ ...held, at: from }, ...within];
      });
      const text = (row: { entity: string; at: number; value: number | null }) =>
        `${String(row.at).padStart(14, '0')} ${row.entity} ${row.value}`;
      assert.deepEqual(found.map(text), wanted.map(text).sort());
    }),
    {
      numRuns: 60,
      // A row at the very moment a query may begin, with an older one before it.
      examples: [
        [[], [START_S - 5 * HOUR_S - 60, START_S - 5 * HOUR_S - 5], START_S - HOUR_S, START_S - 5 * HOUR_S],
        [[START_S - 5 * HOUR_S - 5], [], START_S - HOUR_S, START_S - 5 * HOUR_S],
      ],
    },
  );
});

test('all four flags are said, switches are asked in short, meters in full so that the unit is there', async () => {
  const fake = fakeHub();
  const rig = await rigWith(fake, new Map());
  await readAll(rig, { entities: [PUMP, METER], from: (START_S - 2 * HOUR_S) * 1000, to: (START_S - HOUR_S) * 1000 });
  const asked = fake
    .sentOf(QUERY)
    .map((message) => [
      message['entity_ids'],
      message['include_start_time_state'],
      message['significant_changes_only'],
      message['minimal_response'],
      message['no_attributes'],
    ]);
  assert.deepEqual(asked, [
    [[METER], true, false, false, false],
    [[PUMP], true, false, true, true],
  ]);
  await rig.hub.stop();
});

test('one query at a time, in slices that grow while the hub is quick, and progress is told', async () => {
  const fake = fakeHub();
  const rig = await rigWith(fake, new Map([[PUMP, [{ s: 'on', lu: START_S - 300 * 24 * HOUR_S }]]]));
  const [shares, from, to] = [[] as number[], (START_S - 200 * 24 * HOUR_S) * 1000, (START_S - HOUR_S) * 1000];
  const found: Observation[] = [];
  for await (const batch of rig.hub.history({ entities: [PUMP], from, to }, (share) => shares.push(share))) {
    found.push(...batch);
  }
  assert.deepEqual(
    found.map((row) => [row.at, row.value]),
    [[from, 1]],
  );
  const starts = fake.sentOf(QUERY).map((message) => Date.parse(String(message['start_time'])));
  assert.ok(starts.length > 5 && starts.length < 15, `${starts.length} slices`);
  assert.ok(starts.every((start, index) => start >= (starts[index - 1] ?? 0)));
  assert.equal(shares.at(-1), 1);
  await rig.hub.stop();
});

test('a slice that takes too long is asked again in smaller ones', async () => {
  const fake = fakeHub();
  const rows: Recorded = new Map([[METER, [{ s: '7', lu: START_S - 30 * HOUR_S }]]]);
  const rig = await rigWith(fake, rows);
  const answer = recorder(rows);
  fake.on.set(QUERY, (message) => {
    const [start, end] = [message['start_time'], message['end_time']].map((text) => Date.parse(String(text)));
    return (end ?? 0) - (start ?? 0) > DAY_MS / 3 ? 'mute' : answer(message);
  });
  let done = false;
  const reading = readAll(rig, {
    entities: [METER],
    from: (START_S - 48 * HOUR_S) * 1000,
    to: (START_S - HOUR_S) * 1000,
  });
  reading.finally(() => {
    done = true;
  });
  await inTime(fake, 'the end', () => done);
  assert.deepEqual(
    (await reading).map((row) => row.value),
    [7],
  );
  await rig.hub.stop();
});

test('a hub that never answers gives an error that says so, not an empty history', async () => {
  const fake = fakeHub();
  const rig = await rigWith(fake, new Map());
  fake.on.set(QUERY, () => 'mute');
  let failed: unknown;
  readAll(rig, { entities: [METER], from: (START_S - 48 * HOUR_S) * 1000, to: START_S * 1000 }).catch((error) => {
    failed = error;
  });
  await inTime(fake, 'the error', () => failed !== undefined);
  assert.equal((failed as { code?: string }).code, 'SW-HUB-013');
  await rig.hub.stop();
});

test('the newest state is waited for until the recorder has written it', async () => {
  const fake = fakeHub();
  const rows: Recorded = new Map([[PUMP, [{ s: 'off', lu: START_S - 2 * HOUR_S }]]]);
  const rig = await rigWith(fake, rows);
  fake.emit('subscribe_entities', { c: { [PUMP]: { '+': { s: 'on', lc: START_S - 1 } } } });
  await soon('the change', () => rig.observations.at(-1)?.at === (START_S - 1) * 1000);
  const request = { entities: [PUMP], from: (START_S - HOUR_S) * 1000, to: START_S * 1000 };
  let done = false;
  const reading = readAll(rig, request);
  reading.finally(() => {
    done = true;
  });
  await inTime(fake, 'the recorder to be asked again', () => fake.sentOf(QUERY).length >= 3);
  rows.get(PUMP)?.push({ s: 'on', lu: START_S - 1 });
  await inTime(fake, 'the end', () => done);
  assert.deepEqual(
    (await reading).map((row) => [row.at / 1000 - START_S, row.value]),
    [
      [-HOUR_S, 0],
      [-1, 1],
    ],
  );
  await rig.hub.stop();
});

test('a recorder that stays behind is not waited for without end, and it is said', async () => {
  const fake = fakeHub();
  const rig = await rigWith(fake, new Map([[PUMP, [{ s: 'off', lu: START_S - 2 * HOUR_S }]]]), { recorderMs: 30_000 });
  fake.emit('subscribe_entities', { c: { [PUMP]: { '+': { s: 'on', lc: START_S - 1 } } } });
  await soon('the change', () => rig.observations.at(-1)?.at === (START_S - 1) * 1000);
  let done = false;
  readAll(rig, { entities: [PUMP], from: (START_S - HOUR_S) * 1000, to: START_S * 1000 }).finally(() => {
    done = true;
  });
  await inTime(fake, 'the end', () => done);
  assert.match(fake.system.log.lines.join('\n'), /recorder has not written.*switch\.pump/);
  await rig.hub.stop();
});

test('an entity that the recorder leaves out is not waited for', async () => {
  const fake = fakeHub();
  const rig = await rigWith(fake, new Map());
  fake.emit('subscribe_entities', { c: { [PUMP]: { '+': { s: 'on', lc: START_S - 1 } } } });
  await soon('the change', () => rig.observations.at(-1)?.at === (START_S - 1) * 1000);
  assert.deepEqual(await readAll(rig, { entities: [PUMP], from: (START_S - HOUR_S) * 1000, to: START_S * 1000 }), []);
  assert.equal(fake.system.clock.monotonicMs(), 0);
  await rig.hub.stop();
});

test('a row of a removed entity is a gap, and one of attributes alone is dated by its state', async () => {
  const fake = fakeHub();
  const at = START_S - 2 * HOUR_S;
  const rows: Recorded = new Map([
    [
      METER,
      [
        { s: '1', lu: at },
        { s: '1', lu: at + 10, lc: at },
        { s: null, lu: at + 20 },
        { s: '2', lu: at + 30 },
      ],
    ],
  ]);
  const rig = await rigWith(fake, rows);
  const found = await readAll(rig, { entities: [METER], from: (at - 60) * 1000, to: (at + 60) * 1000 });
  assert.deepEqual(
    found.map((row) => [row.at / 1000 - at, row.value]),
    [
      [0, 1],
      [20, null],
      [30, 2],
    ],
  );
  await rig.hub.stop();
});

test('history without a link is refused with words', async () => {
  const fake = fakeHub();
  const rig = await rigWith(fake, new Map());
  fake.newSocket = 'leave';
  fake.socket().close();
  await soon('down', () => rig.links.length === 2);
  await assert.rejects(readAll(rig, { entities: [PUMP], from: 0, to: 1_000 }), { code: 'SW-HUB-013' });
  await rig.hub.stop();
});
