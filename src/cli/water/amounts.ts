import type { Bounded } from '../../water/index.ts';
import type { PlainUnit, Shown } from './types.ts';

export function shown(kind: Shown['kind'], value: number, decimals: number): Shown {
  return { kind, value, decimals };
}

export function bounded(kind: Shown['kind'], { value, low, high }: Bounded, decimals: number): Shown {
  return { kind, value, low, high, decimals };
}

/** Units that a topic names often. */
export const HOURS: PlainUnit = { unit: 'h' };
export const DAYS: PlainUnit = { unit: 'd' };
export const PER_CENT: PlainUnit = { unit: '%' };
export const PLAIN: PlainUnit = { unit: '' };
export const GRAMS: PlainUnit = { unit: 'g' };
export const LITRES_A_DAY: PlainUnit = { unit: 'L/d', us: { unit: 'gal/d', factor: 1 / 3.785411784 } };
export const DEGREES_AN_HOUR: PlainUnit = { unit: '°C/h', us: { unit: '°F/h', factor: 1.8 } };

/** Bounds in another measure. */
export function scaled({ value, low, high }: Bounded, factor: number): Bounded {
  return { value: value * factor, low: low * factor, high: high * factor };
}
