import type { SalinityPpt, TemperatureC } from '../units/index.ts';
import { type Range, within } from './range.ts';
import { polynomial, solveRising } from './root.ts';
import { SALINITY, SEA_PRESSURE, TEMPERATURE } from './seawater.ts';

// PSS-78 as in UNESCO Technical Papers in Marine Science 44 (1983); below 2 the extension of Hill et al. (1986).
const RT_TERMS = [0.008, -0.1692, 25.3851, 14.0941, -7.0261, 2.7081];
const TEMPERATURE_TERMS = [0.0005, -0.0056, -0.0066, -0.0375, 0.0636, -0.0144];
const K = 0.0162;
const RATIO_OF_TEMPERATURE = [0.6766097, 2.00564e-2, 1.104259e-4, -6.9698e-7, 1.0031e-9];
const PRESSURE_TERMS = [2.07e-5, -6.37e-10, 3.989e-15];
const [D1, D2, D3, D4] = [3.426e-2, 4.464e-4, 4.215e-1, -3.107e-3] as const;
/** Conductivity of seawater of practical salinity 35 at 15 °C (IPTS-68) and one atmosphere, mS/cm. */
const STANDARD_MS_CM = 42.914;
const EXTENDED_BELOW = 2;

export const PSS78 = 'PSS-78 (UNESCO Technical Papers in Marine Science 44), below 2 ppt with Hill et al. 1986';

export const CONDUCTIVITY: Range = {
  argument: 'conductivity',
  low: 0,
  high: 85,
  unit: 'mS/cm',
  why: 'seawater up to 42 ppt and 40 °C',
  example: '53 mS/cm',
};

/** The scales of the standards and of a thermometer today differ by a quarter per mille. */
export function ipts68(temperatureC: TemperatureC): number {
  return 1.00024 * temperatureC;
}

export type Conductive = {
  readonly conductivityMsCm: number;
  readonly temperatureC: TemperatureC;
  readonly pressureDbar?: number;
};

/** Practical salinity of a conductivity at the temperature it was measured at. PSS-78, 0-42 ppt, -2 to 40 °C. */
export function practicalSalinity({ conductivityMsCm, temperatureC, pressureDbar = 0 }: Conductive): SalinityPpt {
  const ratio = within(conductivityMsCm, CONDUCTIVITY) / STANDARD_MS_CM;
  const t68 = ipts68(within(temperatureC, TEMPERATURE));
  const found = ofRatio(ratio, t68, within(pressureDbar, SEA_PRESSURE));
  return within(found, { ...SALINITY, why: 'what PSS-78 covers; this conductivity would be more' });
}

/** Conductivity in mS/cm at `temperatureC`; the inverse of `practicalSalinity`. */
export function conductivityMsCm(
  salinityPpt: SalinityPpt,
  temperatureC: TemperatureC,
  pressureDbar: number = 0,
): number {
  within(salinityPpt, SALINITY);
  const t68 = ipts68(within(temperatureC, TEMPERATURE));
  within(pressureDbar, SEA_PRESSURE);
  const ratio = solveRising((at) => unclamped(at, t68, pressureDbar), salinityPpt, 0, 3);
  return ratio * STANDARD_MS_CM;
}

/** Practical salinity of a laboratory salinometer: ratio to standard seawater at the same temperature. */
export function salinityOfRatioAtTemperature(rt: number, temperatureC: TemperatureC): SalinityPpt {
  within(rt, { argument: 'ratio', low: 0, high: 3, unit: '', why: 'a ratio to standard seawater', example: '1.0' });
  return Math.max(0, ofRt(rt, ipts68(within(temperatureC, TEMPERATURE))));
}

function ofRatio(ratio: number, t68: number, pressureDbar: number): number {
  return Math.max(0, unclamped(ratio, t68, pressureDbar));
}

function unclamped(ratio: number, t68: number, pressureDbar: number): number {
  const pressure = pressureDbar * polynomial(PRESSURE_TERMS, pressureDbar);
  const rp = 1 + pressure / (1 + D1 * t68 + D2 * t68 * t68 + (D3 + D4 * t68) * ratio);
  return ofRt(ratio / (rp * polynomial(RATIO_OF_TEMPERATURE, t68)), t68);
}

function ofRt(rt: number, t68: number): number {
  const plain = scale(rt, t68);
  if (plain >= EXTENDED_BELOW) return plain;
  // Hill's extension is scaled to meet the practical scale where it begins.
  const rtAtLimit = solveRising((at) => scale(at, t68), EXTENDED_BELOW, 0, 1);
  return (hill(rt, t68) * EXTENDED_BELOW) / hill(rtAtLimit, t68);
}

function scale(rt: number, t68: number): number {
  const root = Math.sqrt(rt);
  return polynomial(RT_TERMS, root) + warmth(t68) * polynomial(TEMPERATURE_TERMS, root);
}

function warmth(t68: number): number {
  return (t68 - 15) / (1 + K * (t68 - 15));
}

function hill(rt: number, t68: number): number {
  const x = 400 * rt;
  const y = 10 * Math.sqrt(rt);
  const first = (RT_TERMS[0] ?? 0) / (1 + x * (1.5 + x));
  const second = ((TEMPERATURE_TERMS[0] ?? 0) * warmth(t68)) / (1 + y * (1 + y * (1 + y)));
  return scale(rt, t68) - first - second;
}
