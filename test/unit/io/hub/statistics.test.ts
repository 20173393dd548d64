import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { HourStatistic } from '../../../../src/observe/index.ts';
import type { HistoryRequest } from '../../../../src/ports/index.ts';
import { DAY_MS, HOUR_MS } from '../../../../src/units/index.ts';
import { type FakeHub, fakeHub, inTime, type Message, type Rig, START_S, upRig } from './fake-hub.ts';

const METER = 'sensor.litres';
const META = 'recorder/get_statistics_metadata';
const LIST = 'recorder/list_statistic_ids';
const HOURS = 'recorder/statistics_during_period';
const HISTORY = 'history/history_during_period';
const HOUR0 = Math.floor((START_S * 1000) / HOUR_MS) * HOUR_MS - 400 * DAY_MS;

const meta = (fields: object = { has_sum: true, display_unit_of_measurement: 'L' }) => ({
  result: [{ statistic_id: METER, ...fields }],
});

/** A row for every hour asked for, as the hub gives them: beginning at or after the start, before the end. */
function everyHour(message: Message): { readonly result: unknown } {
  const [start = 0, end = 0] = [message['start_time'], message['end_time']].map((text) => Date.parse(String(text)));
  const rows: unknown[] = [];
  for (let at = Math.ceil(start / HOUR_MS) * HOUR_MS; at < end; at += HOUR_MS)
    rows.push({ start: at, end: at + HOUR_MS, state: (at - HOUR0) / HOUR_MS, sum: 1, last_reset: null });
  return { result: { [METER]: rows } };
}

async function readAll(rig: Rig, request: HistoryRequest): Promise<HourStatistic[]> {
  const found: HourStatistic[] = [];
  for await (const batch of rig.hub.statistics(request)) found.push(...batch);
  return found;
}

const ofYear = { entities: [METER], from: HOUR0, to: HOUR0 + 365 * DAY_MS };

function withHours(): FakeHub {
  const fake = fakeHub();
  fake.on.set(META, () => meta());
  fake.on.set(HOURS, everyHour);
  return fake;
}

test('a year of hours comes whole, each once, in order, one query at a time in slices that grow', async () => {
  const fake = withHours();
  const rig = await upRig(fake);
  const found = await readAll(rig, ofYear);
  assert.deepEqual(
    found.map((hour) => hour.state),
    Array.from({ length: 365 * 24 }, (_, index) => index),
  );
  assert.ok(found.every((hour) => hour.unit === 'L' && hour.mean === null));
  assert.ok(fake.sentOf(HOURS).length <= 4, `${fake.sentOf(HOURS).length} queries`);
  await rig.hub.stop();
});

test('a hub that has none of the commands, or refuses them, simply has no statistics', async () => {
  const fake = fakeHub();
  const rig = await upRig(fake);
  assert.deepEqual(await readAll(rig, ofYear), []);
  assert.deepEqual([fake.sentOf(META).length, fake.sentOf(LIST).length, fake.sentOf(HOURS).length], [1, 1, 0]);
  await rig.hub.stop();
});

test('a hub without the command for single ones is asked for its whole list', async () => {
  const fake = withHours();
  fake.on.delete(META);
  fake.on.set(LIST, () => ({ result: [{ statistic_id: 'sensor.other', has_sum: true }, ...meta().result] }));
  const rig = await upRig(fake);
  assert.equal((await readAll(rig, { ...ofYear, to: HOUR0 + DAY_MS })).length, 24);
  await rig.hub.stop();
});

test('older and newer ways to say what is kept: mean as flag or as type, times as text, units under other names', async () => {
  const row = { start: new Date(HOUR0).toISOString(), mean: 4, min: 3, max: 6, state: null };
  for (const fields of [
    { has_mean: true, unit_of_measurement: '\u00b5S/cm' },
    { mean_type: 1, statistics_unit_of_measurement: '\u03bcS/cm', display_unit_of_measurement: null },
  ]) {
    const fake = fakeHub();
    fake.on.set(META, () => meta(fields));
    fake.on.set(HOURS, () => ({ result: { [METER]: [row, { start: 'never' }] } }));
    const rig = await upRig(fake);
    const [hour, ...others] = await readAll(rig, { ...ofYear, to: HOUR0 + HOUR_MS });
    assert.deepEqual(
      [hour?.from, hour?.to, hour?.mean, hour?.min, hour?.max, hour?.state, hour?.sum, hour?.unit],
      [HOUR0, HOUR0 + HOUR_MS, 4, 3, 6, null, null, '\u03bcS/cm'],
    );
    assert.deepEqual(others, []);
    await rig.hub.stop();
  }
});

test('what the hub keeps neither sum nor mean of is not asked for', async () => {
  const fake = withHours();
  fake.on.set(META, () => meta({ has_sum: false, has_mean: false, mean_type: 0 }));
  const rig = await upRig(fake);
  assert.deepEqual(await readAll(rig, ofYear), []);
  assert.equal(fake.sentOf(HOURS).length, 0);
  await rig.hub.stop();
});

test('a reader that leaves in the middle, or is called off, asks nothing more', async () => {
  const fake = withHours();
  const rig = await upRig(fake);
  for await (const batch of rig.hub.statistics(ofYear)) {
    assert.ok(batch.length > 0);
    break;
  }
  assert.equal(fake.sentOf(HOURS).length, 1);
  const off = new AbortController();
  for await (const _ of rig.hub.statistics({ ...ofYear, signal: off.signal })) off.abort();
  assert.equal(fake.sentOf(HOURS).length, 2);
  await rig.hub.stop();
});

test('a slow hub is given air between queries and asked for less; a mute one ends with an error that says so', async () => {
  const fake = withHours();
  const rig = await upRig(fake);
  let isSlow = true;
  fake.on.set(HOURS, (message, socket) => {
    if (!isSlow) return everyHour(message);
    isSlow = false;
    fake.system.timers.after(5_000, 'slow recorder', () =>
      socket.emit({ id: message.id, type: 'result', success: true, ...everyHour(message) }),
    );
    return 'mute';
  });
  let found: readonly HourStatistic[] | undefined;
  readAll(rig, ofYear).then((hours) => {
    found = hours;
  });
  await inTime(fake, 'the pause', () => fake.system.waiting().some(({ name }) => name.includes('air')));
  await inTime(fake, 'the end', () => found !== undefined);
  assert.equal(found?.length, 365 * 24);
  const lengths = fake
    .sentOf(HOURS)
    .map(({ start_time: from, end_time: to }) => Date.parse(String(to)) - Date.parse(String(from)));
  assert.ok((lengths[1] ?? 0) < (lengths[0] ?? 0), `${lengths}`);
  fake.on.set(HOURS, () => 'mute');
  let failed: { readonly code?: string } | undefined;
  readAll(rig, ofYear).catch((error) => {
    failed = error;
  });
  await inTime(fake, 'the error', () => failed !== undefined);
  assert.equal(failed?.code, 'SW-HUB-013');
  await rig.hub.stop();
});

test('how far the history reaches is found by asking for single moments', async () => {
  const fake = withHours();
  const rig = await upRig(fake);
  const now = START_S * 1000;
  for (const reachMs of [20_000, 3 * HOUR_MS, 10.4 * DAY_MS, 400 * DAY_MS]) {
    fake.on.set(HISTORY, ({ start_time: at }) => ({
      result: Date.parse(String(at)) >= now - reachMs ? { [METER]: [{ s: '1', lu: 1 }] } : {},
    }));
    const before = fake.sentOf(HISTORY).length;
    const { bridgeableMs, hourly } = await rig.hub.reach([METER]);
    assert.ok(bridgeableMs !== null && bridgeableMs <= reachMs && bridgeableMs >= reachMs * 0.97, `${bridgeableMs}`);
    assert.deepEqual(hourly, [METER]);
    assert.ok(fake.sentOf(HISTORY).length - before < 35);
  }
  fake.on.set(HISTORY, () => ({ result: {} }));
  assert.equal((await rig.hub.reach([METER])).bridgeableMs, null);
  await rig.hub.stop();
});
