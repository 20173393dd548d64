import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { SlackwaterError } from '../../../src/errors/index.ts';
import type { Actor, PartLife } from '../../../src/model/index.ts';
import { initialMinutes, type MinutePower, takeMinutes } from '../../../src/observe/index.ts';
import { lifeUsage, recountFromMinutes, recountPart, seedPart } from '../../../src/record/index.ts';
import { DAY_MS, HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';
import { exact, lamp, sourcesOf } from './tank.ts';

const T0 = Date.UTC(2025, 0, 1);
const day = (n: number): number => T0 + n * DAY_MS;
const ana: Actor = { kind: 'person', name: 'Ana', via: 'api' };
const code = (run: () => unknown): string => {
  try {
    run();
  } catch (error) {
    assert.ok(error instanceof SlackwaterError);
    return error.code;
  }
  return 'none';
};
/** Counting since day 100, 8 h a day. */
const at = (now: number) =>
  sourcesOf({
    folded: exact(((now - day(100)) / DAY_MS) * 8),
    countingSince: day(100),
    lastAt: now,
    slices: Array.from({ length: (now - day(100)) / HOUR_MS }, (_, i) => ({
      hour: day(100) + i * HOUR_MS,
      add: exact(1 / 3),
    })),
  });
const hours = (life: PartLife, now: number) => {
  const found = lifeUsage(lamp, life, now, at(now)).find(({ measure }) => measure === 'on-hours');
  assert.ok(found);
  const { low, best, high } = found;
  return [low, best, high].map((value) => Math.round(value * 1e6) / 1e6);
};
const seed = (more: Partial<Parameters<typeof seedPart>[0]>) =>
  seedPart({
    part: lamp,
    present: null,
    now: day(110),
    fittedAt: day(0),
    by: ana,
    sources: at(day(110)),
    ...more,
  });

describe('seedPart', () => {
  test("a date and the keeper's word: what is on it now, and what is counted from here on", () => {
    const { life, entry } = seed({ used: { 'on-hours': { low: 800, best: 900, high: 1000 } } });
    assert.deepEqual(hours(life, day(110)), [800, 900, 1000]);
    assert.deepEqual(hours(life, day(120)), [880, 980, 1080]);
    assert.equal(entry.carried['on-hours']?.origin, 'person');
    assert.equal(lifeUsage(lamp, life, day(110), at(day(110))).find(({ measure }) => measure === 'days')?.best, 110);
  });

  test('a date alone: the unseen past has bounds, from nothing to all the clock allows', () => {
    const { life } = seed({});
    assert.deepEqual(hours(life, day(110)), [80, 880, 80 + 2400]);
  });

  test('what the hub still knows narrows it, up to where counting took over', () => {
    const known = { 'on-hours': { low: 700, best: 790, high: 860, until: day(100), origin: 'statistics' as const } };
    assert.deepEqual(hours(seed({ known }).life, day(110)), [780, 870, 940]);
    // Known only up to day 90: ten more days may hold up to 240 h.
    const short = { 'on-hours': { ...known['on-hours'], until: day(90) } };
    assert.deepEqual(hours(seed({ known: short }).life, day(110)), [780, 870 + 80, 940 + 240]);
    // The word of a person who stood at the tank stands over it.
    assert.deepEqual(hours(seed({ known, used: { 'on-hours': exact(900) } }).life, day(110)), [900, 900, 900]);
  });

  test('refused: the future, a part that was replaced here, a measure nothing counts', () => {
    assert.equal(
      code(() => seed({ fittedAt: day(111) })),
      'SW-REC-003',
    );
    const second = { part: 'lamp', number: 2, fittedAt: day(105), fittedBy: 'Ana' };
    assert.equal(
      code(() => seed({ present: second })),
      'SW-REC-011',
    );
    assert.equal(
      code(() => seed({ used: { litres: exact(3) } })),
      'SW-REC-012',
    );
  });

  test('low ≤ truth ≤ high, for any past inside what was said and any future', () => {
    const triple = fc.tuple(fc.nat(2400), fc.nat(2400), fc.nat(2400)).map((list) => list.sort((a, b) => a - b));
    fc.assert(
      fc.property(triple, fc.nat(40), ([low = 0, truth = 0, high = 0], later) => {
        const { life } = seed({ used: { 'on-hours': { low, best: truth, high } } });
        const [least = 0, best = 0, most = 0] = hours(life, day(110 + later));
        const real = truth + 8 * later;
        assert.ok(least <= real + 1e-3 && real <= most + 1e-3 && Math.abs(best - real) < 1e-3);
      }),
      { numRuns: 1000 },
    );
  });
});

const minute = (i: number, minW: number, meanW: number, maxW: number, knownMs = MINUTE_MS): MinutePower => ({
  minute: T0 + i * MINUTE_MS,
  knownMs,
  minW,
  meanW,
  maxW,
});

describe('recountFromMinutes', () => {
  test('above counts whole, below not at all, a mixed minute by its mean', () => {
    const minutes = [minute(0, 60, 61, 62), minute(1, 0, 1, 2), minute(2, 0, 15, 60)];
    const { low, best, high } = recountFromMinutes(minutes, 20);
    assert.deepEqual(
      [low, best, high].map((value) => value * 60),
      [1, 1.25, 2],
    );
  });

  test('what was not kept may have been anything', () => {
    const window = { from: T0, to: T0 + 2 * HOUR_MS };
    const minutes = Array.from({ length: 60 }, (_, i) => minute(i, 60, 60, 60));
    assert.deepEqual(recountFromMinutes(minutes, 20, window), { low: 1, best: 2, high: 2 });
    assert.deepEqual(recountFromMinutes([], 20, window), { low: 0, best: 0, high: 2 });
    // Half a minute known and above; the other half unknown.
    const { low, best, high } = recountFromMinutes([minute(0, 60, 60, 60, 30_000)], 20);
    assert.deepEqual([low * 120, best * 60, high * 60], [1, 1, 1]);
  });

  test('a minute given twice counts once', () => {
    assert.equal(recountFromMinutes([minute(0, 60, 60, 60), minute(0, 60, 60, 60)], 20).best * 60, 1);
  });

  test('low ≤ truth ≤ high for any watts, cut anywhere, with any gaps', () => {
    const step = fc.record({
      seconds: fc.integer({ min: 1, max: 400 }),
      watts: fc.option(fc.integer({ min: 0, max: 100 }), { nil: null, freq: 6 }),
      hidden: fc.integer({ min: 0, max: 100 }),
    });
    fc.assert(
      fc.property(
        fc.array(step, { minLength: 2, maxLength: 60 }),
        fc.integer({ min: 1, max: 99 }),
        fc.nat(3000),
        (steps, threshold, cutS) => {
          let now = T0;
          const rows: { at: number; value: number | null }[] = [];
          const truth: { from: number; to: number; isOn: boolean }[] = [];
          for (const { seconds, watts, hidden } of steps) {
            rows.push({ at: now, value: watts });
            truth.push({ from: now, to: now + seconds * 1000, isOn: (watts ?? hidden) > threshold });
            now += seconds * 1000;
          }
          rows.push({ at: now, value: null });
          const window = { from: Math.min(now, T0 + cutS * 1000), to: now };
          const { minutes } = takeMinutes(initialMinutes, rows);
          const { low, best, high } = recountFromMinutes(minutes, threshold, window);
          const real =
            truth.reduce(
              (sum, { from, to, isOn }) => sum + (isOn ? Math.max(0, to - Math.max(from, window.from)) : 0),
              0,
            ) / HOUR_MS;
          assert.ok(low <= real + 1e-9, `low ${low} over ${real}`);
          assert.ok(high >= real - 1e-9, `high ${high} under ${real}`);
          assert.ok(low <= best && best <= high);
        },
      ),
      { numRuns: 2000 },
    );
  });
});

describe('recountPart', () => {
  const present: PartLife = { part: 'lamp', number: 2, fittedAt: day(109), fittedBy: 'Ana' };
  const now = day(110);
  const minutes = Array.from(
    { length: 1440 },
    (_, i): MinutePower => ({
      ...minute(0, i < 600 ? 30 : 0, i < 600 ? 30 : 0, i < 600 ? 30 : 0),
      minute: day(109) + i * MINUTE_MS,
    }),
  );
  const input = { part: lamp, present, thresholdW: 20, minutes, now, by: ana, sources: at(now) };

  test('shows the old and the new figure; taken, counting goes on from the new one', () => {
    const { old, now: fresh, life, keptMinutes, allMinutes } = recountPart(input);
    assert.ok(Math.abs(old.best - 8) < 1e-9);
    assert.deepEqual(fresh, { low: 10, best: 10, high: 10 });
    assert.deepEqual([keptMinutes, allMinutes], [1440, 1440]);
    assert.deepEqual(hours(life, now), [10, 10, 10]);
    assert.deepEqual(hours(life, day(111)), [18, 18, 18]);
  });

  test('refused where no minute was kept', () => {
    assert.equal(
      code(() => recountPart({ ...input, minutes: [] })),
      'SW-REC-013',
    );
    assert.equal(
      code(() => recountPart({ ...input, present: null })),
      'SW-REC-013',
    );
  });
});
