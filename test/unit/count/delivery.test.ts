import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  type CounterState,
  foldColumns,
  foldObservations,
  initialStates,
  project,
  type Slice,
} from '../../../src/count/index.ts';
import type { CounterId, EntityId } from '../../../src/model/index.ts';
import { mergeByTime, type Observation } from '../../../src/observe/index.ts';
import { HOUR_MS } from '../../../src/units/index.ts';
import { holds } from './checked.ts';
import { anyFeed, every, summed, throughTheStore } from './feeds.ts';
import { T0 } from './make.ts';

const asHistory = (feed: readonly Observation[]): readonly Observation[] =>
  feed.map((row): Observation => ({ ...row, origin: 'history' }));

const whole = (feed: readonly Observation[]) => foldObservations(every, initialStates(every), feed);

const withoutOrigin = (slices: readonly Slice[]) =>
  summed(slices.map((slice): Slice => (slice.origin === 'history' ? { ...slice, origin: 'live' } : slice)));

/** What is on disk: written a batch at a time, all of a batch or nothing. */
type Disk = {
  states: ReadonlyMap<CounterId, CounterState>;
  readonly slices: Slice[];
  readonly cursors: Map<EntityId, number>;
};

const emptyDisk = (): Disk => ({ states: initialStates(every), slices: [], cursors: new Map() });

function commit(disk: Disk, batch: readonly Observation[]): void {
  const result = foldObservations(every, throughTheStore(disk.states), batch);
  disk.states = result.states;
  disk.slices.push(...result.slices);
  for (const { entity, at } of batch) disk.cursors.set(entity, Math.max(at, disk.cursors.get(entity) ?? at));
}

const batches = fc.array(fc.integer({ min: 1, max: 12 }), { minLength: 1, maxLength: 90 });

describe('live, history and both', () => {
  test('seen live with a stretch filled from history, overlapping: the counters of history alone', (t) => {
    holds(
      t,
      fc.property(anyFeed, fc.nat(90), fc.nat(90), fc.nat(20), (feed, a, b, overlap) => {
        const [lost, back] = [Math.min(a, b), Math.max(a, b)];
        const live = feed.slice(0, lost);
        const filled = asHistory(feed.slice(Math.max(0, lost - overlap), back));
        const again = feed.slice(Math.max(0, back - overlap));
        let states = initialStates(every);
        const slices: Slice[] = [];
        for (const batch of [live, filled, again]) {
          const part = foldObservations(every, states, mergeByTime([batch]));
          states = part.states;
          slices.push(...part.slices);
        }
        const alone = whole(asHistory(feed));
        assert.deepEqual(throughTheStore(states), throughTheStore(alone.states));
        assert.deepEqual(withoutOrigin(slices), withoutOrigin(alone.slices));
      }),
    );
  });

  test('a long history by columns, the rest live: the same again', (t) => {
    holds(
      t,
      fc.property(anyFeed, fc.nat(90), (feed, cut) => {
        const past = asHistory(feed.slice(0, cut));
        const entities = [...new Set(past.map(({ entity }) => entity))];
        const columns = new Map(
          entities.map((entity) => {
            const rows = past.filter((row) => row.entity === entity);
            const at = Float64Array.from(rows, (row) => row.at);
            const value = Float64Array.from(rows, (row) => row.value ?? Number.NaN);
            return [entity, { at, value, origin: 'history' as const }] as const;
          }),
        );
        const first = foldColumns(every, initialStates(every), columns);
        const rest = foldObservations(every, throughTheStore(first.states), feed.slice(cut));
        const alone = whole(asHistory(feed));
        assert.deepEqual(throughTheStore(rest.states), throughTheStore(alone.states));
        assert.deepEqual(withoutOrigin([...first.slices, ...rest.slices]), withoutOrigin(alone.slices));
      }),
    );
  });
});

describe('killed anywhere', () => {
  test('and started again, as often as one likes: history from the cursors on makes it as if it had run through', (t) => {
    const kills = fc.array(fc.nat(90), { maxLength: 5 });
    holds(
      t,
      fc.property(anyFeed, batches, kills, fc.nat(3 * HOUR_MS), (feed, sizes, killedAt, overlapMs) => {
        const disk = emptyDisk();
        const runs = [...killedAt].sort((a, b) => a - b).concat(feed.length);
        for (const end of runs) {
          // Started: everything from the oldest cursor on, and a little before it, is asked again.
          const known = disk.cursors.size < 3 ? 0 : Math.min(...disk.cursors.values());
          const rows = feed.slice(0, end).filter(({ at }) => at >= known - overlapMs);
          commit(disk, []);
          let from = 0;
          for (const size of [...sizes, feed.length + 1]) {
            const batch = rows.slice(from, from + size);
            // The kill: what was read but not written is gone with the process.
            const isTorn = from + size > rows.length && end < feed.length;
            if (isTorn || batch.length === 0) break;
            commit(disk, batch);
            from += size;
          }
        }
        const through = whole(feed);
        assert.deepEqual(throughTheStore(disk.states), throughTheStore(through.states));
        assert.deepEqual(summed(disk.slices), summed(through.slices));
      }),
    );
  });
});

describe('clocks', () => {
  test('our own clock, right or wrong by years, changes nothing that is counted', (t) => {
    const YEAR_MS = 365 * 24 * HOUR_MS;
    const wrong = fc.array(fc.constantFrom(0, HOUR_MS, -HOUR_MS, YEAR_MS, -YEAR_MS, -T0), {
      minLength: 90,
      maxLength: 90,
    });
    holds(
      t,
      fc.property(anyFeed, wrong, (feed, by) => {
        const received = feed.map((row, index): Observation => ({ ...row, receivedAt: row.at + (by[index] ?? 0) }));
        assert.deepEqual(whole(received), whole(feed));
      }),
    );
  });

  test('shown by a clock that is behind: what is booked, no less and no more', (t) => {
    holds(
      t,
      fc.property(anyFeed, fc.nat(3 * 365 * 24 * HOUR_MS), (feed, behind) => {
        for (const [id, state] of whole(feed).states) {
          const def = every.find((one) => one.id === id);
          if (def === undefined || state.lastAt === null) continue;
          const present = project(def, state, state.lastAt);
          assert.deepEqual(project(def, state, state.lastAt - behind), present);
          for (const [measure, folded] of Object.entries(state.amounts)) {
            const shown = present[measure as keyof typeof present];
            assert.ok(
              shown !== undefined && shown.low >= folded.low && shown.best >= folded.best && shown.high >= folded.high,
            );
          }
        }
      }),
    );
  });

  test("the hub's clock set back: its rows are late until it has caught up, and nothing is counted twice", (t) => {
    holds(
      t,
      fc.property(anyFeed, fc.nat(90), fc.integer({ min: 1, max: 5 * HOUR_MS }), (feed, cut, backMs) => {
        const before = feed.slice(0, cut);
        const set = feed.slice(cut).map((row): Observation => ({ ...row, at: row.at - backMs }));
        const result = whole([...before, ...set]);
        const sorted = whole(before);
        const first = Math.min(...before.map(({ at }) => at), ...set.map(({ at }) => at));
        for (const [id, { amounts }] of result.states) {
          const then = sorted.states.get(id)?.amounts ?? {};
          const { lastAt = null } = result.states.get(id) ?? {};
          const onHours = amounts['on-hours'];
          for (const [measure, folded] of Object.entries(then)) {
            const now = amounts[measure as keyof typeof amounts];
            assert.ok(now !== undefined && now.low >= folded.low && now.high >= folded.high);
          }
          // More time than the hub's clock ever showed is never counted.
          if (onHours !== undefined && lastAt !== null) assert.ok(onHours.high * HOUR_MS <= lastAt - first + 1);
        }
      }),
    );
  });
});
