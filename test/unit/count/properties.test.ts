import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  type CounterState,
  createFolder,
  type FoldResult,
  foldObservations,
  GRAINS_PER_UNIT,
  initialStates,
  project,
  type Slice,
} from '../../../src/count/index.ts';
import type { Bounds, CounterDef, Measure } from '../../../src/model/index.ts';
import { mergeByTime, type Observation } from '../../../src/observe/index.ts';
import { HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';
import { counter, ENTITY, heldPower, lamp, meter, seen, T0 } from './make.ts';

const RUNS = { numRuns: 1_000 };

const every: readonly CounterDef[] = [
  { ...lamp, id: 'lamp' },
  {
    ...counter(
      { kind: 'power-threshold', entity: ENTITY, onAboveW: 10, offBelowW: 5, minOnMs: 5_000, minOffMs: 90_000 },
      'on-hours',
      'starts',
    ),
    id: 'threshold',
  },
  { ...meter('confirmed', 60), id: 'meter' },
  { ...meter('at-once', 60), id: 'meter-at-once' },
  { ...heldPower(15 * MINUTE_MS, 300), id: 'energy' },
  { ...counter({ kind: 'pulses', entity: ENTITY, litresPerPulse: 1 / 330 }, 'litres'), id: 'pulses' },
  { ...counter({ kind: 'runtime-rate', entity: ENTITY, litresPerHour: 7.892 }, 'litres', 'on-hours'), id: 'runtime' },
];

/** Anything a hub might send of one entity, in order of time. */
const anyFeed: fc.Arbitrary<readonly Observation[]> = fc
  .array(
    fc.record({
      after: fc.oneof(fc.integer({ min: 1, max: 90_000 }), fc.integer({ min: 1, max: 5 * HOUR_MS })),
      value: fc.oneof(
        fc.constantFrom(0, 1, 0, 1, null, 7, -1, 35.6),
        fc.double({ min: 0, max: 400, noNaN: true }),
        fc.integer({ min: 0, max: 40 }),
      ),
      origin: fc.constantFrom('live' as const, 'history' as const),
    }),
    { maxLength: 60 },
  )
  .map((steps) => {
    let at = T0;
    return steps.map(({ after, value, origin }) => {
      at += after;
      return seen(at, value, origin);
    });
  });

function summed(slices: readonly Slice[]): Record<string, Bounds> {
  const sums: Record<string, Bounds> = {};
  for (const { counter: id, measure, hour, origin, add } of slices) {
    const key = `${id} ${measure} ${hour} ${origin}`;
    const { low, best, high } = sums[key] ?? { low: 0, best: 0, high: 0 };
    sums[key] = { low: low + add.low, best: best + add.best, high: high + add.high };
  }
  return Object.fromEntries(Object.entries(sums).sort(([a], [b]) => (a < b ? -1 : 1)));
}

const throughTheStore = (states: FoldResult['states']): FoldResult['states'] =>
  new Map((JSON.parse(JSON.stringify([...states.values()])) as CounterState[]).map((state) => [state.id, state]));

describe('however observations are delivered, the counters are the same to the last bit', () => {
  test('split anywhere, states kept as text in between, some delivered again', () => {
    const cuts = fc.array(fc.record({ at: fc.nat(60), again: fc.nat(10) }), { maxLength: 8 });
    fc.assert(
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
      RUNS,
    );
  });

  test('shuffled within a delivery and merged again', () => {
    fc.assert(
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
      RUNS,
    );
  });

  test('a folder asked for its result in between goes on as if it had not been', () => {
    fc.assert(
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
      { numRuns: 300 },
    );
  });
});

describe('what holds of every counter after any feed', () => {
  test('low ≤ best ≤ high, in the amounts, as they stand later, and in every slice', () => {
    const ordered = ({ low, best, high }: Bounds): void => assert.ok(0 <= low && low <= best && best <= high);
    fc.assert(
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
      RUNS,
    );
  });

  test('amounts never go down, and what is shown as proven or likely neither', () => {
    fc.assert(
      fc.property(anyFeed, (feed) => {
        const folder = createFolder(every, initialStates(every));
        const before = new Map<string, Bounds>();
        const shown = new Map<string, Bounds>();
        for (const observation of feed) {
          for (const def of every) {
            const state = folder.result().states.get(def.id);
            assert.ok(state !== undefined);
            for (const ahead of [0, 0.5, 1]) {
              const lastAt: number = state.lastAt ?? T0;
              const now: number = Math.floor(lastAt + ahead * (observation.at - lastAt));
              for (const [measure, amount] of Object.entries(project(def, state, now))) {
                const last: Bounds = shown.get(`${def.id} ${measure}`) ?? amount;
                assert.ok(amount.low >= last.low && amount.best >= last.best, `${def.id} ${measure}`);
                shown.set(`${def.id} ${measure}`, amount);
              }
            }
          }
          folder.take(observation);
          for (const state of folder.result().states.values()) {
            for (const [measure, amount] of Object.entries(state.amounts)) {
              const last = before.get(`${state.id} ${measure}`) ?? amount;
              assert.ok(amount.low >= last.low && amount.best >= last.best && amount.high >= last.high);
              before.set(`${state.id} ${measure}`, amount);
            }
          }
        }
      }),
      { numRuns: 300 },
    );
  });

  test('the slices are the amounts, grain for grain', () => {
    fc.assert(
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
      RUNS,
    );
  });
});
