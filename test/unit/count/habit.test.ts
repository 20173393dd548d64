import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { type CounterState, foldObservations, initialStates, project } from '../../../src/count/index.ts';
import type { Bounds } from '../../../src/model/index.ts';
import type { Observation } from '../../../src/observe/index.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';
import { holds } from './checked.ts';
import { hiddenIn } from './course.ts';
import { counter, ENTITY, foldRows, lamp, type Row, seen } from './make.ts';

/** A Monday at midnight, UTC. */
const MONDAY = Date.UTC(2026, 0, 5);
const WEEK_MS = 7 * DAY_MS;

/** On from ten to six in the evening every day, on Saturdays from noon. */
function days(count: number, from = MONDAY): Row[] {
  return Array.from({ length: count }, (_, day) => from + day * DAY_MS).flatMap((midnight): Row[] => {
    const isSaturday = new Date(midnight).getUTCDay() === 6;
    return [
      [midnight + (isSaturday ? 12 : 10) * HOUR_MS, 1],
      [midnight + 18 * HOUR_MS, 0],
    ];
  });
}

const onHours = (state: CounterState, now: number): Bounds =>
  project(lamp, state, now)['on-hours'] ?? { low: 0, best: 0, high: 0 };
const tidy = (hours: number): number => Math.round(hours * 1e9) / 1e9;
const added = (before: Bounds, after: Bounds): Bounds => ({
  low: tidy(after.low - before.low),
  best: tidy(after.best - before.best),
  high: tidy(after.high - before.high),
});

describe('best across a gap is what the same hours of other weeks say', () => {
  const known = foldRows(lamp, [[MONDAY, 0], ...days(14)]).state;
  const start = MONDAY + 2 * WEEK_MS;
  const gap = (fromHour: number, toHour: number, after: number) => {
    const rows: Row[] = [
      [start + fromHour * HOUR_MS, null],
      [start + toHour * HOUR_MS, after],
    ];
    const { state } = foldRows(lamp, rows, known);
    return added(onHours(known, start + fromHour * HOUR_MS), onHours(state, start + toHour * HOUR_MS));
  };

  test('a whole weekday off the air: the eight hours it usually burns, none of them proven', () => {
    assert.deepEqual(gap(0, 24, 0), { low: 0, best: 8, high: 24 });
  });

  test('a Saturday is not a Monday', () => {
    assert.deepEqual(gap(5 * 24, 6 * 24, 0), { low: 0, best: 6, high: 24 });
  });

  test('a gap that begins and ends within hours takes its share of them', () => {
    assert.deepEqual(gap(9.5, 11.5, 1), { low: 0, best: 1.5, high: 2 });
  });

  test('open, it stands at what those hours say so far', () => {
    const { state } = foldRows(lamp, [[start, null]], known);
    const shown = added(onHours(known, start), onHours(state, start + 12 * HOUR_MS));
    assert.deepEqual(shown, { low: 0, best: 2, high: 12 });
  });

  test('a few minutes between two equal states are no change at all', () => {
    assert.equal(gap(12, 12 + 5 / 60, 0).best, 0);
    assert.ok(gap(12, 12 + 15 / 60, 0).best > 0.2);
    const lit = foldRows(lamp, [[start + 19 * HOUR_MS, 1]], known).state;
    const dip: Row[] = [
      [start + 20.5 * HOUR_MS, null],
      [start + 20.5 * HOUR_MS + 5 * MINUTE_MS, 1],
    ];
    const now = start + 20.5 * HOUR_MS + 5 * MINUTE_MS;
    assert.ok(
      Math.abs(
        added(onHours(lit, start + 20.5 * HOUR_MS), onHours(foldRows(lamp, dip, lit).state, now)).best * 60 - 5,
      ) < 1e-6,
    );
  });

  test('an hour never watched to its end has no habit: as before and after, else half', () => {
    const fresh = foldRows(lamp, [[MONDAY + 10 * MINUTE_MS, 1]]).state;
    const { state } = foldRows(
      lamp,
      [
        [MONDAY + 20 * MINUTE_MS, null],
        [MONDAY + 140 * MINUTE_MS, 1],
      ],
      fresh,
    );
    assert.deepEqual(added(onHours(fresh, MONDAY + 20 * MINUTE_MS), onHours(state, MONDAY + 140 * MINUTE_MS)), {
      low: 0,
      best: 2,
      high: 2,
    });
  });

  test('another schedule is followed within some weeks', () => {
    const late = (count: number, from: number): Row[] =>
      days(count, from).map(([at, value]): Row => [at + 4 * HOUR_MS, value]);
    const moved = foldRows(lamp, late(56, start), known).state;
    const then = start + 8 * WEEK_MS;
    const { state } = foldRows(
      lamp,
      [
        [then, null],
        [then + DAY_MS, 0],
      ],
      moved,
    );
    const { best } = added(onHours(moved, then), onHours(state, then + DAY_MS));
    assert.ok(Math.abs(best - 8) < 0.4, String(best));
    const morning = foldRows(
      lamp,
      [
        [then, null],
        [then + 13 * HOUR_MS, 0],
      ],
      moved,
    ).state;
    assert.ok(added(onHours(moved, then), onHours(morning, then + 13 * HOUR_MS)).best < 0.4);
  });

  test('litres by runtime follow', () => {
    const def = counter({ kind: 'runtime-rate', entity: ENTITY, litresPerHour: 3 }, 'litres');
    const before = foldRows(def, [[MONDAY, 0], ...days(14)]).state;
    const { state } = foldRows(
      def,
      [
        [start, null],
        [start + DAY_MS, 0],
      ],
      before,
    );
    assert.equal((state.amounts.litres?.best ?? 0) - (before.amounts.litres?.best ?? 0), 24);
  });

  test('kept in a few hundred characters', () => {
    assert.equal(known.habit?.length, 336);
    assert.equal(foldRows(lamp, [[MONDAY, 0]]).state.habit, undefined);
  });
});

describe('on a lamp that keeps a schedule, best is nearer to the truth than half of what is possible', () => {
  test('whatever is hidden in the fourth week', (t) => {
    const start = MONDAY + 3 * WEEK_MS;
    const errors: number[] = [];
    const naive: number[] = [];
    holds(
      t,
      fc.property(hiddenIn(start, start + WEEK_MS), fc.integer({ min: -20, max: 20 }), (hidden, lateMinutes) => {
        // The fourth week runs some minutes early or late, so that habit is never quite right.
        const week = days(7, start).map(([at, value]): Row => [at + lateMinutes * MINUTE_MS, value]);
        const all: Row[] = [[MONDAY, 0], ...days(21), ...week];
        const dark = (at: number): boolean => hidden.some(({ from, to }) => from <= at && at < to);
        const valueAt = (at: number): number => all.findLast(([when]) => when <= at)?.[1] ?? 0;
        const feed: Observation[] = [
          ...all.filter(([at]) => !dark(at)).map(([at, value]) => seen(at, value)),
          ...hidden.flatMap(({ from, to }) => [seen(from, null), seen(to, valueAt(to))]),
        ].sort((a, b) => a.at - b.at);
        const state = foldObservations([lamp], initialStates([lamp]), feed).states.get(lamp.id);
        assert.ok(state !== undefined);
        const shown = onHours(state, start + WEEK_MS);
        const truth = 4 * (6 * 8 + 6);
        assert.ok(shown.low <= truth + 1e-9 && truth <= shown.high + 1e-9);
        if (shown.high - shown.low < 1) return;
        errors.push(Math.abs(shown.best - truth));
        naive.push(Math.abs((shown.low + shown.high) / 2 - truth));
      }),
    );
    const mean = (list: readonly number[]): number => list.reduce((sum, each) => sum + each, 0) / list.length;
    t.diagnostic(`mean error ${mean(errors).toFixed(2)} h, of the middle of the bounds ${mean(naive).toFixed(2)} h`);
    assert.ok(mean(errors) < mean(naive) / 4);
  });
});
