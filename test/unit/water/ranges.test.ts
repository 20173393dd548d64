import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { TOPICS } from '../../../src/cli/water/index.ts';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { RULES } from '../../../src/rules/index.ts';
import * as water from '../../../src/water/index.ts';

/** Refused with the code of a range, and with an example of what would do. */
function refused(run: () => unknown, argument: RegExp): void {
  assert.throws(run, (error) => {
    assert.ok(error instanceof SlackwaterError, String(error));
    assert.match(error.code, /^SW-WAT-00[24]$/);
    assert.match(error.message, argument);
    assert.doesNotMatch(`${error.message} ${error.whatToDo}`, /\{\w+\}|undefined|NaN/);
    return true;
  });
}

const at = (salinityPpt: number, temperatureC: number) => ({ salinityPpt, temperatureC });

describe('at the ends of a range there is an answer, beyond them a refusal', () => {
  const ofWater = {
    densityKgM3: water.densityKgM3,
    eos80DensityKgM3: (one: water.Water) => water.eos80DensityKgM3(one),
    heatCapacityJKgK: water.heatCapacityJKgK,
    conservativeTemperatureC: water.conservativeTemperatureC,
    latentHeatJKg: water.latentHeatJKg,
    waterActivity: water.waterActivity,
    saltGPerL: water.saltGPerL,
    conductivityMsCm: ({ salinityPpt, temperatureC }: water.Water) => water.conductivityMsCm(salinityPpt, temperatureC),
  };
  for (const [name, of] of Object.entries(ofWater))
    test(`${name}: 0 to 42 ppt, -2 to 40 °C`, () => {
      for (const end of [at(0, -2), at(0, 40), at(42, -2), at(42, 40), at(5e-324, 25), at(2, 25), at(1.9999999, 25)])
        assert.ok(Number.isFinite(of(end)), JSON.stringify(end));
      for (const salinity of [-1e-9, 42.000001, Number.NaN, Number.POSITIVE_INFINITY])
        refused(() => of(at(salinity, 25)), /^salinity: /);
      for (const temperature of [-2.000001, 40.000001, Number.NaN, Number.NEGATIVE_INFINITY])
        refused(() => of(at(35, temperature)), /^temperature: /);
    });

  test('oxygen: 0 to 42 ppt, 0 to 40 °C, 0.5 to 1.1 atmospheres', () => {
    for (const end of [at(0, 0), at(42, 40)]) {
      assert.ok(water.oxygenSaturationMgL(end, 0.5) < water.oxygenSaturationMgL(end, 1.1));
      assert.ok(Number.isFinite(water.oxygenSaturationUmolKg(end)));
    }
    refused(() => water.oxygenSaturationMgL(at(35, -0.1)), /^temperature: /);
    refused(() => water.oxygenSaturationMgL(at(43, 25)), /^salinity: /);
    refused(() => water.oxygenSaturationMgL(at(35, 25), 1.2), /^air: /);
    refused(() => water.airAtHeightAtm(6000), /^height: /);
  });

  test('practical salinity: nothing below a conductivity of zero, nothing above what the scale covers', () => {
    assert.equal(water.practicalSalinity({ conductivityMsCm: 0, temperatureC: 25 }), 0);
    refused(() => water.practicalSalinity({ conductivityMsCm: -0.1, temperatureC: 25 }), /^conductivity: /);
    refused(() => water.practicalSalinity({ conductivityMsCm: 84, temperatureC: 0 }), /^salinity: /);
    refused(() => water.practicalSalinity({ conductivityMsCm: 50, temperatureC: 25, pressureDbar: -1 }), /^pressure: /);
  });

  test('the extension below 2 ppt meets the practical scale where it begins, from 0 to 35 °C', () => {
    for (const temperatureC of [0, 10, 15, 20, 25, 30, 35]) {
      const around = water.conductivityMsCm(2, temperatureC);
      const [below, above] = [around - 1e-9, around + 1e-9].map((conductivityMsCm) =>
        water.practicalSalinity({ conductivityMsCm, temperatureC }),
      );
      assert.ok(Math.abs((above ?? 0) - (below ?? 9)) < 1e-8, `${temperatureC} °C: ${below} to ${above}`);
    }
  });

  test('gravity: from fresh water to 42 ppt under its own convention', () => {
    for (const convention of Object.keys(water.CONVENTIONS) as water.Convention[]) {
      const [low, high] = [water.gravityOf(0, convention), water.gravityOf(42, convention)];
      assert.ok(Math.abs(water.salinityOfGravity(low, convention)) < 1e-9);
      assert.ok(Math.abs(water.salinityOfGravity(high, convention) - 42) < 1e-9);
      refused(() => water.salinityOfGravity(low - 1e-5, convention), /^gravity: /);
      refused(() => water.salinityOfGravity(high + 1e-5, convention), /^gravity: /);
    }
  });

  test('the tables of an RO unit: 5 to 30 °C', () => {
    for (const temperatureC of [5, 30]) assert.ok(water.temperatureDivisor(temperatureC).low > 0);
    refused(() => water.temperatureDivisor(4.9), /^temperature: /);
    refused(() => water.temperatureDivisor(30.1), /^temperature: /);
  });

  test('no litres, no surface, no resin, no wire: no answer', () => {
    refused(() => water.pureSaltG(0, at(35, 25)), /^volume: /);
    refused(() => water.batchShare(10, 0), /^volume: /);
    refused(() => water.batchShare(-1, 100), /^batch: /);
    refused(() => water.steadyBatches(2, 0), /^change: /);
    refused(() => water.batchesFor({ now: 20, added: 5, target: 5 }, 0.1), /^target: /);
    refused(() => water.batchesFor({ now: 20, added: 5, target: 25 }, 0.1), /^target: /);
    refused(() => water.resinCapacityG({ resinL: 0, capacityGPerL: 12 }), /^resin: /);
    refused(() => water.carbonLitres(10_000, 1, 0), /^chlorine: /);
    refused(() => water.concentrateMgL(320, 1, 0.97), /^recovery: /);
    refused(() => water.evaporationKgS(0, 1000, 0.1, 2.4e6), /^area: /);
    refused(() => water.ohmPerM({ awg: 41 }), /^wire: /);
    refused(() => water.ohmPerM({ mm2: 0.6 }), /^wire: /);
    refused(() => water.learnFlow([]), /^runs: /);
    refused(() => water.learnLoss(458, []), /^nights: /);
    refused(() => water.hoursOfOxygen(6, 4, { value: 0, low: 0, high: 0 }), /^use: /);
  });

  test('already there: nothing to do', () => {
    assert.deepEqual(water.batchesFor({ now: 20, added: 0, target: 20 }, 0.1), { exact: 0, whole: 0 });
    assert.equal(water.swapL(100, 35, 0, 35), 0);
    assert.equal(water.flowFor({ now: 20, added: 0, target: 20 }, 100), 0);
    assert.equal(
      water.pureSaltToRaiseG({ volumeL: 100, salinityPpt: 35, targetPpt: 35, temperatureC: 25 }) < 1e-6,
      true,
    );
  });
});

test('the alkalinity step that the command allows is the one of the rule pack', () => {
  const option = TOPICS.find(({ name }) => name === 'alkalinity')?.options.find(({ name }) => name === 'limit');
  const setting = RULES.K27.settings['alkalinityDkh'];
  assert.equal(option?.fallback, `${setting?.default} dKH`);
});
