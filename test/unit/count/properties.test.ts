import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  createFolder,
  foldObservations,
  GRAINS_PER_UNIT,
  initialStates,
  project,
  type Slice,
} from '../../../src/count/index.ts';
import type { Bounds, Measure } from '../../../src/model/index.ts';
import { mergeByTime } from '../../../src/observe/index.ts';
import { HOUR_MS } from '../../../src/units/index.ts';
import { holds } from './checked.ts';
import { anyFeed, every, summed, throughTheStore } from './feeds.ts';
import { T0 } from './make.ts';

describe('however observations are delivered, the counters are the same to the last bit', () => {
  test('split anywhere, states kept as text in between, some delivered again', (t) => {
    const cuts = fc.array(fc.record({ at: fc.nat(60), again: fc.nat(10) }), { maxLength: 8 });
    holds(
      t,
      fc.property(anyFeed, cuts, (feed, where) => {
        const whole = foldObservations(every, initialStates(every), feed);
        let states = initialStates(every);
        const slices: Slice[] = [];
        const resets: unknown[] = [];
        const doubts: unknown[] = [];
        let from = 0;
        for (const { at, again } of [...where].sort((a, b) => a.at - b.at).concat({ at: 60, again: 3 })) {
          const part = foldObservations(every, throughTheStore(states), feed.slice(Math.max(0, from - again), at));
          ({ states } = part);
          slices.push(...part.slices);
          resets.push(...part.resets);
          doubts.push(...part.doubts);
          from = at;
        }
        assert.deepEqual(throughTheStore(states), throughTheStore(whole.states));
        assert.deepEqual(summed(slices), summed(whole.slices));
        assert.deepEqual(resets.length, whole.resets.length);
        assert.deepEqual(doubts.length, whole.doubts.length);
      }),
    );
  });

  test('shuffled within a delivery and merged again', (t) => {
    holds(
      t,
      fc.property(
        anyFeed.chain((feed) =>
          fc.tuple(fc.constant(feed), fc.shuffledSubarray([...feed], { minLength: feed.length }), fc.nat(60)),
        ),
        ([feed, shuffled, cut]) => {
          const merged = mergeByTime([shuffled.slice(cut), shuffled.slice(0, cut), feed.slice(0, cut)]);
          const a = foldObservations(every, initialStates(every), merged);
          const b = foldObservations(every, initialStates(every), feed);
          assert.deepEqual(a, b);
        },
      ),
    );
  });

  test('a folder asked for its result in between goes on as if it had not been', (t) => {
    holds(
      t,
      fc.property(anyFeed, (feed) => {
        const folder = createFolder(every, initialStates(every));
        const slices: Slice[] = [];
        for (const observation of feed) {
          folder.take(observation);
          slices.push(...folder.result().slices);
        }
        const whole = foldObservations(every, initialStates(every), feed);
        assert.deepEqual(folder.result().states, whole.states);
        assert.deepEqual(summed(slices), summed(whole.slices));
      }),
    );
  });
});

describe('what holds of every counter after any feed', () => {
  test('low ≤ best ≤ high, in the amounts, as they stand later, and in every slice', (t) => {
    const ordered = ({ low, best, high }: Bounds): void => assert.ok(0 <= low && low <= best && best <= high);
    holds(
      t,
      fc.property(anyFeed, fc.nat(10 * HOUR_MS), (feed, later) => {
        const { states, slices } = foldObservations(every, initialStates(every), feed);
        for (const def of every) {
          const state = states.get(def.id);
          assert.ok(state !== undefined);
          for (const amount of Object.values(state.amounts)) ordered(amount);
          const now = (state.lastAt ?? T0) + later;
          for (const amount of Object.values(project(def, state, now))) ordered(amount);
        }
        for (const { add } of slices) ordered(add);
      }),
    );
  });

  test('amounts never go down, and what is shown as proven or likely neither', (t) => {
    holds(
      t,
      fc.property(anyFeed, (feed) => {
        const folder = createFolder(every, initialStates(every));
        const before = new Map<string, Bounds>();
        const shown = new Map<string, Bounds>();
        let seenAt = T0;
        for (const observation of feed) {
          for (const def of every) {
            const state = folder.result().states.get(def.id);
            assert.ok(state !== undefined);
            for (const ahead of [0.5, 1]) {
              const now = Math.floor(seenAt + ahead * (observation.at - seenAt));
              for (const [measure, amount] of Object.entries(project(def, state, now))) {
                const last: Bounds = shown.get(`${def.id} ${measure}`) ?? amount;
                assert.ok(amount.low >= last.low && amount.best >= last.best, `${def.id} ${measure}`);
                shown.set(`${def.id} ${measure}`, amount);
              }
            }
          }
          folder.take(observation);
          seenAt = observation.at;
          for (const state of folder.result().states.values()) {
            for (const [measure, amount] of Object.entries(state.amounts)) {
              const last = before.get(`${state.id} ${measure}`) ?? amount;
              assert.ok(amount.low >= last.low && amount.best >= last.best && amount.high >= last.high);
              before.set(`${state.id} ${measure}`, amount);
            }
          }
        }
      }),
    );
  });

  test('the slices are the amounts, grain for grain', (t) => {
    holds(
      t,
      fc.property(anyFeed, (feed) => {
        const { states, slices } = foldObservations(every, initialStates(every), feed);
        for (const state of states.values()) {
          for (const measure of Object.keys(state.amounts) as Measure[]) {
            const mine = slices.filter((slice) => slice.counter === state.id && slice.measure === measure);
            for (const bound of ['Low', 'Best', 'High'] as const) {
              const key = bound.toLowerCase() as 'low' | 'best' | 'high';
              const sum = mine.reduce((total, slice) => total + slice.add[key], 0);
              const whole = state.memory[`${measure}.whole${bound}`] ?? 0;
              const rest = state.memory[`${measure}.rest${bound}`] ?? 0;
              assert.equal(sum, whole * GRAINS_PER_UNIT[measure] + rest, `${state.id} ${measure} ${key}`);
            }
          }
        }
      }),
    );
  });
});
