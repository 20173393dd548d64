import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import type { Bounds, CounterDef, PartLife } from '../../../src/model/index.ts';
import { baselineOf, fitPart, lifeUsage, mostPerHour } from '../../../src/record/index.ts';
import { DAY_MS, HOUR_MS } from '../../../src/units/index.ts';
import { exact, lamp, lampHours, sourcesOf } from './tank.ts';

const T0 = Date.UTC(2025, 0, 1);
const lifeAt = (fittedAt: number, more: Partial<PartLife> = {}): PartLife => ({
  part: 'lamp',
  number: 2,
  fittedAt,
  fittedBy: 'Ana',
  ...more,
});
const hours = (life: PartLife | null, now: number, sources: Parameters<typeof lifeUsage>[3], part = lamp) => {
  const usage = lifeUsage(part, life, now, sources).find((one) => one.measure === 'on-hours');
  assert.ok(usage);
  return usage;
};
const bounds = ({ low, best, high }: Bounds) => [low, best, high];

describe('lifeUsage', () => {
  test('days run from the fitting exactly, with what a second-hand part brought along', () => {
    const sources = sourcesOf({ folded: exact(0), countingSince: T0 });
    const age = (life: PartLife | null, part = lamp) =>
      lifeUsage(part, life, T0 + 36 * HOUR_MS, sources).find((one) => one.measure === 'days');
    assert.deepEqual(age(lifeAt(T0))?.best, 1.5);
    assert.deepEqual(age(lifeAt(T0, { number: 1 }), { ...lamp, usedBefore: { days: 10 } })?.best, 11.5);
    assert.equal(age(null)?.countingSince, null);
  });

  test('a baseline is taken off the amounts, tail included', () => {
    const sources = sourcesOf({
      folded: { low: 100, best: 110, high: 120 },
      tail: exact(2),
      countingSince: T0,
      lastAt: T0 + DAY_MS,
    });
    const life = lifeAt(T0 + 5, { baseline: { 'lamp-hours': { 'on-hours': { low: 90, best: 95, high: 100 } } } });
    const usage = hours(life, T0 + 2 * DAY_MS, sources);
    assert.deepEqual(bounds(usage), [12, 17, 22]);
    assert.equal(usage.countingSince, T0 + 5);
  });

  test('fitted while counting ran, without a baseline: hourly sums since, the cut hour bounded by its time', () => {
    const sources = sourcesOf({
      folded: exact(3),
      tail: exact(0.5),
      countingSince: T0,
      lastAt: T0 + 3 * HOUR_MS,
      slices: [0, 1, 2].map((i) => ({ hour: T0 + i * HOUR_MS, add: exact(i === 1 ? 0.75 : 1) })),
    });
    // Half of the second hour is left: of its 0.75 h at least 0.25 and at most 0.5 came after.
    const usage = hours(lifeAt(T0 + 1.5 * HOUR_MS), T0 + 3.5 * HOUR_MS, sources);
    assert.deepEqual(bounds(usage), [1.75, 1.875, 2]);
  });

  test('fitted before counting began: low what was seen, high all the clock allows, best by habit', () => {
    const sources = sourcesOf({ folded: exact(90), countingSince: T0, lastAt: T0 + 10 * DAY_MS });
    const usage = hours(lifeAt(T0 - 20 * DAY_MS), T0 + 10 * DAY_MS, sources);
    assert.deepEqual(bounds(usage), [90, 90 + 9 * 20, 90 + 24 * 20]);
    assert.equal(usage.countingSince, T0);
  });

  test('starts before counting began: bounded by habit, so that an older part is not called due on the first day', () => {
    const given = (days: number, starts: number) => {
      const sources = sourcesOf({ measure: 'starts', folded: exact(starts), countingSince: T0 });
      const part = { ...lamp, limits: [], usageFrom: { starts: 'lamp-hours' } };
      return lifeUsage(part, lifeAt(T0 - 100 * DAY_MS), T0 + days * DAY_MS, sources)[0];
    };
    assert.deepEqual(given(10, 500), { measure: 'starts', low: 500, best: 5500, high: 20_500, countingSince: T0 });
    // Nothing seen in ten days: at most one an hour before.
    assert.deepEqual(given(10, 0), { measure: 'starts', low: 0, best: 0, high: 2400, countingSince: T0 });
    assert.equal(given(0.5, 20)?.countingSince, null);
  });

  test("the keeper's word on the past stands in for what was not seen, in the first life only", () => {
    const sources = sourcesOf({ folded: exact(90), countingSince: T0 });
    const part = { ...lamp, usedBefore: { 'on-hours': 500 } };
    assert.deepEqual(
      bounds(hours(lifeAt(T0 - DAY_MS, { number: 1 }), T0 + 10 * DAY_MS, sources, part)),
      [590, 590, 590],
    );
    assert.deepEqual(
      bounds(
        hours(lifeAt(T0, { baseline: { 'lamp-hours': { 'on-hours': exact(80) } } }), T0 + 10 * DAY_MS, sources, part),
      ),
      [10, 10, 10],
    );
  });

  test('a counter that never saw its source gives null, not zero hours', () => {
    const sources = sourcesOf({ folded: exact(0), countingSince: null });
    assert.equal(hours(lifeAt(T0), T0 + DAY_MS, sources).countingSince, null);
    assert.equal(hours(lifeAt(T0), T0 + DAY_MS, { counters: new Map(), slices: () => [] }).countingSince, null);
  });

  test('the most an hour can add comes from the source', () => {
    const def = (source: CounterDef['source']): CounterDef => ({ ...lampHours, source });
    const entity = 'sensor.x';
    assert.equal(mostPerHour(lampHours, 'on-hours'), 1);
    assert.equal(
      mostPerHour(
        def({ kind: 'power-threshold', entity, onAboveW: 10, offBelowW: 5, minOnMs: 60_000, minOffMs: 30_000 }),
        'starts',
      ),
      40,
    );
    assert.equal(mostPerHour(def({ kind: 'total', entity, unitsPerReading: 1, maxPerHour: 20 }), 'litres'), 20);
    assert.equal(mostPerHour(def({ kind: 'runtime-rate', entity, litresPerHour: 12 }), 'litres'), 12);
    assert.equal(mostPerHour(def({ kind: 'held-power', entity, maxHoldMs: 1, maxPowerW: 300 }), 'energy'), 0.3);
    assert.equal(mostPerHour(def({ kind: 'pulses', entity, litresPerPulse: 0.1 }), 'litres'), 360);
  });
});

describe('fitPart', () => {
  const by = { kind: 'person', name: 'Ana', via: 'hub' } as const;
  const now = T0 + 100 * DAY_MS;

  test('done now: the new life starts at zero, the old keeps what it had', () => {
    const sources = sourcesOf({ folded: exact(900), tail: exact(3), countingSince: T0, lastAt: now - 3 * HOUR_MS });
    const done = fitPart({ part: lamp, present: lifeAt(T0, { number: 1 }), now, by, sources });
    assert.equal(done.life.number, 2);
    assert.deepEqual(done.ended?.usageAtRemoval?.['on-hours'], exact(903));
    assert.deepEqual(done.ended?.removedAt, now);
    assert.deepEqual(done.entry.usageAtRemoval.days, exact(100));
    assert.deepEqual(bounds(hours(done.life, now, sources)), [0, 0, 0]);
    assert.deepEqual(done.entry.baseline, done.life.baseline);
  });

  test('back-dated: what ran since belongs to the new life', () => {
    const fittedAt = now - 10 * HOUR_MS;
    const slices = Array.from({ length: 30 }, (_, i) => ({ hour: now - (i + 1) * HOUR_MS, add: exact(0.5) }));
    const sources = sourcesOf({ folded: exact(900), countingSince: T0, lastAt: now, slices });
    const done = fitPart({ part: lamp, present: lifeAt(T0, { number: 1 }), now, fittedAt, by, sources });
    assert.deepEqual(bounds(hours(done.life, now, sources)), [5, 5, 5]);
    assert.deepEqual(done.ended?.usageAtRemoval?.['on-hours'], exact(895));
  });

  test('a part nobody gave a date for was its first life', () => {
    const sources = sourcesOf({ folded: exact(900), countingSince: T0, lastAt: now });
    const done = fitPart({ part: lamp, present: null, now, by, sources });
    assert.equal(done.life.number, 2);
    assert.equal(done.ended, null);
    assert.deepEqual(done.entry.usageAtRemoval, { 'on-hours': exact(900) });
  });

  test('the future and a time behind the present life are refused with both dates', () => {
    const sources = sourcesOf({ folded: exact(1), countingSince: T0 });
    const ask = (fittedAt: number) => fitPart({ part: lamp, present: lifeAt(T0), now, fittedAt, by, sources });
    assert.throws(() => ask(now + HOUR_MS), { code: 'SW-REC-003', message: /still to come/ });
    assert.throws(() => ask(T0 - 1), { code: 'SW-REC-004', message: /fitted later, on 2025-01-01 00:00 UTC/ });
  });
});

// A lamp with a hidden truth: each hour runs a known share; seen hours add it exactly, hidden ones anything from 0 to 1.
describe('usage of a life bounds the truth', () => {
  const history = fc.array(fc.record({ run: fc.double({ min: 0, max: 1, noNaN: true }), isSeen: fc.boolean() }), {
    minLength: 4,
    maxLength: 60,
  });
  const addOf = ({ run, isSeen }: { run: number; isSeen: boolean }): Bounds =>
    isSeen ? exact(run) : { low: 0, best: 0.4, high: 1 };
  const sum = (list: readonly Bounds[]): Bounds =>
    list.reduce((a, b) => ({ low: a.low + b.low, best: a.best + b.best, high: a.high + b.high }), exact(0));
  const EPS = 1e-9;
  const holds = ({ low, best, high }: Bounds, truth: number) => {
    assert.ok(low >= 0 && low <= best && best <= high, `${low} ${best} ${high}`);
    assert.ok(low <= truth + EPS && truth <= high + EPS, `${low} <= ${truth} <= ${high}`);
  };

  test('whenever it was fitted, and however much of the time since the last observation proves otherwise later', () => {
    fc.assert(
      fc.property(history, fc.nat(), fc.nat(), (all, a, b) => {
        // Folded up to hour `seen`, fitted at hour `at`, told at the end of what then was projected; then all arrives.
        const seen = 1 + (a % (all.length - 2));
        const at = b % (all.length - 1);
        const told = Math.max(seen, at) + 1;
        const tailOf = (n: number): Bounds => ({ low: 0, best: n * 0.4, high: n });
        const slices = (n: number) => all.slice(0, n).map((hour, i) => ({ hour: T0 + i * HOUR_MS, add: addOf(hour) }));
        const before = sourcesOf({
          folded: sum(all.slice(0, seen).map(addOf)),
          tail: tailOf(told - seen),
          countingSince: T0,
          lastAt: T0 + seen * HOUR_MS,
          slices: slices(seen),
        });
        const fittedAt = T0 + at * HOUR_MS;
        const life = lifeAt(fittedAt, { baseline: baselineOf(lamp, fittedAt, T0 + told * HOUR_MS, before) });
        const truth = all.slice(at).reduce((total, hour) => total + hour.run, 0);
        const after = sourcesOf({
          folded: sum(all.map(addOf)),
          countingSince: T0,
          lastAt: T0 + all.length * HOUR_MS,
          slices: slices(all.length),
        });
        const end = T0 + all.length * HOUR_MS;
        holds(hours(life, end, after), truth);
        holds(hours(lifeAt(fittedAt), end, after), truth);
      }),
      { numRuns: 1000 },
    );
  });

  test('fitted at any minute of an hour, and before counting began', () => {
    fc.assert(
      fc.property(history, fc.double({ min: 0, max: 1, noNaN: true }), fc.nat(50), (all, part, unseen) => {
        // Within an hour the lamp runs at its end, the case that cuts worst against an early fitting.
        const end = T0 + all.length * HOUR_MS;
        const adds = all.map(addOf);
        const sources = sourcesOf({
          folded: sum(adds),
          countingSince: T0,
          lastAt: end,
          slices: adds.map((add, i) => ({ hour: T0 + i * HOUR_MS, add })),
        });
        const rest = all.slice(1).reduce((total, hour) => total + hour.run, 0);
        const inFirst = Math.min(all[0]?.run ?? 0, 1 - part);
        holds(hours(lifeAt(T0 + part * HOUR_MS), end, sources), rest + inFirst);
        const total = all.reduce((amount, hour) => amount + hour.run, 0);
        const older = hours(lifeAt(T0 - unseen * HOUR_MS - 1), end, sources);
        // Less than a day seen and more than that unseen: nothing is claimed.
        assert.equal(older.countingSince === null, all.length < 24 && unseen >= 24);
        if (older.countingSince !== null) holds(older, total + unseen * 0.7);
      }),
      { numRuns: 1000 },
    );
  });
});
