import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import type { Tank } from '../../../src/model/index.ts';
import { buildPlan, offeredProcedures, rehearse } from '../../../src/procedure/index.ts';
import { full } from './plan-reading.ts';
import { equipment, reef, small, tankOf } from './tanks.ts';

const HOUR = 3_600_000;
const MINUTE = 60_000;
const run = (request: string, tank: Tank, told = {}) => {
  const plan = buildPlan(request, tank);
  return { plan, seen: rehearse(plan, tank, {}, told) };
};

describe('a rehearsal', () => {
  test('lets the sump rise with the return off and fall back with it', () => {
    const { plan, seen } = run('pump-pause', reef());
    const level = (id: string) => seen.steps[plan.steps.findIndex((step) => step.id === id)]?.levelCm ?? Number.NaN;
    // 19.5 L over 4.05 L/cm are 4.8 cm: invented tank, worked out by hand.
    assert.equal(level('off:top-off'), 20);
    assert.ok(Math.abs(level('settle:rise') - 24.8) <= 0.1);
    assert.ok(Math.abs(level('on:return-a') - 20) <= 0.1);
    assert.ok(Math.abs((seen.highestCm ?? 0) - 24.8) <= 0.1);
  });

  test('cools while the heaters are off, between 0.2 and 0.4 °C an hour in a cool room', () => {
    // Common practice, no source: 300 to 600 L in a room of 19 to 20 °C.
    const { seen } = run('water-change', reef(), { tankC: 25.5, roomC: 19.5 });
    const off = seen.offTimes.find((each) => each.equipment === 'heater-1');
    const rate = (25.5 - (seen.lowestC ?? Number.NaN)) / ((off?.ms ?? 0) / HOUR);
    assert.ok(rate > 0.2 && rate < 0.42, `${rate}`);
  });

  test('takes what is learned of the tank in place of assumptions, and says what it assumed', () => {
    const told = { tankC: 25, roomC: 21, lossWPerC: 10, evaporationLPerDay: 5, changeL: 40 };
    assert.deepEqual(run('water-change', reef(), told).seen.assumptions, []);
    const words = run('water-change', reef()).seen.assumptions.join('; ');
    for (const word of ['25.5 °C', '19.5 °C', 'evaporate', 'water change takes 45 L']) assert.ok(words.includes(word));
    const tight = run('water-change', reef(), { ...told, lossWPerC: 2 }).seen.lowestC ?? 0;
    assert.ok(tight > (run('water-change', reef(), told).seen.lowestC ?? 0));
  });

  test('counts how long oxygen lasts where all water stands still', () => {
    const { plan, seen } = run('pump-pause+flow+person-stays', small());
    const pause = seen.steps[plan.steps.findIndex((step) => step.id === 'hands-on:pause')];
    assert.deepEqual(pause?.moving, []);
    // Common practice, no source: a stocked reef reaches 4 mg/L in two to five hours of stillness in the dark.
    const { low, high } = pause?.still?.hoursLeft ?? { low: Number.NaN, high: Number.NaN };
    assert.ok(low > 1 && low < 2 && high > 4 && high < 6, `${low} ${high}`);
    assert.match(seen.warnings.join(' '), /Nothing moves the water for about/);
    assert.equal(
      run('pump-pause', small()).seen.steps.some((step) => step.still !== null),
      false,
    );
  });

  test('says what is off for longer than it should', () => {
    const { seen } = run('annual-overhaul', full());
    assert.match(seen.warnings.join(' '), /return a is off for about .*; more than 1 h sounds its alarm/);
    assert.match(seen.warnings.join(' '), /heater 1 is off for about/);
    assert.ok(seen.offTimes.every((each) => each.ms > 0));
    assert.deepEqual(run('skimmer-service', small()).seen.warnings, []);
  });

  test('knows nothing where nothing is known', () => {
    const bare: Tank = { ...tankOf([equipment('return', 'return-pump'), equipment('flow', 'circulation-pump')]) };
    const { sump: _, ...noSump } = bare;
    const { seen } = run('return-pump-service', noSump);
    assert.ok(seen.steps.every((step) => step.levelCm === null && step.temperatureC === null));
    assert.equal(seen.highestCm, null);
    assert.equal(seen.lowestC, null);
  });

  test('is one and the same each time, its steps end to end, whatever the tank', () => {
    const offered = offeredProcedures(full()).map((each) => each.id);
    fc.assert(
      fc.property(fc.constantFrom(...offered), fc.double({ min: 10, max: 30, noNaN: true }), (id, roomC) => {
        const plan = buildPlan(id, full());
        const seen = rehearse(plan, full(), {}, { roomC });
        assert.deepEqual(seen, rehearse(plan, full(), {}, { roomC }));
        let at = 0;
        for (const step of seen.steps) {
          assert.ok(Math.abs(step.startsMs - at) < 1 && step.takesMs >= 0, step.id);
          at = step.startsMs + step.takesMs;
          const c = step.temperatureC ?? 25.5;
          assert.ok(c <= Math.max(25.5, roomC) + 0.1 && c >= Math.min(25.5, roomC) - 0.1, `${step.id} ${c}`);
        }
        assert.ok(Math.abs(seen.totalMs - at) < 1);
        assert.ok(seen.totalMs > 10 * MINUTE && seen.totalMs < 14 * HOUR, id);
      }),
      { numRuns: 60 },
    );
  });
});

describe('what a tank is offered', () => {
  test('a full reef: everything, and each heater by itself', () => {
    const ids = offeredProcedures(full()).map((each) => each.id);
    assert.equal(ids.length, 16);
    assert.ok(ids.includes('heater-swap:heater-1') && ids.includes('heater-swap:heater-2'));
    assert.ok(!ids.includes('heater-swap'));
    assert.equal(
      offeredProcedures(full()).find((each) => each.id === 'heater-swap:heater-2')?.title,
      'Heater swap: heater 2',
    );
  });

  test('a small tank: nothing that works on what it does not have', () => {
    const ids = offeredProcedures(small()).map((each) => each.id);
    assert.ok(ids.includes('skimmer-service') && ids.includes('annual-overhaul'));
    for (const id of ['uv-service', 'lamp-set-change', 'rodi-service', 'heater-swap', 'reactor-harvest'])
      assert.ok(!ids.includes(id), id);
  });

  test('each of them has a plan', () => {
    for (const tank of [full(), small(), reef()])
      for (const { id } of offeredProcedures(tank)) assert.ok(buildPlan(id, tank).steps.length > 2, id);
  });
});
