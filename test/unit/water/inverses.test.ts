import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import {
  absoluteSalinity,
  CONVENTIONS,
  type Convention,
  conductivityMsCm,
  densityKgM3,
  dewPointC,
  eos80DensityKgM3,
  gravityBetween,
  gravityOf,
  heatCapacityJKgK,
  hoursToC,
  hydrometerSalinity,
  if97SaturationPressurePa,
  lossFromNight,
  oxygenSaturationMgL,
  oxygenSaturationUmolKg,
  practicalOfAbsolute,
  practicalSalinity,
  pureDensityKgM3,
  refractiveIndex,
  refractometerSalinity,
  salinityBetween,
  salinityOfGravity,
  saturationPressurePa,
  temperatureAfterC,
  temperatureDivisor,
  vapourPressurePa,
  waterActivity,
} from '../../../src/water/index.ts';
import { between, holds, salinities, temperatures, volumes } from './draw.ts';

const near = (found: number, wanted: number, off: number, what: string): void =>
  assert.ok(Math.abs(found - wanted) <= off, `${what}: ${found} is not ${wanted}`);
const conventions = fc.constantFrom(...(Object.keys(CONVENTIONS) as Convention[]));

describe('there and back again', () => {
  test('conductivity and practical salinity, to 1e-9', (t) => {
    holds(
      t,
      fc.property(salinities, temperatures, (salinity, temperatureC) => {
        const found = practicalSalinity({ conductivityMsCm: conductivityMsCm(salinity, temperatureC), temperatureC });
        near(found, salinity, 1e-9, 'salinity');
      }),
    );
  });

  test('the same at any depth of the standard', (t) => {
    holds(
      t,
      fc.property(salinities, temperatures, between(0, 10_000), (salinity, temperatureC, pressureDbar) => {
        const conductivity = conductivityMsCm(salinity, temperatureC, pressureDbar);
        near(
          practicalSalinity({ conductivityMsCm: conductivity, temperatureC, pressureDbar }),
          salinity,
          1e-9,
          'salinity',
        );
      }),
      100,
    );
  });

  test('specific gravity and salinity under every convention, to 1e-9', (t) => {
    holds(
      t,
      fc.property(salinities, conventions, (salinity, convention) => {
        near(salinityOfGravity(gravityOf(salinity, convention), convention), salinity, 1e-9, convention);
      }),
    );
  });

  test('gravity between any two temperatures', (t) => {
    holds(
      t,
      fc.property(between(1, 40), between(10, 32), between(10, 32), (salinity, sampleC, waterC) => {
        const gravity = gravityBetween(salinity, sampleC, waterC);
        near(salinityBetween(gravity, sampleC, waterC), salinity, 1e-8, `${sampleC}/${waterC}`);
      }),
    );
  });

  test('what a hydrometer reads in known water is turned back into its salinity', (t) => {
    holds(
      t,
      fc.property(between(5, 38), between(12, 32), between(15, 25), (salinity, temperatureC, scaleC) => {
        const density = densityKgM3({ salinityPpt: salinity, temperatureC });
        const gravity = (density * (1 + 25e-6 * (temperatureC - scaleC))) / pureDensityKgM3(scaleC);
        const found = hydrometerSalinity({ gravity, temperatureC, scaleC });
        near(found.value, salinity, 1e-8, 'salinity');
        assert.ok(found.low < found.value && found.value < found.high);
      }),
    );
  });

  test('a refractometer at the temperature of its scale reads right, corrected or not', (t) => {
    holds(
      t,
      fc.property(between(0, 40), between(10, 30), fc.boolean(), (readingPpt, temperatureC, compensated) => {
        const found = refractometerSalinity({ readingPpt, temperatureC, scaleC: temperatureC, compensated });
        near(found.value, readingPpt, 1e-8, 'salinity');
      }),
    );
  });

  test('an uncorrected refractometer sees the same bending of light in other water', (t) => {
    holds(
      t,
      fc.property(between(5, 33), between(18, 28), (readingPpt, temperatureC) => {
        const { value } = refractometerSalinity({ readingPpt, temperatureC, scaleC: 20, compensated: false });
        near(refractiveIndex(value, temperatureC), refractiveIndex(readingPpt, 20), 1e-12, 'index');
      }),
    );
  });

  test('absolute and practical salinity', (t) => {
    holds(
      t,
      fc.property(salinities, (salinity) => {
        near(practicalOfAbsolute(absoluteSalinity(salinity)), salinity, 1e-12, 'salinity');
      }),
    );
  });

  test('air is saturated at its dew point, to 1e-6 Pa', (t) => {
    holds(
      t,
      fc.property(between(5, 45), between(0.05, 1), (temperatureC, humidity) => {
        const dew = dewPointC(temperatureC, humidity);
        assert.ok(dew <= temperatureC + 1e-9);
        near(saturationPressurePa(dew), vapourPressurePa(temperatureC, humidity), 1e-6, 'pressure');
      }),
    );
  });

  test('hours to a temperature and temperature after hours', (t) => {
    holds(
      t,
      fc.property(volumes, between(2, 60), between(0.1, 30), (volumeL, lossWPerC, hours) => {
        const body = { volumeL, lossWPerC, roomC: 18, heatW: 0 };
        const after = temperatureAfterC(body, 26, hours);
        // So near the room that the last places of the temperature hold no time any more.
        fc.pre(after - body.roomC > 1e-3);
        near(hoursToC(body, 26, after) ?? Number.NaN, hours, 1e-6, 'hours');
      }),
    );
  });

  test('a night made by a known loss teaches that loss', (t) => {
    holds(
      t,
      fc.property(between(50, 2000), between(3, 40), between(0, 150), between(4, 12), (volumeL, loss, heatW, hours) => {
        const body = { volumeL, lossWPerC: loss, roomC: 18, heatW };
        const toC = temperatureAfterC(body, 25.5, hours);
        fc.pre(toC < 45 && toC > 18.5);
        const night = { hours, fromC: 25.5, toC, roomC: 18, heatWh: heatW * hours };
        near(lossFromNight(volumeL, night), loss, 1e-5 * loss, 'loss');
      }),
    );
  });
});

describe('what must rise rises, what must fall falls', () => {
  const pairs = fc.tuple(salinities, salinities).filter(([a, b]) => Math.abs(a - b) > 1e-6);

  test('density, gravity, conductivity and refractive index with salinity; oxygen, heat capacity and vapour against it', (t) => {
    holds(
      t,
      fc.property(pairs, between(1, 34), conventions, ([a, b], temperatureC, convention) => {
        const [low, high] = [Math.min(a, b), Math.max(a, b)];
        const [weak, strong] = [low, high].map((salinityPpt) => ({ salinityPpt, temperatureC }));
        assert.ok(weak !== undefined && strong !== undefined);
        assert.ok(densityKgM3(weak) < densityKgM3(strong));
        assert.ok(eos80DensityKgM3(weak) < eos80DensityKgM3(strong));
        assert.ok(gravityOf(low, convention) < gravityOf(high, convention));
        assert.ok(conductivityMsCm(low, temperatureC) < conductivityMsCm(high, temperatureC));
        assert.ok(refractiveIndex(low, temperatureC) < refractiveIndex(high, temperatureC));
        assert.ok(oxygenSaturationMgL(weak) > oxygenSaturationMgL(strong));
        assert.ok(heatCapacityJKgK(weak) > heatCapacityJKgK(strong));
        assert.ok(waterActivity(weak) > waterActivity(strong));
      }),
    );
  });

  test('oxygen falls and vapour pressure rises with warmth; cold water takes longer through a membrane', (t) => {
    holds(
      t,
      fc.property(between(5, 30), between(5, 30), between(0, 40), (a, b, salinityPpt) => {
        fc.pre(Math.abs(a - b) > 1e-6);
        const [cold, warm] = [Math.min(a, b), Math.max(a, b)];
        const at = (temperatureC: number) => ({ salinityPpt, temperatureC });
        assert.ok(oxygenSaturationMgL(at(cold)) > oxygenSaturationMgL(at(warm)));
        assert.ok(saturationPressurePa(cold) < saturationPressurePa(warm));
        assert.ok(temperatureDivisor(cold).value > temperatureDivisor(warm).value);
        assert.ok(temperatureDivisor(cold).low >= temperatureDivisor(warm).low);
        assert.ok(temperatureDivisor(cold).high >= temperatureDivisor(warm).high);
      }),
    );
  });
});

describe('two standards for one thing agree as their makers say', () => {
  test('EOS-80 and TEOS-10 densities of tank water within 0.006 kg/m³', (t) => {
    holds(
      t,
      fc.property(between(28, 40), between(15, 30), (salinityPpt, temperatureC) => {
        const water = { salinityPpt, temperatureC };
        near(eos80DensityKgM3(water), densityKgM3(water), 0.006, 'density');
      }),
    );
  });

  test('vapour pressure by ASHRAE and by IAPWS-IF97 within 0.04 % from 5 to 60 °C', (t) => {
    holds(
      t,
      fc.property(between(5, 60), (temperatureC) => {
        const other = if97SaturationPressurePa(temperatureC);
        near(saturationPressurePa(temperatureC), other, 0.0004 * other, 'pressure');
      }),
    );
  });

  test('oxygen by Benson and Krause and by Garcia and Gordon within 0.01 mg/L', (t) => {
    holds(
      t,
      fc.property(between(0, 40), between(5, 35), (salinityPpt, temperatureC) => {
        const water = { salinityPpt, temperatureC };
        const mgL = oxygenSaturationUmolKg(water) * densityKgM3(water) * 31.9988e-6;
        near(oxygenSaturationMgL(water), mgL, 0.01, 'oxygen');
      }),
    );
  });
});
