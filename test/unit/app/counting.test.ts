import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { fedTogether, historyStart, lostBefore, restartTimes } from '../../../src/app/counting.ts';
import type { CounterDef } from '../../../src/model/index.ts';
import { bookRestart, type Observation } from '../../../src/observe/index.ts';
import { DAY_MS, MINUTE_MS } from '../../../src/units/index.ts';

const row = (at: number, value: number): Observation => ({
  entity: 'switch.a',
  value,
  at,
  receivedAt: at,
  origin: 'history',
});

describe('where the history of the hub does not reach back to what was counted', () => {
  test('the stretch between is a gap that begins where the entity was last watched', () => {
    const [gap] = lostBefore('switch.a', 1_000, 5_000, 1_000, [row(9_000, 1)]);
    assert.deepEqual(gap, { entity: 'switch.a', value: null, at: 5_001, receivedAt: 5_001, origin: 'assumed' });
  });

  test('nothing at all in the history is a gap too', () => {
    assert.equal(lostBefore('switch.a', 1_000, null, 1_000, [])[0]?.at, 1_001);
  });

  test('no gap where the hub gives the state held at the moment asked for', () => {
    assert.deepEqual(lostBefore('switch.a', 1_000, 5_000, 1_000, [row(1_000, 1), row(9_000, 0)]), []);
  });

  test('no gap where the first row lies before the end of the watch', () => {
    assert.deepEqual(lostBefore('switch.a', 1_000, 5_000, 1_000, [row(4_000, 0)]), []);
  });
});

describe('a hub that restarted meanwhile', () => {
  const seenAt = 1_000_000;
  const link = { at: seenAt + 30_000, hubRestarted: true, restartedAt: seenAt + 12_000 };
  const book = (rows: readonly Observation[], lastSeenAt = seenAt) => {
    const times = restartTimes(link, lastSeenAt);
    const booked = bookRestart({ entities: ['switch.a'], ...times, rows, receivedAt: link.at });
    return booked.map(({ at, value }) => [at - seenAt, value]);
  };

  test('what it wrote before the states it holds now is not the old run: no off that ends in a start', () => {
    const rows = [row(seenAt - 5_000, 1), row(seenAt + 11_990, 0), row(seenAt + 13_900, 1)];
    assert.deepEqual(book(rows), [
      [-5_000, 1],
      [1, null],
      [30_000, 1],
    ]);
  });

  test('nor where we were away for long: a minute before the states it holds now still belongs to its waking', () => {
    const rows = [row(seenAt - 5 * MINUTE_MS, 1), row(seenAt + 11_990, 0), row(seenAt + 13_900, 1)];
    assert.deepEqual(book(rows, seenAt - 10 * MINUTE_MS), [
      [-5 * MINUTE_MS, 1],
      [1 - 5 * MINUTE_MS, null],
      [30_000, 1],
    ]);
  });

  test('a hub with its clock behind dates its restart before it was last heard', () => {
    const early = restartTimes({ ...link, restartedAt: seenAt - 4_000 }, seenAt);
    assert.deepEqual([early.lastSeenAt, early.restartedAt], [seenAt - 4_000, seenAt - 4_000]);
  });
});

describe('how far a first start looks back', () => {
  const now = 2_000 * DAY_MS;
  test('to the oldest part, at least ten days, three years at most', () => {
    assert.equal(historyStart([now - 100 * DAY_MS, undefined, now - 5 * DAY_MS], now), now - 100 * DAY_MS);
    assert.equal(historyStart([undefined], now), now - 10 * DAY_MS);
    assert.equal(historyStart([now - 1_500 * DAY_MS], now), now - 1_095 * DAY_MS);
  });
});

describe('which entities are asked for together', () => {
  const on = (entity: string, companion?: string): CounterDef => {
    const by = { unitsPerReading: 1, leastPerHourOn: 0.1, mostPerHourOn: 0.2, mostPerHourOff: 0, coarseness: 0.01 };
    const narrowedBy = companion === undefined ? {} : { narrowedBy: { entity: companion, ...by } };
    return { id: entity, name: entity, source: { kind: 'on-state', entity, ...narrowedBy }, measures: ['on-hours'] };
  };
  test('each alone, but all that feed one counter, or counters that share one of them, in one query', () => {
    assert.deepEqual(fedTogether([on('a'), on('b'), on('a')]), [['a'], ['b']]);
    assert.deepEqual(fedTogether([on('a', 'm'), on('b'), on('c', 'm'), on('m')]), [['a', 'm', 'c'], ['b']]);
    assert.deepEqual(fedTogether([on('a'), on('b'), on('b', 'a')]), [['a', 'b']]);
  });
});
