import type { SalinityPpt, TemperatureC } from '../units/index.ts';
import { absoluteSalinity, gibbs, ZERO_C_IN_K } from './gibbs.ts';
import { type Range, within } from './range.ts';
import { polynomial } from './root.ts';

/** Practical salinities of TEOS-10, EOS-80 and PSS-78 alike; tank water lies well inside. */
export const SALINITY: Range = {
  argument: 'salinity',
  low: 0,
  high: 42,
  unit: 'ppt',
  why: 'the range of the seawater standards',
  example: '35 ppt',
};
export const TEMPERATURE: Range = {
  argument: 'temperature',
  low: -2,
  high: 40,
  unit: '°C',
  why: 'the range of the seawater standards',
  example: '25 °C',
};

/** Water at the surface: what it is at and how salt it is. */
export type Water = { readonly salinityPpt: SalinityPpt; readonly temperatureC: TemperatureC };

export const TEOS10 = 'TEOS-10 (IAPWS R13-08 and SR7-09), salt of the standard ocean, one atmosphere';

const CONSERVATIVE_CP = 3991.86795711963;
/** Specific gas constant of water, J/(kg K), as IAPWS-95 has it. */
const WATER_GAS_CONSTANT = 461.51805;

function checked({ salinityPpt, temperatureC }: Water): readonly [number, number] {
  return [absoluteSalinity(within(salinityPpt, SALINITY)), within(temperatureC, TEMPERATURE)];
}

/** Deep water is no aquarium; pressure is here for the check values of the standards. */
export const SEA_PRESSURE: Range = {
  argument: 'pressure',
  low: 0,
  high: 10_000,
  unit: 'dbar',
  why: 'the range of the seawater standards',
  example: '0 dbar',
};

/** kg/m³. Source: TEOS-10. Salinity 0-42 ppt, -2 to 40 °C, 0 to 10,000 dbar above one atmosphere. */
export function densityKgM3(water: Water, pressureDbar: number = 0): number {
  const [salinity, temperature] = checked(water);
  return 1 / gibbs(salinity, temperature, within(pressureDbar, SEA_PRESSURE)).gP;
}

/** kg/m³ of pure water at one atmosphere. Source: TEOS-10 (IAPWS SR7-09), -2 to 40 °C. */
export function pureDensityKgM3(temperatureC: TemperatureC): number {
  return densityKgM3({ salinityPpt: 0, temperatureC });
}

/** J/(kg K) at constant pressure. Source: TEOS-10. Salinity 0-42 ppt, -2 to 40 °C, 0 to 10,000 dbar. */
export function heatCapacityJKgK(water: Water, pressureDbar: number = 0): number {
  const [salinity, temperature] = checked(water);
  return -(temperature + ZERO_C_IN_K) * gibbs(salinity, temperature, within(pressureDbar, SEA_PRESSURE)).gTT;
}

/** °C; the temperature whose mixtures keep heat. Source: TEOS-10, at one atmosphere. */
export function conservativeTemperatureC(water: Water): number {
  const [salinity, temperature] = checked(water);
  const { g, gT } = gibbs(salinity, temperature);
  return (g - (temperature + ZERO_C_IN_K) * gT) / CONSERVATIVE_CP;
}

/** Vapour pressure over seawater as a share of that over pure water; 0.981 at 35 ppt. Source: TEOS-10. */
export function waterActivity(water: Water): number {
  const [salinity, temperature] = checked(water);
  const less = gibbs(salinity, temperature).waterPotential - gibbs(0, temperature).waterPotential;
  return Math.exp(less / (WATER_GAS_CONSTANT * (temperature + ZERO_C_IN_K)));
}

/** Rows by power of √(salinity), each a polynomial in temperature; TEOS-10 toolbox, fit to the standard's own values. */
const LATENT_ROWS: readonly (readonly number[])[] = [
  [
    2.499065844825125e6, -9.096800915831875e4, 1.894281502222415e1, -1.20700648253233e3, 5.731307337366114e2,
    -3.233571307223379e2, 1.021046205356775e2,
  ],
  [
    -1.544590633515099e-1, 4.589984751248335e1, -1.104989199195898e2, 1.186568375570869e1, 8.46078017563209e1,
    -2.38985392874763e1,
  ],
  [1.665513670736e2, -6.631757848479068e3, 2.519335841663499e3, -1.541083032068263e3, 1.797443329095446e2],
  [1.192559661490269e3, 7.437431482069087e2, -6.399956483223386e2, 7.510134932437941e2],
  [-3.148710097513822e3, 1.062383995581363e3, -8.062279018001309e2],
  [1.213387273240204e3, 4.351585544019463e1],
  [-2.031538422351553e2],
];

/** J/kg: heat carried away by each kilogram that evaporates. Source: TEOS-10 toolbox, 0-42 ppt, -2 to 40 °C. */
export function latentHeatJKg(water: Water): number {
  const [salinity] = checked(water);
  const conservative = conservativeTemperatureC(water) / 40;
  const x = Math.sqrt(salinity / ((40 * 35.16504) / 35));
  return polynomial(
    LATENT_ROWS.map((row) => polynomial(row, conservative)),
    x,
  );
}
