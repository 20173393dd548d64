import type { TemperatureC } from '../units/index.ts';
import { ZERO_C_IN_K } from './gibbs.ts';
import { type Range, within } from './range.ts';
import { polynomial, solveRising } from './root.ts';

/** Pa: one standard atmosphere. */
export const ATMOSPHERE_PA = 101_325;
const TRIPLE_POINT_C = 0.01;
/** Mass of a molecule of water over that of air. */
const WATER_TO_AIR = 0.621945;

// ASHRAE Handbook Fundamentals 2017, chapter 1, equations 5 (over ice) and 6 (over water): powers -1 to 4 of T, then ln T.
const OVER_ICE = [-5.6745359e3, 6.3925247, -9.677843e-3, 6.2215701e-7, 2.0747825e-9, -9.484024e-13, 4.1635019];
const OVER_WATER = [-5.8002206e3, 1.3914993, -4.8640239e-2, 4.1764768e-5, -1.4452093e-8, 0, 6.5459673];

export const VAPOUR_SOURCE = 'ASHRAE Handbook Fundamentals 2017, chapter 1';
const AIR_TEMPERATURE: Range = {
  argument: 'room',
  low: -100,
  high: 200,
  unit: '°C',
  why: 'the range of the ASHRAE formula',
  example: '22 °C',
};
export const HUMIDITY: Range = {
  argument: 'humidity',
  low: 0,
  high: 1,
  unit: '(as a share)',
  why: 'relative humidity',
  example: '50 %',
};

/** Pa over pure water, or over ice below 0.01 °C. Source: ASHRAE 2017; -100 to 200 °C, within 0.04 % of IAPWS. */
export function saturationPressurePa(temperatureC: TemperatureC): number {
  const kelvin = within(temperatureC, AIR_TEMPERATURE) + ZERO_C_IN_K;
  const terms = temperatureC <= TRIPLE_POINT_C ? OVER_ICE : OVER_WATER;
  return Math.exp(polynomial(terms.slice(0, 6), kelvin) / kelvin + (terms[6] ?? 0) * Math.log(kelvin));
}

const N = [
  0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.1202082470247e5, -0.32325550322333e7,
  0.1491510861353e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3,
] as const;

/** Pa over pure water by IAPWS-IF97, equation 30: 0 to 373.9 °C. A second opinion on `saturationPressurePa`. */
export function if97SaturationPressurePa(temperatureC: TemperatureC): number {
  const kelvin =
    within(temperatureC, { ...AIR_TEMPERATURE, argument: 'temperature', low: 0, high: 373.946, why: 'IAPWS-IF97' }) +
    ZERO_C_IN_K;
  const theta = kelvin + N[8] / (kelvin - N[9]);
  const a = theta * theta + N[0] * theta + N[1];
  const b = N[2] * theta * theta + N[3] * theta + N[4];
  const c = N[5] * theta * theta + N[6] * theta + N[7];
  return 1e6 * ((2 * c) / (-b + Math.sqrt(b * b - 4 * a * c))) ** 4;
}

/** Pa of vapour in air of this relative humidity (0 to 1). */
export function vapourPressurePa(temperatureC: TemperatureC, humidity: number): number {
  return within(humidity, HUMIDITY) * saturationPressurePa(temperatureC);
}

/** °C at which this air begins to condense: on what is colder, water appears. */
export function dewPointC(temperatureC: TemperatureC, humidity: number): TemperatureC {
  within(humidity, { ...HUMIDITY, low: 0, above: true });
  return solveRising(saturationPressurePa, vapourPressurePa(temperatureC, humidity), -100, temperatureC);
}

/** kg of vapour for each kg of dry air, at one atmosphere. */
export function humidityRatio(temperatureC: TemperatureC, humidity: number): number {
  const vapour = vapourPressurePa(temperatureC, humidity);
  within(vapour, { ...HUMIDITY, argument: 'room', high: ATMOSPHERE_PA * 0.99, unit: 'Pa', why: 'below boiling' });
  return (WATER_TO_AIR * vapour) / (ATMOSPHERE_PA - vapour);
}
