import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  initialMinutes,
  type MinuteOptions,
  type MinutePower,
  type MinuteState,
  takeMinutes,
} from '../../../src/observe/index.ts';
import { MINUTE_MS } from '../../../src/units/index.ts';

type Seen = { readonly at: number; readonly value: number | null };

const SEED = Number(process.env['MINUTES_SEED'] ?? 20_261_125);
const START = Date.UTC(2026, 2, 1, 5, 59, 30);

const seen = (at: number, value: number | null): Seen => ({ at: START + at, value });
const take = (rows: readonly Seen[], options: MinuteOptions = {}, state = initialMinutes) =>
  takeMinutes(state, rows, options);

/** Feeds with repeats of a time, long silences and gaps; times in whole tenths of a second. */
const feeds = fc
  .array(
    fc.record({
      step: fc.oneof({ weight: 8, arbitrary: fc.nat(900) }, { weight: 1, arbitrary: fc.nat(9_000) }),
      value: fc.oneof(
        { weight: 8, arbitrary: fc.nat(900).map((tenths) => tenths / 10 - 0.5) },
        { weight: 2, arbitrary: fc.constant(null) },
      ),
    }),
    { maxLength: 60 },
  )
  .map((rows) => {
    let at = 0;
    return rows.map(({ step, value }) => {
      at += step * 100;
      return seen(at, value);
    });
  });
const holds = fc.option(
  fc.integer({ min: 1, max: 40 }).map((steps) => steps * 5_000),
  { nil: undefined },
);
const optionsOf = (maxHoldMs: number | undefined): MinuteOptions => (maxHoldMs === undefined ? {} : { maxHoldMs });

/** The same by looking at every tenth of a second for itself. */
function slowly(rows: readonly Seen[], maxHoldMs = Number.POSITIVE_INFINITY): MinutePower[] {
  const distinct = rows.filter((row, index) => index === 0 || row.at > (rows[index - 1]?.at ?? 0));
  const last = distinct.at(-1)?.at ?? 0;
  const found = new Map<number, number[]>();
  for (const [index, { at, value }] of distinct.entries()) {
    const next = distinct[index + 1]?.at ?? at;
    if (value === null) continue;
    for (let tick = at; tick < Math.min(next, at + maxHoldMs); tick += 100) {
      const minute = tick - (tick % MINUTE_MS);
      if (minute + MINUTE_MS > last) break;
      const ticks = found.get(minute) ?? [];
      ticks.push(Math.max(0, value));
      found.set(minute, ticks);
    }
  }
  return [...found].map(([minute, watts]) => ({
    minute,
    knownMs: watts.length * 100,
    minW: Math.min(...watts),
    meanW: watts.reduce((sum, one) => sum + one, 0) / watts.length,
    maxW: Math.max(...watts),
  }));
}

const rounded = (minutes: readonly MinutePower[]) =>
  minutes.map((one) => ({ ...one, meanW: Math.round(one.meanW * 1e6) / 1e6 }));

describe('minutes of power', () => {
  test('a value is held until the next one, and the minute it ends in is still open', () => {
    const { minutes, state } = take([seen(0, 10), seen(45_000, 40), seen(95_000, 0)]);
    assert.deepEqual(minutes, [
      { minute: START - 30_000, knownMs: 30_000, minW: 10, meanW: 10, maxW: 10 },
      { minute: START + 30_000, knownMs: 60_000, minW: 10, meanW: 32.5, maxW: 40 },
    ]);
    assert.equal(state.knownMs, 5_000);
    assert.equal(state.watts, 0);
  });

  test('a gap is unknown, not zero', () => {
    const { minutes } = take([seen(30_000, 20), seen(40_000, null), seen(400_000, 5), seen(450_000, 5)]);
    assert.deepEqual(minutes, [
      { minute: START + 30_000, knownMs: 10_000, minW: 20, meanW: 20, maxW: 20 },
      { minute: START + 390_000, knownMs: 50_000, minW: 5, meanW: 5, maxW: 5 },
    ]);
  });

  test('what is older than it may be held proves nothing any more', () => {
    const { minutes } = take([seen(30_000, 20), seen(630_000, 20)], { maxHoldMs: 90_000 });
    assert.deepEqual(
      minutes.map(({ minute, knownMs }) => [minute - START, knownMs]),
      [
        [30_000, 60_000],
        [90_000, 30_000],
      ],
    );
  });

  test('a plug that reads below zero when idle reads zero', () => {
    assert.deepEqual(take([seen(30_000, -0.4), seen(90_000, 1)]).minutes, [
      { minute: START + 30_000, knownMs: 60_000, minW: 0, meanW: 0, maxW: 0 },
    ]);
  });

  test(`as counted tick by tick, whatever comes (seed ${SEED})`, () => {
    fc.assert(
      fc.property(feeds, holds, (rows, maxHoldMs) => {
        const { minutes } = take(rows, optionsOf(maxHoldMs));
        assert.deepEqual(rounded(minutes), rounded(slowly(rows, maxHoldMs)));
      }),
      { seed: SEED, numRuns: 1_000 },
    );
  });

  test(`cut into batches, repeated and put through JSON, it is bit-equal (seed ${SEED})`, () => {
    fc.assert(
      fc.property(feeds, holds, fc.infiniteStream(fc.nat(7)), (rows, maxHoldMs, cuts) => {
        const options = optionsOf(maxHoldMs);
        const whole = take(rows, options);
        let state: MinuteState = initialMinutes;
        const minutes: MinutePower[] = [];
        for (let from = 0; from < rows.length; ) {
          const size = cuts.next().value ?? 1;
          const again = Math.max(0, from - (cuts.next().value ?? 0));
          const part = take(rows.slice(again, from + size), options, state);
          minutes.push(...part.minutes);
          state = JSON.parse(JSON.stringify(part.state));
          from += size;
        }
        assert.deepEqual(minutes, whole.minutes);
        assert.deepEqual(state, whole.state);
      }),
      { seed: SEED, numRuns: 1_000 },
    );
  });

  test(`known time never exceeds the minute, and least ≤ mean ≤ most (seed ${SEED})`, () => {
    const fine = fc.array(fc.tuple(fc.nat(200_000), fc.option(fc.double({ min: 0, max: 3_000, noNaN: true }))));
    fc.assert(
      fc.property(fine, (pairs) => {
        const rows = pairs.map(([at, value]) => seen(at, value)).sort((a, b) => a.at - b.at);
        for (const { minute, knownMs, minW, meanW, maxW } of take(rows).minutes) {
          assert.equal(minute % MINUTE_MS, 0);
          assert.ok(knownMs > 0 && knownMs <= MINUTE_MS);
          assert.ok(minW <= meanW && meanW <= maxW);
        }
      }),
      { seed: SEED, numRuns: 1_000 },
    );
  });
});
