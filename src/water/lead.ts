import type { LengthCm, PowerW, TemperatureC } from '../units/index.ts';
import { impossible, positive, type Range, within } from './range.ts';

/** Ohm metres of annealed copper at 20 °C, to the digits that tables of wire sizes use. */
const COPPER_OHM_M = 1.724e-8;
/** Change of resistance for each °C from 20. */
const COPPER_PER_C = 0.00393;

export const LEAD_SOURCE =
  'IEC 60228 (flexible copper, greatest resistance at 20 °C) or ASTM B258 wire sizes; 3 % and 80 %: common practice. Local code and the maker’s instructions come first';

/** Ω/km, the most that IEC 60228 allows flexible plain copper (class 5) at 20 °C. Keyed by mm². */
export const FLEXIBLE_OHM_PER_KM: Readonly<Record<string, number>> = {
  0.5: 39,
  0.75: 26,
  1: 19.5,
  1.5: 13.3,
  2.5: 7.98,
  4: 4.95,
  6: 3.3,
  10: 1.91,
};
/** Ω/km for solid and stranded plain copper (classes 1 and 2). Keyed by mm². */
export const STRANDED_OHM_PER_KM: Readonly<Record<string, number>> = {
  0.5: 36,
  0.75: 24.5,
  1: 18.1,
  1.5: 12.1,
  2.5: 7.41,
  4: 4.61,
  6: 3.08,
  10: 1.83,
};

/** Metric sizes are flexible copper, the less conducting kind, unless said to be solid or stranded. */
export type Wire = { readonly awg: number } | { readonly mm2: number; readonly stranded?: true };

const AWG: Range = { argument: 'wire', low: 0, high: 40, unit: 'AWG', why: 'sizes of leads', example: '18 AWG' };

/** Millimetres of a wire of the American gauge. Source: ASTM B258. */
export function awgDiameterMm(awg: number): number {
  return 0.127 * 92 ** ((36 - within(awg, AWG)) / 39);
}

export function awgAreaMm2(awg: number): number {
  return (Math.PI / 4) * awgDiameterMm(awg) ** 2;
}

/** Ω for each metre of one conductor at 20 °C. A metric size must be one of the standard. */
export function ohmPerM(wire: Wire): number {
  if ('awg' in wire) return (COPPER_OHM_M / awgAreaMm2(wire.awg)) * 1e6;
  const table = wire.stranded === true ? STRANDED_OHM_PER_KM : FLEXIBLE_OHM_PER_KM;
  const listed = table[String(wire.mm2)];
  if (listed !== undefined) return listed / 1000;
  throw impossible(
    'wire',
    `${wire.mm2} mm²`,
    'it is no size of IEC 60228 listed here',
    `Use one of ${Object.keys(FLEXIBLE_OHM_PER_KM)
      .toSorted((a, b) => Number(a) - Number(b))
      .join(', ')} mm², or an AWG size such as 18 AWG.`,
  );
}

export type Lead = {
  readonly wire: Wire;
  /** One way; the current goes there and back. */
  readonly lengthCm: LengthCm;
  readonly currentA: number;
  readonly supplyV: number;
  /** Of the conductor; 20 °C where nothing is known. */
  readonly conductorC?: TemperatureC;
};
export type LeadDrop = {
  readonly dropV: number;
  readonly share: number;
  readonly lossW: PowerW;
  readonly atEndV: number;
  /** More than 3 % of the supply. */
  readonly tooMuch: boolean;
};
/** A usual limit for a branch: common practice, no source. */
export const DROP_LIMIT = 0.03;

const CURRENT: Range = { ...positive('current', 'A', '2.5 A', 'a low-voltage lead'), high: 100 };
const SUPPLY: Range = { ...positive('supply', 'V', '24 V', 'mains and below'), high: 250 };

/** Voltage lost along a lead. */
export function leadDrop({ wire, lengthCm, currentA, supplyV, conductorC = 20 }: Lead): LeadDrop {
  within(lengthCm, { ...positive('length', 'cm', '3 m'), high: 20_000, why: 'leads of a home' });
  within(currentA, CURRENT);
  within(supplyV, SUPPLY);
  within(conductorC, { argument: 'conductor', low: -20, high: 105, unit: '°C', why: 'insulation', example: '40 °C' });
  const ohm = 2 * (lengthCm / 100) * ohmPerM(wire) * (1 + COPPER_PER_C * (conductorC - 20));
  const dropV = ohm * currentA;
  const share = dropV / supplyV;
  if (share >= 1)
    throw impossible(
      'length',
      `${lengthCm / 100} m`,
      `the lead would take all ${supplyV} V at ${currentA} A`,
      'Use a thicker wire, a shorter lead or a higher voltage.',
    );
  return { dropV, share, lossW: dropV * currentA, atEndV: supplyV - dropV, tooMuch: share > DROP_LIMIT };
}

/** Eight tenths of a connector's rating for hours on end: common practice, no source; local code first. */
export const CONNECTOR_SHARE = 0.8;
export type Connector = { readonly continuousA: number; readonly share: number; readonly tooMuch: boolean };

/** Whether a connector may carry the current for hours on end. */
export function connectorLoad(currentA: number, ratedA: number): Connector {
  within(currentA, CURRENT);
  within(ratedA, { ...CURRENT, argument: 'rated', example: '5 A' });
  const continuousA = ratedA * CONNECTOR_SHARE;
  return { continuousA, share: currentA / ratedA, tooMuch: currentA > continuousA };
}
