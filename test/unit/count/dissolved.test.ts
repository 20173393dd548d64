import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { foldObservations, initialStates, project } from '../../../src/count/index.ts';
import type { Bounds, CounterDef } from '../../../src/model/index.ts';
import { mergeByTime, type Observation } from '../../../src/observe/index.ts';
import { HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';
import { check } from './check-values.ts';
import { holds } from './checked.ts';
import { type Hidden, hiddenIn, inside } from './course.ts';
import { TDS } from './feeds.ts';
import { counter, ENTITY, seen, T0 } from './make.ts';

const MAX_TDS = 60;
const resinAt = (maxPerHour: number): CounterDef =>
  counter(
    {
      kind: 'dissolved',
      entity: ENTITY,
      unitsPerReading: 1,
      maxPerHour,
      tdsEntity: TDS,
      tdsMaxAgeMs: 6 * HOUR_MS,
      maxTdsMgPerL: MAX_TDS,
    },
    'grams',
  );
const resin = resinAt(60);

const exact = (amount: number) => ({ low: amount, best: amount, high: amount });
const litres = (minute: number, value: number | null) => seen(T0 + minute * MINUTE_MS, value);
const tds = (minute: number, value: number | null) => seen(T0 + minute * MINUTE_MS, value, 'live', TDS);

function grams(feed: readonly Observation[], now = feed.at(-1)?.at ?? T0, def = resin): Bounds {
  const state = foldObservations([def], initialStates([def]), feed).states.get(def.id);
  assert.ok(state !== undefined);
  const amount = project(def, state, now).grams;
  assert.ok(amount !== undefined);
  return amount;
}

describe('grams of dissolved solids: litres times what was read of them', () => {
  test('1,500 L at 9.6 mg/L are 14.4 g', () => {
    // Product of the two by hand; resin of 1.2 L at 12 g a litre is spent by it.
    const feed: Observation[] = [tds(0, 9.6), litres(0, 0)];
    for (let tenth = 1; tenth <= 30; tenth++) feed.push(litres(tenth * 60, tenth * 50));
    const fresh = feed.flatMap((row) =>
      row.entity === ENTITY && row.at > T0 ? [row, { ...tds(0, 9.6), at: row.at }] : [row],
    );
    assert.deepEqual(grams(fresh), exact(14.4));
  });

  const GRAIN_G = check<object, number>('ix-grain').expected / 1000;
  const GALLON_L = 3.785411784;
  /** Litres in one go at an even reading. */
  const inOneGo = (total: number, mgPerL: number): number =>
    grams([tds(0, mgPerL), litres(0, 0), litres(300, total)], T0 + 300 * MINUTE_MS, resinAt(10_000)).best;

  test('ix-throughput-pub: a bed of 20 cubic feet at 10,000 grains each takes 8,000 gallons of 25 grains a gallon', () => {
    type Inputs = { grains_per_ft3: number; ft3: number; gpg: number };
    const { inputs, expected } = check<Inputs, number>('ix-throughput-pub');
    const spent = inOneGo(expected * GALLON_L, (inputs.gpg * GRAIN_G * 1000) / GALLON_L) / GRAIN_G;
    assert.ok(Math.abs(spent - inputs.grains_per_ft3 * inputs.ft3) < 1, `${spent} grains`);
  });

  test('ix-ex-24000: 1,200 gallons of 20 grains a gallon are 24,000 grains', () => {
    const { inputs, expected } = check<{ capacity_grains: number; hardness_gpg: number }, number>('ix-ex-24000');
    const spent = inOneGo(expected * GALLON_L, (inputs.hardness_gpg * GRAIN_G * 1000) / GALLON_L) / GRAIN_G;
    assert.ok(Math.abs(spent - inputs.capacity_grains) < 1, `${spent} grains`);
  });

  test('ix-consumed-fraction: what three waters spent of a litre of resin', () => {
    type Inputs = { resin_L: number; cap_eq_L: number; litres_by_TDS: [number, number][] };
    const { inputs, expected } = check<Inputs, number>('ix-consumed-fraction');
    // 50.04345 g an equivalent as calcium carbonate, as in the row's own arithmetic.
    const capacityG = inputs.resin_L * inputs.cap_eq_L * 50.04345;
    const spent = inputs.litres_by_TDS.reduce((sum, [liters, mgPerL]) => sum + inOneGo(liters, mgPerL), 0);
    assert.ok(Math.abs(spent / capacityG - expected) < 1e-9);
  });

  test('water that ran while two readings held lies between them; likely is their mean by time', () => {
    const amount = grams([litres(0, 100), tds(0, 10), tds(45, 20), litres(60, 110)]);
    assert.deepEqual(amount, { low: 0.1, best: 0.125, high: 0.2 });
  });

  test('where the dissolved solids are unknown or too old, up to the stated most', () => {
    assert.deepEqual(grams([litres(0, 100), tds(0, 10), tds(30, null), litres(60, 110)]), {
      low: 0,
      best: 0.1,
      high: 0.6,
    });
    assert.deepEqual(grams([litres(0, 100), tds(0, 10), litres(6 * 60 + 1, 110)]).high, 0.6);
    assert.deepEqual(grams([litres(0, 100), tds(0, 10), litres(6 * 60, 110)]), exact(0.1));
    assert.equal(grams([litres(0, 100), tds(0, -3), tds(1, 10), litres(60, 110)]).low, 0.1, 'below zero is no reading');
  });

  test('counting begins once both were read; what ran before is not claimed', () => {
    const { states } = foldObservations([resin], initialStates([resin]), [
      litres(0, 100),
      litres(60, 110),
      tds(90, 10),
    ]);
    assert.equal(states.get(resin.id)?.countingSince, T0 + 90 * MINUTE_MS);
    assert.deepEqual(grams([litres(0, 100), litres(60, 110), tds(90, 10), litres(100, 112)]), exact(0.02));
  });

  test('a gap of the litre meter is spanned by it, its grams by the readings over all of it', () => {
    const amount = grams([litres(0, 100), tds(0, 10), litres(30, null), tds(50, 12), litres(60, 110)]);
    assert.equal(amount.low, 0.1);
    assert.equal(amount.high, 0.12);
  });

  test('a false zero of the litre meter brings nothing, a confirmed reset what it shows', () => {
    const feed = [tds(0, 10), litres(0, 500), litres(10, 0), litres(20, 501)];
    assert.deepEqual(grams(feed), exact(0.01));
    assert.deepEqual(grams([tds(0, 10), litres(0, 500), litres(10, 0), litres(20, 2)]), exact(0.02));
  });

  test('while the meter is dark: all that the gap has room for, at the most dissolved solids since', () => {
    const amount = grams([litres(0, 1000), tds(0, 10), litres(30, null)], T0 + 90 * MINUTE_MS);
    assert.deepEqual(amount, { low: 0, best: 0, high: 0.6 });
  });

  test('litres and dissolved solids of the same moment, in either order', () => {
    const a = [tds(0, 10), litres(0, 100), tds(60, 20), litres(60, 110), litres(61, 111)];
    const b = [litres(0, 100), tds(0, 10), litres(60, 110), tds(60, 20), litres(61, 111)];
    assert.deepEqual(grams(a), grams(b));
  });

  test('the truth lies between low and high, whatever is hidden of the litres or of the dissolved solids', (t) => {
    const minutes = fc.array(
      fc.record({
        centilitres: fc.integer({ min: 0, max: 100 }),
        tds: fc.integer({ min: 0, max: MAX_TDS }),
        isNew: fc.boolean(),
      }),
      { minLength: 5, maxLength: 200 },
    );
    const widths: number[] = [];
    holds(
      t,
      fc.property(
        minutes.chain((list) => {
          const dark = hiddenIn(T0, T0 + list.length * MINUTE_MS);
          return fc.tuple(fc.constant(list), dark, dark);
        }),
        ([list, darkLitres, darkTds]) => {
          let reading = 5_000;
          let truth = 0;
          let solids = list[0]?.tds ?? 0;
          const own: Observation[] = [litres(0, reading)];
          const beside: Observation[] = [tds(0, solids)];
          for (const [minute, step] of list.entries()) {
            if (step.isNew && minute > 0) {
              solids = step.tds;
              beside.push(tds(minute, solids));
            }
            truth += (step.centilitres / 100) * solids;
            reading = Math.round((reading + step.centilitres / 100) * 100) / 100;
            own.push(litres(minute + 1, reading));
          }
          const amount = grams(
            mergeByTime([hide(own, darkLitres), hide(beside, darkTds)]),
            T0 + list.length * MINUTE_MS,
          );
          inside(truth / 1000, amount, 1e-9);
          const possible = ((list.length / 60) * 60 * MAX_TDS) / 1000;
          widths.push((amount.high - amount.low) / possible);
        },
      ),
    );
    widths.sort((a, b) => a - b);
    const median = widths[Math.floor(widths.length / 2)] ?? 1;
    t.diagnostic(`median width ${(100 * median).toFixed(1)} % of what the meter and the stated most allow`);
    assert.ok(median < 0.5);
  });
});

/** Rows outside the dark stretches; a gap where one begins and the present value where it ends. */
function hide(rows: readonly Observation[], dark: readonly Hidden[]): readonly Observation[] {
  const hiddenAt = (when: number): boolean => dark.some(({ from, to }) => from <= when && when < to);
  const [first] = rows;
  if (first === undefined) return [];
  const value = (when: number): number | null => rows.findLast(({ at }) => at <= when)?.value ?? first.value;
  const ends = dark.flatMap(({ from, to }) => [
    { ...first, at: from, value: null },
    { ...first, at: to, value: value(to) },
  ]);
  return [...rows.filter(({ at }) => !hiddenAt(at)), ...ends];
}
