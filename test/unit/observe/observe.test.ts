import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  bookRestart,
  type EntityState,
  freshness,
  instantOfSeconds,
  mergeByTime,
  type Observation,
  stateValue,
  toObservation,
  toReading,
} from '../../../src/observe/index.ts';

const seen = (
  entity: string,
  at: number,
  value: number | null,
  origin: Observation['origin'] = 'live',
): Observation => ({
  entity,
  value,
  at,
  receivedAt: at,
  origin,
});

describe('state text as a value', () => {
  const cases: readonly (readonly [string, number | null])[] = [
    ['on', 1],
    ['off', 0],
    ['open', 1],
    ['closed', 0],
    ['home', 1],
    ['not_home', 0],
    ['True', 1],
    ['false', 0],
    ['23.5', 23.5],
    ['-1.2e3', -1200],
    ['0', 0],
    [' 7 ', 7],
    ['.5', 0.5],
  ];
  for (const [text, value] of cases) test(`'${text}' is ${value}`, () => assert.equal(stateValue(text), value));

  const gaps = [
    'unknown',
    'unavailable',
    '',
    ' ',
    'None',
    'nan',
    'NaN',
    'Infinity',
    '-inf',
    '1e999',
    '0x1f',
    '12 W',
    'heat',
  ];
  for (const text of gaps) test(`'${text}' is a gap`, () => assert.equal(stateValue(text), null));

  test('whatever the text, never anything but a finite number or a gap', () => {
    fc.assert(
      fc.property(fc.string(), (text) => {
        const value = stateValue(text);
        assert.ok(value === null || Number.isFinite(value));
      }),
    );
  });

  test('every finite number comes back as it was written', () => {
    fc.assert(
      fc.property(fc.double({ noNaN: true, noDefaultInfinity: true }), (n) =>
        assert.equal(stateValue(String(n)), n + 0),
      ),
    );
  });
});

describe('an observation of an entity', () => {
  const state: EntityState = {
    entity: 'sensor.watts',
    state: '41.5',
    attributes: { unit_of_measurement: 'W' },
    lastChanged: 1_000,
    lastUpdated: 5_000,
    contextId: 'c',
    userId: null,
  };

  test('is dated by the change of its value, heard at the latest update', () => {
    assert.deepEqual(toObservation(state, 'live', 6_000), {
      entity: 'sensor.watts',
      value: 41.5,
      at: 1_000,
      reportedAt: 5_000,
      receivedAt: 6_000,
      origin: 'live',
      unit: 'W',
    });
  });

  test('from history it says nothing of when the device was last heard', () => {
    assert.equal('reportedAt' in toObservation(state, 'history', 6_000), false);
  });

  test('a reading takes the last report where the hub gives one', () => {
    assert.deepEqual(toReading(state), { entity: 'sensor.watts', value: 41.5, changedAt: 1_000, reportedAt: 5_000 });
    assert.equal(toReading({ ...state, lastReported: 9_000 }).reportedAt, 9_000);
  });

  test('the same instant in seconds, told to a tenth of a microsecond or to one, is the same millisecond', () => {
    assert.equal(instantOfSeconds(1_758_000_000.123), 1_758_000_000_123);
    assert.equal(instantOfSeconds(1_758_000_000.1239), 1_758_000_000_123);
    assert.equal(instantOfSeconds(1_758_000_000.1239996), instantOfSeconds(1_758_000_000.124));
  });
});

describe('freshness', () => {
  const reading = { entity: 'e', value: 0, changedAt: 0, reportedAt: 100_000 };
  test('goes by when the device was heard, not by when its value changed', () => {
    assert.equal(freshness(reading, 130_000, 30_000), 'fresh');
    assert.equal(freshness(reading, 130_001, 30_000), 'stale');
  });
  test('no reading, or one without a value, is a gap however new', () => {
    assert.equal(freshness(undefined, 0, 1_000), 'gap');
    assert.equal(freshness({ ...reading, value: null }, 100_000, 30_000), 'gap');
  });
  test('a report from the future proves nothing', () => {
    assert.equal(freshness(reading, 60_000, 30_000), 'stale');
  });
});

describe('merging', () => {
  test('in order of time, each entity and moment once, a value before a gap', () => {
    const live = [seen('b', 3, 1), seen('a', 5, 0)];
    const history = [seen('a', 1, 1, 'history'), seen('b', 3, 1, 'history'), seen('a', 5, null, 'history')];
    assert.deepEqual(mergeByTime([history, live]), [history[0], ...live]);
  });

  test('does not depend on how deliveries were cut or ordered', () => {
    const observation = fc.record(
      {
        entity: fc.constantFrom('a', 'b'),
        at: fc.nat(8),
        value: fc.constantFrom(0, 1, null),
        receivedAt: fc.constant(0),
        origin: fc.constantFrom('live' as const, 'history' as const),
      },
      { noNullPrototype: true },
    );
    fc.assert(
      fc.property(fc.array(observation), fc.nat(20), (all, cut) => {
        const reversed = [...all].reverse();
        assert.deepEqual(mergeByTime([reversed.slice(cut), reversed.slice(0, cut)]), mergeByTime([all]));
      }),
    );
  });
});

describe('a restart of the hub', () => {
  const restart = { entities: ['a', 'b'], lastSeenAt: 1_000, restartedAt: 5_000, readyAt: 6_000, receivedAt: 7_000 };
  const gap = (entity: string, at: number): Observation => ({
    ...seen(entity, at, null, 'assumed'),
    receivedAt: 7_000,
  });

  test('nobody watched from the last sign of life on, whatever the hub drew across it', () => {
    const rows = [seen('a', 5_001, 1), seen('b', 5_001, 0)];
    assert.deepEqual(bookRestart({ ...restart, rows }), [
      gap('a', 1_001),
      gap('b', 1_001),
      { ...seen('a', 6_000, 1), receivedAt: 5_001 },
      { ...seen('b', 6_000, 0), receivedAt: 5_001 },
    ]);
  });

  test('a row that the old run wrote proves it lived until then, for every entity', () => {
    const rows = [seen('a', 3_000, 1, 'history'), seen('a', 5_500, 1), seen('b', 5_500, 0)];
    const booked = bookRestart({ ...restart, rows });
    assert.deepEqual(booked.slice(0, 3), [seen('a', 3_000, 1, 'history'), gap('a', 3_001), gap('b', 3_001)]);
  });

  test('entities that a new run first writes as unknown do not prove that the old one lived until then', () => {
    const rows = [seen('a', 3_000, 1, 'history'), gap('a', 4_800), seen('a', 5_500, 0)];
    const values = bookRestart({ ...restart, entities: ['a'], rows }).map(({ at, value }) => [at, value]);
    assert.deepEqual(values, [
      [3_000, 1],
      [3_001, null],
      [4_800, null],
      [6_000, 0],
    ]);
  });

  test('what jumps about while the hub is starting is not taken as changes', () => {
    const rows = [
      seen('a', 5_100, 0),
      seen('a', 5_200, 1),
      seen('a', 5_300, 0),
      seen('a', 5_900, 1),
      seen('a', 8_000, 0),
    ];
    const values = bookRestart({ ...restart, entities: ['a'], rows }).map(({ at, value }) => [at, value]);
    assert.deepEqual(values, [
      [1_001, null],
      [6_000, 1],
      [8_000, 0],
    ]);
  });

  test('a hub that starts with its clock in the past: what it hid begins where each entity was last taken', () => {
    // A small host without a clock of its own begins at the last time it had saved, an hour too early.
    const past = { ...restart, restartedAt: 900, readyAt: 950, takenTo: new Map([['a', 1_000]]) };
    const booked = bookRestart({ ...past, rows: [seen('a', 940, 1), seen('a', 9_000, 0)] });
    assert.deepEqual(booked, [
      gap('b', 900),
      { ...seen('a', 950, 1), receivedAt: 940 },
      gap('a', 1_001),
      seen('a', 9_000, 0),
    ]);
  });

  test('an entity that has not come back stays unknown', () => {
    const booked = bookRestart({ ...restart, rows: [seen('a', 5_500, 1)] });
    assert.deepEqual(
      booked.filter(({ entity }) => entity === 'b'),
      [gap('b', 1_001)],
    );
  });
});
