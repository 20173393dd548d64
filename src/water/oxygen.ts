import type { TemperatureC } from '../units/index.ts';
import { ATMOSPHERE_PA } from './air.ts';
import { ZERO_C_IN_K } from './gibbs.ts';
import type { Bounded } from './instruments.ts';
import { ipts68 } from './practical-salinity.ts';
import { positive, type Range, within, zeroOrMore } from './range.ts';
import { polynomial } from './root.ts';
import { TEMPERATURE, type Water } from './seawater.ts';

const SALINITY: Range = {
  argument: 'salinity',
  low: 0,
  high: 42,
  unit: 'ppt',
  why: 'the measurements behind it',
  example: '35 ppt',
};
const WARMTH: Range = { ...TEMPERATURE, low: 0, why: 'the measurements behind it' };
/** Half to 1.1 atmospheres: from high mountains to the deepest low in a mine. */
const AIR: Range = {
  argument: 'air',
  low: 0.5,
  high: 1.1,
  unit: 'atm',
  why: 'the measurements behind it',
  example: '1 atm',
};

export const OXYGEN_SOURCE = 'Benson and Krause 1984, as the U.S. Geological Survey uses it; air saturated with vapour';

/** mg/L in balance with air. Source: Benson and Krause 1984; 0-40 °C, 0-40 ppt (a little beyond), 0.5-1.1 atm. */
export function oxygenSaturationMgL({ salinityPpt, temperatureC }: Water, airAtm: number = 1): number {
  const s = within(salinityPpt, SALINITY);
  const t = within(temperatureC, WARMTH);
  const inverse = 1 / (t + ZERO_C_IN_K);
  const fresh = polynomial([-139.34411, 1.575701e5, -6.642308e7, 1.2438e10, -8.621949e11], inverse);
  const bySalt = polynomial([0.017674, -10.754, 2140.7], inverse);
  return Math.exp(fresh - s * bySalt) * pressureFactor(t, within(airAtm, AIR));
}

function pressureFactor(temperatureC: TemperatureC, airAtm: number): number {
  const inverse = 1 / (temperatureC + ZERO_C_IN_K);
  const vapour = Math.exp(polynomial([11.8571, -3840.7, -216_961], inverse));
  const theta = polynomial([0.000975, -1.426e-5, 6.436e-8], temperatureC);
  return ((airAtm - vapour) * (1 - theta * airAtm)) / ((1 - vapour) * (1 - theta));
}

// Garcia and Gordon, Limnology and Oceanography 37 (1992) 1307, coefficients for the data of Benson and Krause.
const GG_TEMPERATURE = [5.80871, 3.20291, 4.17887, 5.10006, -9.86643e-2, 3.80369];
const GG_SALT = [-7.01577e-3, -7.70028e-3, -1.13864e-2, -9.51519e-3];
const GG_SALT_SQUARE = -2.75915e-7;

/** µmol/kg at one atmosphere, the oceanographers' form of the same measurements. Garcia and Gordon 1992; 0-42 ppt, 0-40 °C. */
export function oxygenSaturationUmolKg({ salinityPpt, temperatureC }: Water): number {
  const s = within(salinityPpt, SALINITY);
  const t = ipts68(within(temperatureC, WARMTH));
  const scaled = Math.log((298.15 - t) / (ZERO_C_IN_K + t));
  return Math.exp(polynomial(GG_TEMPERATURE, scaled) + s * polynomial(GG_SALT, scaled) + GG_SALT_SQUARE * s * s);
}

/** Atmospheres at a height, by the international standard atmosphere (ISO 2533), to 5,000 m. */
export function airAtHeightAtm(metres: number): number {
  within(metres, { argument: 'height', low: -400, high: 5000, unit: 'm', why: 'where people live', example: '300 m' });
  return ((1 - 2.25577e-5 * metres) ** 5.25588 * 101_325) / ATMOSPHERE_PA;
}

/** Share of saturation, 1 being in balance with air. */
export function oxygenShare(oxygenMgL: number, water: Water, airAtm: number = 1): number {
  return (
    within(oxygenMgL, { ...zeroOrMore('oxygen', 'mg/L', '6.5 mg/L'), high: 40 }) / oxygenSaturationMgL(water, airAtm)
  );
}

/** What a stocked reef uses in the dark, mg/L an hour: from memory, to be learned by a probe. */
export const NIGHT_USE_MG_L_H: Bounded = { value: 1, low: 0.5, high: 1.5 };
/** Below the first fish are stressed, near the last they die. */
export const OXYGEN_LIMITS = { stressMgL: 5.5, lowMgL: 4, dangerMgL: 2 } as const;
export const OXYGEN_CLOCK_SOURCE = `${OXYGEN_SOURCE}; night use from memory, no exchange with air`;

/** Hours until oxygen has fallen to `limitMgL` when nothing moves the surface; zero where it is there already. */
export function hoursOfOxygen(startMgL: number, limitMgL: number, useMgLPerH: Bounded = NIGHT_USE_MG_L_H): Bounded {
  within(startMgL, { ...zeroOrMore('oxygen', 'mg/L', '6.5 mg/L'), high: 40 });
  within(limitMgL, { ...zeroOrMore('limit', 'mg/L', '4 mg/L'), high: 40 });
  for (const each of [useMgLPerH.low, useMgLPerH.value, useMgLPerH.high])
    within(each, { ...positive('use', 'mg/L/h', '1 mg/L/h'), high: 20 });
  const spare = Math.max(0, startMgL - limitMgL);
  return { value: spare / useMgLPerH.value, low: spare / useMgLPerH.high, high: spare / useMgLPerH.low };
}
