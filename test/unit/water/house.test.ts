import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  connectorLoad,
  drainDown,
  evaporationLPerDay,
  headRoom,
  heaterSize,
  holdW,
  hoursOfOxygen,
  leadDrop,
  learnLoss,
  settlesAtC,
  temperatureAfterC,
} from '../../../src/water/index.ts';
import { between, holds, volumes } from './draw.ts';

const near = (found: number, wanted: number, off: number, what: string): void =>
  assert.ok(Math.abs(found - wanted) <= off, `${what}: ${found} is not ${wanted}`);

describe('drain-down, heat, oxygen, leads', () => {
  test('a worked tank: 19.5 L come down, 58.5 L with the hole blocked', () => {
    const drained = drainDown({
      displayLPerCm: 7.5,
      filmCm: 1.2,
      overflowBoxL: 3,
      pipesL: 1.5,
      siphonCm: 0.8,
      outletCm: 6,
    });
    near(drained.normalL, 19.5, 1e-9, 'normal');
    near(drained.blockedL, 58.5, 1e-9, 'blocked');
    const room = headRoom(4.05, 22.8, 37, drained);
    assert.equal(room.fitsNormal, true);
    assert.equal(room.fitsBlocked, false);
    near(room.risesToCm, 22.8 + 19.5 / 4.05, 1e-9, 'level');
    // A sump with room for the normal litres and no fifth to spare is said not to fit.
    assert.equal(headRoom(4.05, 30, 30 + 20 / 4.05, drained).fitsNormal, false);
  });

  test('a tank ends where loss and heat are equal and never passes it', (t) => {
    holds(
      t,
      fc.property(
        volumes,
        between(2, 60),
        between(10, 25),
        between(0, 400),
        between(0, 200),
        (volumeL, lossWPerC, roomC, heatW, hours) => {
          const body = { volumeL, lossWPerC, roomC, heatW };
          const end = settlesAtC(body);
          near(holdW(lossWPerC, Math.min(45, end), roomC), end > 45 ? lossWPerC * (45 - roomC) : heatW, 1e-6, 'watts');
          const after = temperatureAfterC(body, 25, hours);
          assert.ok(Math.min(25, end) - 1e-9 <= after && after <= Math.max(25, end) + 1e-9);
        },
      ),
    );
  });

  test('two heaters cover the coldest room with half as much again; without a learned loss, by the litre', () => {
    const loss = learnLoss(458, [{ hours: 8, fromC: 25.5, toC: 25.1, roomC: 19.5, heatWh: 480 }]);
    const size = heaterSize(458, 25.5, 17, loss);
    near(size.totalW.value, loss.value * 8.5 * 1.5, 1e-9, 'watts');
    near(size.oneHoldsC ?? 0, 17 + (8.5 * 1.5) / 2, 1e-9, 'one alone');
    const plain = heaterSize(458, 25.5, 17, null);
    assert.deepEqual(plain.totalW, { value: 229, low: 137.4, high: 458 });
    assert.equal(plain.oneHoldsC, null);
    assert.equal(heaterSize(458, 25, 30, loss).totalW.value, 0);
  });

  test('air wetter than the water’s own vapour takes nothing; dry moving air takes the most', (t) => {
    holds(
      t,
      fc.property(
        between(20, 29),
        between(15, 30),
        between(0.1, 0.95),
        between(0, 1),
        (temperatureC, roomC, humidity, airMS) => {
          const surface = { areaM2: 0.6, water: { salinityPpt: 35, temperatureC }, roomC, humidity, airMS };
          const { value, low, high } = evaporationLPerDay(surface);
          assert.ok(0 <= low && low <= value && value <= high);
          assert.ok(evaporationLPerDay({ ...surface, humidity: humidity * 0.9 }).value >= value);
          assert.ok(evaporationLPerDay({ ...surface, airMS: airMS + 0.1 }).value >= value);
          near(evaporationLPerDay({ ...surface, areaM2: 1.2 }).value, 2 * value, 1e-9, 'twice the surface');
        },
      ),
    );
    const steam = { areaM2: 0.6, water: { salinityPpt: 35, temperatureC: 20 }, roomC: 30, humidity: 0.9, airMS: 0.1 };
    assert.deepEqual(evaporationLPerDay(steam), { value: 0, low: 0, high: 0 });
  });

  test('oxygen lasts longer with less use, and not at all below the limit', () => {
    const { value, low, high } = hoursOfOxygen(6.7, 4);
    assert.ok(low < value && value < high);
    assert.deepEqual(hoursOfOxygen(3.5, 4), { value: 0, low: 0, high: 0 });
  });

  test('twice the lead loses twice the voltage; a connector may carry eight tenths', () => {
    const lead = { wire: { awg: 18 }, lengthCm: 300, currentA: 2, supplyV: 24 };
    near(leadDrop({ ...lead, lengthCm: 600 }).dropV, 2 * leadDrop(lead).dropV, 1e-12, 'volts');
    assert.ok(leadDrop({ ...lead, conductorC: 60 }).dropV > leadDrop(lead).dropV);
    assert.equal(leadDrop(lead).tooMuch, false);
    assert.equal(leadDrop({ ...lead, supplyV: 5 }).tooMuch, true);
    assert.equal(connectorLoad(4, 5).tooMuch, false);
    assert.equal(connectorLoad(4.1, 5).tooMuch, true);
  });
});
