import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import type { Measure, Part, PartLife, Usage } from '../../../src/model/index.ts';
import { byUrgency, type StandingInput, standingOf } from '../../../src/remind/index.ts';
import { DAY_MS } from '../../../src/units/index.ts';

const NOW = Date.UTC(2025, 8, 2, 9);
const tubes: Part = {
  id: 'c1-tubes',
  name: 'C1 tubes',
  kind: 'fluorescent-tubes',
  pieces: 3,
  limits: [
    { measure: 'on-hours', amount: 3600 },
    { measure: 'days', amount: 365 },
  ],
  safety: false,
  usageFrom: { 'on-hours': 'c1-hours' },
  usedBefore: {},
};
const heater: Part = {
  id: 'heater-b1',
  name: 'Heater B1',
  kind: 'heater',
  pieces: 1,
  limits: [{ measure: 'starts', amount: 50_000 }],
  safety: true,
  usageFrom: { starts: 'b1-starts' },
  usedBefore: {},
};

const use = (measure: Measure, best: number, low = best, high = best): Usage => ({
  measure,
  low,
  best,
  high,
  countingSince: NOW - 344 * DAY_MS,
});
const lifeOf = (part: Part, daysAgo: number): PartLife => ({
  part: part.id,
  number: 2,
  fittedAt: NOW - daysAgo * DAY_MS,
  fittedBy: 'Ana',
});

const settings = { nearShare: 0.9, nearMs: 14 * DAY_MS, laterMs: 7 * DAY_MS };
const base = (part: Part, usages: readonly Usage[], more: Partial<StandingInput> = {}): StandingInput => ({
  part,
  life: lifeOf(part, 344),
  usages,
  dailyUse: { 'on-hours': new Array<number>(28).fill(9), starts: new Array<number>(28).fill(60) },
  now: NOW,
  settings,
  timeZone: 'Europe/Lisbon',
  ...more,
});

describe('standingOf', () => {
  // The invented library tank: 344 of 365 days of age, 3,096 of 3,600 h lit at 9 h a day: 21 days by age, 56 by hours.
  test('the first limit wins, with numbers, units and bounds in one sentence', () => {
    const standing = standingOf(base(tubes, [use('on-hours', 3096, 3090, 3102), use('days', 344)]));
    assert.equal(standing.measure, 'days');
    assert.equal(standing.word, 'near');
    assert.equal(standing.reachedAt?.likely, NOW + 21 * DAY_MS);
    assert.equal(
      standing.reason,
      'C1 tubes: 344 d of 365 d of age; 3,096 h (3,090 to 3,102) of 3,600 h lit; due in 21 days, on 23 Sept 2025, by age',
    );
    assert.deepEqual(
      standing.all.map(({ measure, limit }) => [measure, limit]),
      [
        ['on-hours', 3600],
        ['days', 365],
      ],
    );
  });

  test('fine, then order by the lead time of the spare, then near by share', () => {
    const wide = { ...settings, nearShare: 0.95 };
    const at = (leadDays: number | undefined, set = wide) =>
      standingOf(
        base(
          { ...tubes, ...(leadDays === undefined ? {} : { leadTimeMs: leadDays * DAY_MS }) },
          [use('on-hours', 3096), use('days', 344)],
          { settings: set },
        ),
      );
    assert.equal(at(undefined).word, 'fine');
    assert.equal(at(20).word, 'fine');
    const order = at(22);
    assert.equal(order.word, 'order');
    assert.match(order.reason, /order the spare now, it takes 22 days/);
    assert.equal(at(22, settings).word, 'near');
  });

  test('due at the limit; overdue more than 7 days past it, or 5 % and a day', () => {
    const word = (best: number) =>
      standingOf(base({ ...tubes, limits: [{ measure: 'on-hours', amount: 3600 }] }, [use('on-hours', best)])).word;
    assert.equal(word(3599.9), 'near');
    assert.equal(word(3600), 'due');
    assert.equal(word(3600 + 7 * 9), 'due');
    assert.equal(word(3600 + 7 * 9 + 1), 'overdue');
    const weekly: Part = { ...tubes, limits: [{ measure: 'days', amount: 4 }] };
    const age = (days: number) => standingOf(base(weekly, [use('days', days)], { life: lifeOf(weekly, days) }));
    assert.equal(age(4.5).word, 'due');
    assert.equal(age(5.1).word, 'overdue');
    assert.match(age(12).reason, /12 d of 4 d of age; overdue by 8 days by age/);
  });

  test('a safety part is due when its upper bound reaches the limit, and says so; another only may be', () => {
    const bounds = [use('starts', 45_000, 41_000, 50_200)];
    const guarded = standingOf(base(heater, bounds));
    assert.equal(guarded.word, 'due');
    assert.match(
      guarded.reason,
      /45,000 starts \(41,000 to 50,200\) of 50,000 starts; due now by starts, because Heater B1/,
    );
    const other = standingOf(base({ ...heater, safety: false }, bounds));
    assert.equal(other.word, 'near');
    assert.match(other.reason, /may be reached already by the upper bound/);
  });

  test('nothing counted is unknown and never fine, but hides nothing worse', () => {
    const never = { ...use('on-hours', 0), countingSince: null };
    assert.equal(standingOf(base(tubes, [never, use('days', 100)])).word, 'unknown');
    assert.equal(standingOf(base(tubes, [never, use('days', 366)])).word, 'due');
    assert.equal(standingOf(base(tubes, [])).share, null);
    assert.match(standingOf(base(tubes, [never, use('days', 100)])).reason, /nothing counted yet towards 3,600 h lit/);
  });

  test('a part nobody gave a date for is unknown, yet due once the hours seen alone reach the limit', () => {
    const days = { ...use('days', 0), countingSince: null };
    const seen = (hours: number) => standingOf(base(tubes, [use('on-hours', hours), days], { life: null }));
    assert.equal(seen(100).word, 'unknown');
    assert.match(seen(100).reason, /say when it was fitted/);
    assert.equal(seen(3600).word, 'due');
  });

  test('a part without limits says that nothing can be said', () => {
    const standing = standingOf(base({ ...tubes, limits: [] }, [use('on-hours', 10)]));
    assert.equal(standing.word, 'unknown');
    assert.match(standing.reason, /no limit is set/);
  });

  test('what is put off stays due and shows its debt; a lapsed put-off is gone', () => {
    const late = (until: number) =>
      standingOf(base(tubes, [use('on-hours', 3096), use('days', 370)], { putOff: { until, by: 'Ana' } }));
    const standing = late(NOW + 3 * DAY_MS);
    assert.equal(standing.word, 'due');
    assert.equal(standing.putOffUntil, NOW + 3 * DAY_MS);
    assert.match(standing.reason, /put off until 5 Sept 2025 by Ana, 5 days of debt$/);
    assert.equal(late(NOW).putOffUntil, null);
  });

  const ORDER = ['fine', 'unknown', 'order', 'near', 'due', 'overdue'];
  test('more use never makes a standing better, and the list puts the worse first', () => {
    const amount = fc.double({ min: 0, max: 5000, noNaN: true });
    fc.assert(
      fc.property(amount, amount, amount, fc.boolean(), (a, b, spread, safety) => {
        const at = (best: number) =>
          standingOf(
            base({ ...tubes, safety }, [
              use('on-hours', best, Math.max(0, best - spread), best + spread),
              use('days', 100),
            ]),
          );
        const [less, more] = [at(Math.min(a, b)), at(Math.max(a, b))];
        assert.ok(ORDER.indexOf(more.word) >= ORDER.indexOf(less.word), `${less.word} then ${more.word}`);
        if (less.word !== more.word) assert.ok(byUrgency(more, less) < 0);
      }),
      { numRuns: 1000 },
    );
  });

  test('any reason names every limit with its unit', () => {
    const amount = fc.double({ min: 0, max: 9000, noNaN: true });
    fc.assert(
      fc.property(amount, amount, (hours, days) => {
        const { reason } = standingOf(base(tubes, [use('on-hours', hours), use('days', days)]));
        assert.match(reason, /of 3,600 h lit/);
        assert.match(reason, /of 365 d of age/);
        assert.doesNotMatch(reason, /NaN|undefined|Infinity/);
      }),
      { numRuns: 1000 },
    );
  });
});
