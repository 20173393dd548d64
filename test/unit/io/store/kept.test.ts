import assert from 'node:assert/strict';
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { after, describe, test } from 'node:test';
import fc from 'fast-check';
import type { Doubt, Slice } from '../../../../src/count/index.ts';
import { openStore } from '../../../../src/io/store/index.ts';
import { keptLog } from '../../../../src/io/system/index.ts';
import { initialMinutes, type MinutePower, takeMinutes } from '../../../../src/observe/index.ts';
import type { Question, SourceEntry } from '../../../../src/ports/index.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../../../../src/units/index.ts';

const SEED = Number(process.env['STORE_SEED'] ?? 20_261_125);
const RUNS = Number(process.env['STORE_RUNS'] ?? 40);
const folder = mkdtempSync(join(tmpdir(), 'slackwater-kept-'));
after(() => rmSync(folder, { recursive: true }));

let made = 0;
const newFile = (): string => join(folder, `${made++}.db`);
const options = { clock: { now: () => 1_000_000, monotonicMs: () => 0 }, log: keptLog() };
const empty = { states: [], slices: [], resets: [], cursors: new Map() };
const rowsIn = (file: string, table: string): number => {
  const db = new DatabaseSync(file, { readOnly: true });
  const rows = Number(db.prepare(`SELECT count(*) AS n FROM ${table}`).get()?.['n']);
  db.close();
  return rows;
};

const sliceArb = fc.record(
  {
    counter: fc.constantFrom('lamp', 'pump'),
    measure: fc.constantFrom('on-hours' as const, 'starts' as const),
    // Some three months, so that blocks and days are crossed.
    hour: fc.nat(2_200).map((hour) => hour * HOUR_MS),
    origin: fc.constantFrom('live' as const, 'history' as const, 'assumed' as const),
    add: fc
      .tuple(fc.nat(3_600_000), fc.nat(1_000), fc.nat(1_000))
      .map(([low, more, most]) => ({ low, best: low + more, high: low + more + most })),
  },
  { noNullPrototype: true },
);

/** Summed by hour and origin, as the port promises them. */
function expected(slices: readonly Slice[], counter: string, measure: Slice['measure'], from: number): Slice[] {
  const order = ['live', 'history', 'statistics', 'person', 'assumed'];
  const sums = new Map<string, Slice>();
  for (const slice of slices) {
    if (slice.counter !== counter || slice.measure !== measure || slice.hour < from) continue;
    const key = `${slice.hour} ${slice.origin}`;
    const sum = sums.get(key)?.add ?? { low: 0, best: 0, high: 0 };
    const { low, best, high } = slice.add;
    sums.set(key, { ...slice, add: { low: sum.low + low, best: sum.best + best, high: sum.high + high } });
  }
  return [...sums.values()].sort((a, b) => a.hour - b.hour || order.indexOf(a.origin) - order.indexOf(b.origin));
}

describe(`hours that are over are packed (seed ${SEED})`, () => {
  test('and read as if they were not, in whatever order they came', () => {
    fc.assert(
      fc.property(
        fc.array(fc.array(sliceArb, { maxLength: 40 }), { maxLength: 25 }),
        fc.nat(2_200),
        (batches, hour) => {
          const store = openStore(newFile(), options);
          for (const slices of batches) store.commitCounts({ ...empty, slices });
          for (const counter of ['lamp', 'pump'])
            for (const measure of ['on-hours', 'starts'] as const)
              for (const from of [0, hour * HOUR_MS])
                assert.deepEqual(
                  store.slices(counter, measure, from),
                  expected(batches.flat(), counter, measure, from),
                );
          store.close();
        },
      ),
      { seed: SEED, numRuns: RUNS },
    );
  });

  test('few rows are left loose', () => {
    const file = newFile();
    const store = openStore(file, options);
    for (let hour = 0; hour < 100 * 24; hour++) {
      const slice = { measure: 'on-hours' as const, hour: hour * HOUR_MS, origin: 'live' as const };
      const add = { low: 5, best: 5, high: 5 };
      store.commitCounts({
        ...empty,
        slices: [
          { ...slice, counter: 'lamp', add },
          { ...slice, counter: 'pump', add },
        ],
      });
    }
    assert.equal(store.slices('lamp', 'on-hours', 0).length, 2_400);
    store.close();
    assert.ok(rowsIn(file, 'slices') <= 2 * 3 * 24, `${rowsIn(file, 'slices')} loose rows`);
    assert.ok(rowsIn(file, 'slice_blocks') <= 2 * 5);
  });
});

/** Tenths of a watt below 12.8 W are kept exactly, so stored and given minutes can be compared. */
const minuteAt = (index: number, watts: number): MinutePower => ({
  minute: index * MINUTE_MS,
  knownMs: MINUTE_MS,
  minW: watts,
  meanW: watts,
  maxW: watts + 1,
});

describe('minutes of power', () => {
  test(`come back by time, whichever way they were delivered and packed (seed ${SEED})`, () => {
    const minute = fc.tuple(fc.nat(20 * 1_440), fc.nat(100)).map(([index, tenths]) => minuteAt(index, tenths / 10));
    const batch = fc.uniqueArray(minute, { selector: (one) => one.minute, maxLength: 60 });
    fc.assert(
      fc.property(fc.array(batch, { maxLength: 20 }), fc.nat(20 * 1_440), fc.nat(20 * 1_440), (batches, a, b) => {
        const store = openStore(newFile(), options);
        const latest = new Map<number, MinutePower>();
        for (const minutes of batches) {
          const sorted = minutes.toSorted((x, y) => x.minute - y.minute);
          store.commitMinutes([{ entity: 'sensor.pump', minutes: sorted }]);
          for (const one of sorted) latest.set(one.minute, one);
        }
        const [from, to] = [Math.min(a, b) * MINUTE_MS, Math.max(a, b) * MINUTE_MS];
        const all = [...latest.values()].sort((x, y) => x.minute - y.minute);
        assert.deepEqual(store.minutePower('sensor.pump', 0, 99 * DAY_MS), all);
        assert.deepEqual(
          store.minutePower('sensor.pump', from, to),
          all.filter((one) => one.minute >= from && one.minute < to),
        );
        assert.deepEqual(store.minutePower('sensor.other', 0, 99 * DAY_MS), []);
        store.close();
      }),
      { seed: SEED, numRuns: RUNS },
    );
  });

  test('go on from the stored memory after a restart, as if there had been none', () => {
    const file = newFile();
    const rows = Array.from({ length: 400 }, (_, index) => ({
      at: 1_000 + index * 47_000,
      value: index % 50 === 9 ? null : (index % 30) / 5,
    }));
    const { minutes: whole } = takeMinutes(initialMinutes, rows);
    for (let from = 0; from < rows.length; from += 37) {
      const store = openStore(file, options);
      const before = store.minuteStates().get('sensor.pump') ?? initialMinutes;
      const { minutes, state } = takeMinutes(before, rows.slice(from, from + 37));
      const cursors = new Map([['sensor.pump', state.at ?? 0]]);
      store.commitCounts({ ...empty, cursors, minutes: [{ entity: 'sensor.pump', minutes, state }] });
      store.close();
    }
    const store = openStore(file, options);
    const kept = store.minutePower('sensor.pump', 0, DAY_MS);
    assert.equal(kept.length, whole.length);
    for (const [index, { minute, knownMs, minW, meanW, maxW }] of whole.entries()) {
      const one = kept[index] ?? assert.fail('a minute is missing');
      assert.deepEqual([one.minute, one.knownMs, one.minW, one.maxW], [minute, knownMs, minW, maxW]);
      assert.ok(Math.abs(one.meanW - meanW) <= 0.025 + 1e-9);
    }
    store.close();
  });

  test('days that are over are packed', () => {
    const file = newFile();
    const store = openStore(file, options);
    for (let hour = 0; hour < 20 * 24; hour++) {
      const minutes = Array.from({ length: 60 }, (_, minute) => minuteAt(hour * 60 + minute, 7));
      store.commitMinutes([{ entity: 'sensor.pump', minutes }]);
    }
    assert.equal(store.minutePower('sensor.pump', 0, 99 * DAY_MS).length, 20 * 1_440);
    store.close();
    assert.ok(rowsIn(file, 'minute_hours') <= 48);
    assert.equal(rowsIn(file, 'minute_days'), 18);
  });
});

test('doubts are kept with the counts they belong to, and given once', () => {
  const file = newFile();
  const store = openStore(file, options);
  const doubt: Doubt = { counter: 'water', kind: 'fall-taken-back', at: 7, before: 35.6, after: 0 };
  const later: Doubt = { ...doubt, at: 9, kind: 'negative', after: -1 };
  store.commitCounts({ ...empty, doubts: [later, doubt] });
  store.commitCounts({ ...empty, doubts: [doubt] });
  store.close();
  const again = openStore(file, options);
  assert.deepEqual(again.doubts('water'), [doubt, later]);
  assert.deepEqual(again.doubts('lamp'), []);
  again.close();
});

test('a question is put once while it is open, stays through restarts, and may come up again later', () => {
  const file = newFile();
  const question: Question = {
    id: 'unit-changed return-energy',
    kind: 'unit-changed',
    askedAt: 5,
    text: 'The meter now tells Wh, not kWh. Is it the same meter?',
    counter: 'return-energy',
    facts: { was: 'kWh', now: 'Wh' },
  };
  const store = openStore(file, options);
  assert.equal(store.putQuestion(question), true);
  assert.equal(store.putQuestion({ ...question, askedAt: 6 }), false);
  store.commitCounts({
    ...empty,
    questions: [
      { ...question, askedAt: 7 },
      { ...question, id: 'other', askedAt: 7 },
    ],
  });
  store.close();
  const again = openStore(file, options);
  assert.deepEqual(
    again.questions().map(({ id, askedAt }) => [id, askedAt]),
    [
      [question.id, 5],
      ['other', 7],
    ],
  );
  const answer = { at: 9, by: 'Ann', choice: 'yes' };
  assert.equal(again.answerQuestion(question.id, answer), true);
  assert.equal(again.answerQuestion(question.id, answer), false);
  assert.equal(again.answerQuestion('nobody asked', answer), false);
  assert.equal(again.putQuestion({ ...question, askedAt: 10 }), true);
  assert.deepEqual(again.questions('all')[0], { ...question, answer });
  assert.equal(again.questions('all').length, 3);
  assert.equal(again.questions().length, 2);
  again.close();
});

test('what fed a counter, in order of time', () => {
  const file = newFile();
  const store = openStore(file, options);
  const on = (entity: string) => ({ kind: 'on-state' as const, entity });
  const first: SourceEntry = { counter: 'lamp', from: 1, source: on('switch.a'), how: 'first', by: 'configuration' };
  const second: SourceEntry = { counter: 'lamp', from: 9, source: on('switch.b'), how: 'replace', by: 'Ann' };
  store.putSource(second);
  store.putSource(first);
  store.putSource({ counter: 'pump', from: 3, source: null, how: 'move', by: 'Ann' });
  store.close();
  const again = openStore(file, options);
  assert.deepEqual(again.sources('lamp'), [first, second]);
  assert.equal(again.sources('pump').length, 1);
  again.close();
});
