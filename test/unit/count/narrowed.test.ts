import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { foldObservations, initialStates, project } from '../../../src/count/index.ts';
import type { CounterDef } from '../../../src/model/index.ts';
import { mergeByTime, type Observation } from '../../../src/observe/index.ts';
import { HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';
import { holds } from './checked.ts';
import { type Hidden, hiddenIn, hiddenMs, inside, type Piece, pieces, total, visible } from './course.ts';
import { COMPANION, narrowing } from './feeds.ts';
import { counter, ENTITY, lamp, seen, T0 } from './make.ts';

/** The meter moves on in steps of 10 Wh, and so is never further behind; its rows come in whole milliseconds. */
const STEP_KWH = 0.01;
const by = { ...narrowing, coarseness: STEP_KWH + 1e-6 };
const narrowed: CounterDef = counter({ kind: 'on-state', entity: ENTITY, narrowedBy: by }, 'on-hours', 'starts');
const rows = (...list: readonly (readonly [number, number | null, string?])[]): readonly Observation[] =>
  list.map(([minute, value, entity = ENTITY]) => seen(T0 + minute * MINUTE_MS, value, 'live', entity));

function shown(def: CounterDef, feed: readonly Observation[], now: number) {
  const state = foldObservations([def], initialStates([def]), feed).states.get(def.id);
  assert.ok(state !== undefined);
  const onHours = project(def, state, now)['on-hours'];
  assert.ok(onHours !== undefined);
  return { state, onHours };
}

/** What the device draws in each piece of its course, in kWh an hour; and where its lifetime meter begins again at zero. */
type Draw = { readonly rates: readonly number[]; readonly start: number; readonly resetAt: number | null };

/** Every step the meter takes, from its beginning. */
function meterRows(course: readonly Piece[], end: number, draw: Draw): readonly (readonly [number, number])[] {
  const found: (readonly [number, number])[] = [[T0, draw.start]];
  let used = draw.start;
  const cuts = [...course.map(({ from }) => from), end];
  for (const [index, { from }] of course.entries()) {
    const to = cuts[index + 1] ?? end;
    const rate = draw.rates[index] ?? 0;
    for (const [a, b] of draw.resetAt !== null && from < draw.resetAt && draw.resetAt < to
      ? [
          [from, draw.resetAt],
          [draw.resetAt, to],
        ]
      : [[from, to]]) {
      if (a === undefined || b === undefined) continue;
      if (a === draw.resetAt) {
        used = 0;
        found.push([a, 0]);
      }
      const next = used + (rate * (b - a)) / HOUR_MS;
      for (let step = Math.floor(used / STEP_KWH) + 1; step * STEP_KWH <= next && rate > 0; step++) {
        const at = Math.ceil(a + ((step * STEP_KWH - used) / rate) * HOUR_MS);
        if (at < b) found.push([at, Math.round(step * STEP_KWH * 1e6) / 1e6]);
      }
      used = next;
    }
  }
  return found;
}

/** Meter rows outside its own dark stretches, a gap where one begins, the present reading where it ends. */
function visibleMeter(all: readonly (readonly [number, number])[], dark: readonly Hidden[]): readonly Observation[] {
  const at = (when: number): number => all.findLast(([time]) => time <= when)?.[1] ?? 0;
  const hiddenAt = (when: number): boolean => dark.some(({ from, to }) => from <= when && when < to);
  return [
    ...all.filter(([when]) => !hiddenAt(when)).map(([when, value]) => seen(when, value, 'live', COMPANION)),
    ...dark.flatMap(({ from, to }) => [seen(from, null, 'live', COMPANION), seen(to, at(to), 'live', COMPANION)]),
  ];
}

const situation = fc
  .array(fc.integer({ min: MINUTE_MS, max: 4 * HOUR_MS }), { minLength: 2, maxLength: 16 })
  .chain((lengths) =>
    fc.record({
      lengths: fc.constant(lengths),
      hidden: hiddenIn(T0, T0 + total(lengths)),
      shares: fc.array(fc.double({ min: 0, max: 1, noNaN: true }), { minLength: 16, maxLength: 16 }),
      start: fc.constantFrom(0, 1.5, 812.34),
      /** The meter comes back some seconds before or after the switch, or is not dark at all. */
      meterLateMs: fc.option(fc.integer({ min: -90_000, max: 90_000 })),
      resetAt: fc.option(fc.integer({ min: T0, max: T0 + total(lengths) }), { freq: 3 }),
    }),
  );

describe('a lifetime meter beside the switch narrows what a gap leaves open', () => {
  test('the meter says how long: an hour lit of two unseen', () => {
    const feed = rows(
      [0, 0],
      [0, 100, COMPANION],
      [60, null],
      [60, null, COMPANION],
      [180, 0],
      [180, 100.2, COMPANION],
    );
    const { onHours } = shown(narrowed, feed, T0 + 180 * MINUTE_MS);
    // 0.19 to 0.21 kWh were used; off, up to 0.002 kWh an hour: at least (0.19 - 3 × 0.002) / 0.198 h.
    assert.ok(
      Math.abs(onHours.low - 0.92929) < 1e-4 && Math.abs(onHours.high - 0.21 / 0.19) < 1e-4,
      JSON.stringify(onHours),
    );
    assert.ok(Math.abs(onHours.best - (onHours.low + onHours.high) / 2) < 1e-6);
    const plain = shown(lamp, feed, T0 + 180 * MINUTE_MS).onHours;
    assert.deepEqual(plain, { low: 0, best: 0, high: 2 });
  });

  test('nothing used: as good as off', () => {
    const feed = rows([0, 0], [0, 100, COMPANION], [60, null], [180, 0], [180, 100, COMPANION]);
    const { onHours } = shown(narrowed, feed, T0 + 180 * MINUTE_MS);
    assert.equal(onHours.low, 0);
    assert.ok(onHours.high <= by.coarseness / 0.19 + 1e-6);
  });

  test('until the meter is read again all is possible, and nothing of it is booked', () => {
    const feed = rows([0, 0], [0, 100, COMPANION], [60, null], [60, null, COMPANION], [180, 0]);
    const { state, onHours } = shown(narrowed, feed, T0 + 200 * MINUTE_MS);
    assert.deepEqual(onHours, { low: 0, best: 0, high: 2 });
    assert.deepEqual(state.amounts['on-hours'], { low: 0, best: 0, high: 0 });
  });

  test('a meter that fell, or that used more than the device can, says nothing', () => {
    for (const reading of [3, 105]) {
      const feed = rows(
        [0, 0],
        [0, 100, COMPANION],
        [60, null],
        [60, null, COMPANION],
        [180, 1],
        [180, reading, COMPANION],
      );
      const { onHours } = shown(narrowed, feed, T0 + 180 * MINUTE_MS);
      assert.deepEqual(onHours, { low: 0, best: 1, high: 2 });
    }
  });

  test('the truth stays inside and the bounds are never wider, whatever is hidden of the switch and of the meter', (t) => {
    const shares: number[] = [];
    holds(
      t,
      fc.property(situation, ({ lengths, hidden, shares: draws, start, meterLateMs, resetAt }) => {
        const course = pieces(lengths, (index) => index % 2);
        const end = T0 + total(lengths);
        const rates = course.map(({ value }, index) => {
          const share = draws[index] ?? 0;
          return value === 1
            ? by.leastPerHourOn + share * (by.mostPerHourOn - by.leastPerHourOn)
            : share * by.mostPerHourOff;
        });
        const dark =
          meterLateMs === null
            ? []
            : hidden.map(({ from, to }) => ({ from, to: Math.max(from + 1, to + meterLateMs) }));
        const apart = dark.filter(({ from }, index) => from > (dark[index - 1]?.to ?? 0));
        const meter = visibleMeter(meterRows(course, end, { rates, start, resetAt }), apart);
        const own = visible(course, hidden).map(([at, value]) => seen(at, value));
        const feed = mergeByTime([own, meter.filter(({ at }) => at <= end)]);
        const onMs = total(lengths.filter((_, index) => index % 2 === 1));
        const narrow = shown(narrowed, feed, end).onHours;
        const plain = shown(lamp, own, end).onHours;
        inside(onMs / HOUR_MS, narrow, 1e-9);
        assert.ok(narrow.high - narrow.low <= plain.high - plain.low + 1e-9);
        const unseenH = hiddenMs(hidden) / HOUR_MS;
        // Gaps longer than a quarter of an hour, after which the meter was heard again, and not begun anew by a person.
        const heard = hidden.every(({ to }) => to + 90_000 < end) && resetAt === null && start > 100;
        if (heard && unseenH > 0.25) shares.push((narrow.high - narrow.low) / unseenH);
      }),
    );
    shares.sort((a, b) => a - b);
    const median = shares[Math.floor(shares.length / 2)] ?? 1;
    t.diagnostic(`median width ${(100 * median).toFixed(1)} % of the hidden time in ${shares.length} cases`);
    assert.ok(shares.length > 50 && median < 0.25, 'the bounds are not idle: under a quarter of what was possible');
  });
});
