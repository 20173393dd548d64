import type { SalinityPpt, TemperatureC } from '../units/index.ts';
import { absoluteSalinity, gibbs } from './gibbs.ts';
import { GRAVITY, salinityBetween } from './gravity.ts';
import { impossible, type Range, within } from './range.ts';
import { solveRising } from './root.ts';
import { pureDensityKgM3, SALINITY, TEMPERATURE } from './seawater.ts';

/** A value with the bounds that its uncertainties give. */
export type Bounded = { readonly value: number; readonly low: number; readonly high: number };

/** Cubic expansion of soda-lime glass, per °C: a warm hydrometer is larger and floats higher. */
const GLASS_PER_C = 25e-6;
/** Half a division of a good scale, and a thermometer of the home. */
export const HYDROMETER_READING_ERROR = 0.0005;
export const THERMOMETER_ERROR_C = 0.5;
/** Half a division of a scale marked in ppt. */
export const REFRACTOMETER_READING_ERROR_PPT = 0.5;

export const HYDROMETER_SOURCE =
  'hydrometer equation with glass expansion 25e-6 per °C on TEOS-10 densities; common practice for its uncertainties';

export type HydrometerReading = {
  /** As read, at the temperature of the sample. */
  readonly gravity: number;
  readonly temperatureC: TemperatureC;
  /** The two temperatures of the scale: where it reads right, and of the water it is relative to. */
  readonly scaleC: TemperatureC;
  readonly waterC?: TemperatureC;
  readonly glassPerC?: number;
  readonly readingError?: number;
  readonly temperatureErrorC?: TemperatureC;
};

/**
 * Practical salinity of a reading away from the temperature of the scale, with the spread of reading and thermometer
 * (root of the sum of squares). 0-42 ppt, -2 to 40 °C.
 */
export function hydrometerSalinity(reading: HydrometerReading): Bounded {
  const { gravity, temperatureC, readingError = HYDROMETER_READING_ERROR } = reading;
  const { temperatureErrorC = THERMOMETER_ERROR_C } = reading;
  notNegative('reading-error', readingError, '0.0005');
  notNegative('temperature-error', temperatureErrorC, '0.5 °C');
  within(gravity, GRAVITY);
  within(temperatureC, TEMPERATURE);
  const value = ofHydrometer(reading);
  const { scaleC, waterC = scaleC, glassPerC = GLASS_PER_C } = reading;
  const shown = (reads: number, at: number): number => hydrometerDensity(reads, at, scaleC, waterC, glassPerC);
  // How salinity follows when the density that is read, or the temperature it is read at, moves a little.
  const [bySalt, byWarmth] = densitySlopes(value, temperatureC);
  const byReading = (shown(gravity + STEP, temperatureC) - shown(gravity - STEP, temperatureC)) / (2 * STEP);
  const warmer = (shown(gravity, temperatureC + STEP) - shown(gravity, temperatureC - STEP)) / (2 * STEP);
  return spread(
    value,
    Math.hypot((byReading / bySalt) * readingError, ((warmer - byWarmth) / bySalt) * temperatureErrorC),
  );
}

const STEP = 1e-3;

function ofHydrometer(reading: HydrometerReading): SalinityPpt {
  const { gravity, temperatureC, scaleC, waterC = scaleC, glassPerC = GLASS_PER_C } = reading;
  within(scaleC, { ...TEMPERATURE, argument: 'scale' });
  const density = hydrometerDensity(gravity, temperatureC, scaleC, waterC, glassPerC);
  return salinityBetween(density / pureDensityKgM3(temperatureC), temperatureC, temperatureC);
}

/** kg/m³ of the water in which a hydrometer of this scale reads so. */
function hydrometerDensity(
  gravity: number,
  temperatureC: TemperatureC,
  scaleC: TemperatureC,
  waterC: TemperatureC,
  glassPerC: number,
): number {
  return (gravity * pureDensityKgM3(waterC)) / (1 + glassPerC * (temperatureC - scaleC));
}

/** Change of density with salinity and with temperature, at the ends of the ranges, too: the standard goes on beyond. */
function densitySlopes(salinityPpt: SalinityPpt, temperatureC: TemperatureC): readonly [number, number] {
  const density = (s: number, t: number): number => 1 / gibbs(absoluteSalinity(s), t).gP;
  const from = Math.max(0, salinityPpt - STEP);
  const bySalt = (density(from + 2 * STEP, temperatureC) - density(from, temperatureC)) / (2 * STEP);
  const byWarmth = (density(salinityPpt, temperatureC + STEP) - density(salinityPpt, temperatureC - STEP)) / (2 * STEP);
  return [bySalt, byWarmth];
}

// Quan and Fry, Applied Optics 34 (1995) 3477: seawater 0-35 ppt, 0-30 °C, 400-700 nm; at the yellow of sodium.
const WAVELENGTH_NM = 589.3;
const REFRACTED_TEMPERATURE: Range = { ...TEMPERATURE, low: 0, high: 35, why: 'the refractive index that is used' };

export const REFRACTOMETER_SOURCE =
  'refractive index of Quan and Fry 1995 (fitted to 35 ppt and 30 °C); common practice for its uncertainties';

/** Refractive index of seawater in sodium light. Source: Quan and Fry 1995, 0-42 ppt (fitted to 35), 0-35 °C (to 30). */
export function refractiveIndex(salinityPpt: SalinityPpt, temperatureC: TemperatureC): number {
  const s = within(salinityPpt, SALINITY);
  const t = within(temperatureC, REFRACTED_TEMPERATURE);
  return rawIndex(s, t);
}

function rawIndex(s: number, t: number): number {
  const nm = WAVELENGTH_NM;
  const plain = 1.31405 + (1.779e-4 - 1.05e-6 * t + 1.6e-8 * t * t) * s - 2.02e-6 * t * t;
  return plain + (15.868 + 0.01155 * s - 0.00423 * t) / nm - 4382 / nm ** 2 + 1.1455e6 / nm ** 3;
}

/**
 * What the scale was made for. Sodium chloride of 3.65 % bends light as seawater of 35 ppt does (CRC Handbook of Chemistry
 * and Physics, 57th edition, as quoted by a weak page), so a scale for brine reads 36.5 in it.
 */
export type RefractometerScale = 'seawater' | 'brine';
const BRINE_READS = 36.5 / 35;

export type RefractometerReading = {
  readonly readingPpt: SalinityPpt;
  readonly temperatureC: TemperatureC;
  /** Temperature at which it was set to zero with pure water, or for which its scale is made. */
  readonly scaleC?: TemperatureC;
  readonly scale?: RefractometerScale;
  /** An instrument that corrects for temperature itself is left at its reading, with a wider spread. */
  readonly compensated: boolean;
  readonly readingErrorPpt?: SalinityPpt;
  readonly temperatureErrorC?: TemperatureC;
};

/** What a self-correcting instrument leaves over for each degree from its scale's temperature: common practice, no source. */
const COMPENSATION_LEFT_PPT_PER_C = 0.05;

/** Practical salinity of a refractometer reading with its spread. 0-42 ppt, 0-35 °C. */
export function refractometerSalinity(reading: RefractometerReading): Bounded {
  const { readingPpt, temperatureC, scaleC = 20, scale = 'seawater', compensated } = reading;
  const { readingErrorPpt = REFRACTOMETER_READING_ERROR_PPT, temperatureErrorC = THERMOMETER_ERROR_C } = reading;
  notNegative('reading-error', readingErrorPpt, '0.5 ppt');
  notNegative('temperature-error', temperatureErrorC, '0.5 °C');
  within(readingPpt, { ...SALINITY, argument: 'reading', high: 50, why: 'the scale of a refractometer' });
  within(temperatureC, REFRACTED_TEMPERATURE);
  within(scaleC, { ...REFRACTED_TEMPERATURE, argument: 'scale' });
  const factor = scale === 'brine' ? BRINE_READS : 1;
  const asSeawater = readingPpt / factor;
  if (compensated) {
    const left = COMPENSATION_LEFT_PPT_PER_C * Math.abs(temperatureC - scaleC);
    return spread(within(asSeawater, SALINITY), Math.hypot(readingErrorPpt / factor, left));
  }
  const value = salinityOfIndex(rawIndex(asSeawater, scaleC), temperatureC);
  const byWarmth = (rawIndex(value, temperatureC + STEP) - rawIndex(value, temperatureC - STEP)) / (2 * STEP);
  // The index is straight in salinity.
  const bySalt = rawIndex(1, temperatureC) - rawIndex(0, temperatureC);
  return spread(value, Math.hypot(readingErrorPpt / factor, (byWarmth / bySalt) * temperatureErrorC));
}

function salinityOfIndex(index: number, temperatureC: TemperatureC): SalinityPpt {
  const found = solveRising((s) => rawIndex(s, temperatureC), index, -50, 100);
  // Pure water may come out a hair below nothing.
  return within(Math.abs(found) < 1e-9 ? 0 : found, {
    ...SALINITY,
    why: 'what this reading would mean at that temperature',
  });
}

function spread(value: number, error: number): Bounded {
  return { value, low: Math.max(0, value - error), high: value + error };
}

function notNegative(argument: string, value: number, example: string): void {
  if (!(value >= 0)) throw impossible(argument, String(value), 'an error has no sign', `Write it as in ${example}.`);
}
