import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { type Column, foldColumns, foldObservations, initialStates } from '../../../src/count/index.ts';
import type { EntityId } from '../../../src/model/index.ts';
import { mergeByTime, type Observation } from '../../../src/observe/index.ts';
import { SECOND_MS } from '../../../src/units/index.ts';
import { holds } from './checked.ts';
import { anyFeed, every, ownFeed, singles } from './feeds.ts';
import { ENTITY, seen, T0 } from './make.ts';

function columnsOf(feed: readonly Observation[]): ReadonlyMap<EntityId, Column> {
  const entities = [...new Set(feed.map(({ entity }) => entity))];
  return new Map(
    entities.map((entity): [EntityId, Column] => {
      const rows = feed.filter((row) => row.entity === entity);
      const at = Float64Array.from(rows, (row) => row.at);
      const value = Float64Array.from(rows, (row) => row.value ?? Number.NaN);
      return [entity, { at, value, origin: 'history' }];
    }),
  );
}

const asHistory = (feed: readonly Observation[]): readonly Observation[] =>
  feed.map((row): Observation => ({ ...row, origin: 'history' }));

describe('history by columns is the ordinary fold, to the last bit', () => {
  test('states, hours, resets, doubts and late rows of every kind of counter', (t) => {
    holds(
      t,
      fc.property(anyFeed, (feed) => {
        const history = mergeByTime([asHistory(feed)]);
        const usual = foldObservations(every, initialStates(every), history);
        assert.deepEqual(foldColumns(every, initialStates(every), columnsOf(history)), usual);
      }),
    );
  });

  test('where counting already stands somewhere, with rows that come again and rows too old', (t) => {
    holds(
      t,
      fc.property(ownFeed, fc.nat(60), fc.nat(20), fc.nat(60), (feed, cut, back, mixed) => {
        const before = foldObservations(singles, initialStates(singles), feed.slice(0, cut)).states;
        const again = asHistory(feed.slice(Math.max(0, cut - back)));
        // Rows of one entity that come in the wrong order are dropped as late in both.
        const rows = [...again.slice(mixed), ...again.slice(0, mixed)];
        const usual = foldObservations(singles, before, rows);
        assert.deepEqual(foldColumns(singles, before, columnsOf(rows)), usual);
      }),
    );
  });

  test('long even columns, as a plug that reports every few seconds gives them', (t) => {
    const rows = fc.array(
      fc.record({
        afterS: fc.integer({ min: 1, max: 240 }),
        value: fc.oneof(
          { weight: 30, arbitrary: fc.constantFrom(0, 1, 7, 40) },
          { weight: 1, arbitrary: fc.constant(null) },
        ),
      }),
      { minLength: 150, maxLength: 400 },
    );
    holds(
      t,
      fc.property(rows, (list) => {
        let at = T0;
        const feed = list.map(({ afterS, value }) => {
          at += afterS * SECOND_MS;
          return seen(at, value, 'history', ENTITY);
        });
        const usual = foldObservations(singles, initialStates(singles), feed);
        assert.deepEqual(foldColumns(singles, initialStates(singles), columnsOf(feed)), usual);
      }),
    );
  });

  test('an entity without rows, and rows without a counter, change nothing', () => {
    const states = initialStates(every);
    assert.deepEqual(foldColumns(every, states, new Map()), foldObservations(every, states, []));
    const other = columnsOf([seen(T0, 1, 'history', 'switch.unknown')]);
    assert.deepEqual(foldColumns(every, states, other), foldObservations(every, states, []));
  });
});
