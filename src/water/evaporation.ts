import type { LengthCm, PowerW, TemperatureC, VolumeL } from '../units/index.ts';
import { saturationPressurePa, vapourPressurePa } from './air.ts';
import type { Bounded } from './instruments.ts';
import { positive, type Range, ROOM, within, zeroOrMore } from './range.ts';
import { latentHeatJKg, pureDensityKgM3, type Water, waterActivity } from './seawater.ts';

// 95 + 0.425 v of the inch-pound form, lb/(h ft²) with ft/min, inHg and Btu/lb, in W/(m² Pa) and W/(m² Pa) per m/s. The
// rounded 0.089 and 0.0782 of handbooks are the same.
const STILL_W_M2_PA = 0.08849725202302205;
const MOVED_W_M2_PA = 0.07793479508865389;
/** Smith, Löf and Jones measured 0.74 of the formula over undisturbed water, and up to 70 % more than that over disturbed. */
const UNDISTURBED = 0.74;
const DISTURBED = UNDISTURBED * 1.7;

export const EVAPORATION_SOURCE =
  'ASHRAE pool formula W = A (pw - pa)(a + b v)/Y; band from Smith, Löf and Jones, ASHRAE Transactions 104 (1998)';

export type Surface = {
  readonly areaM2: number;
  readonly water: Water;
  readonly roomC: TemperatureC;
  /** Relative humidity, 0 to 1. */
  readonly humidity: number;
  /** Of the air over the water. */
  readonly airMS: number;
};

const AREA: Range = positive('area', 'm²', '0.6 m²', 'the open surface');
const AIR_SPEED: Range = {
  argument: 'air',
  low: 0,
  high: 5,
  unit: 'm/s',
  why: 'a room with a fan',
  example: '0.1 m/s',
};

/** Pa that drives evaporation; below zero the air gives water to the tank instead. */
export function drivingPressurePa({ water, roomC, humidity }: Omit<Surface, 'areaM2' | 'airMS'>): number {
  within(roomC, ROOM);
  return waterActivity(water) * saturationPressurePa(water.temperatureC) - vapourPressurePa(roomC, humidity);
}

/** kg/s by the formula as it stands, for any vapour pressures and latent heat. */
export function evaporationKgS(areaM2: number, drivingPa: number, airMS: number, latentJKg: number): number {
  within(areaM2, AREA);
  within(airMS, AIR_SPEED);
  within(latentJKg, positive('latent', 'J/kg', '2440000 J/kg'));
  return (areaM2 * drivingPa * (STILL_W_M2_PA + MOVED_W_M2_PA * airMS)) / latentJKg;
}

/** Litres a day: the formula, from undisturbed to disturbed water. Never below zero: condensing air fills no tank. */
export function evaporationLPerDay(surface: Surface): Bounded {
  const driving = Math.max(0, drivingPressurePa(surface));
  const kgS = evaporationKgS(surface.areaM2, driving, surface.airMS, latentHeatJKg(surface.water));
  const value = (kgS * 86_400 * 1000) / pureDensityKgM3(surface.water.temperatureC);
  return { value, low: value * UNDISTURBED, high: value * DISTURBED };
}

/** Watts carried away by the water that leaves as vapour. */
export function evaporationHeatW(litresPerDay: number, water: Water): PowerW {
  within(litresPerDay, zeroOrMore('evaporation', 'L/d', '6 L/d'));
  return (litresPerDay * pureDensityKgM3(water.temperatureC) * latentHeatJKg(water)) / (1000 * 86_400);
}

export type WithoutTopOff = {
  readonly cmPerDay: LengthCm;
  readonly daysToDry: number;
  readonly storeDays: number | null;
};

/** Only the last chamber of a sump falls: centimetres a day, days until the pump draws air, days a store lasts. */
export function withoutTopOff(
  litresPerDay: number,
  chamberLPerCm: number,
  spareCm: LengthCm,
  storeL: VolumeL | null,
): WithoutTopOff {
  within(litresPerDay, positive('evaporation', 'L/d', '6 L/d'));
  within(chamberLPerCm, positive('chamber', 'L/cm', '1.26 L/cm'));
  within(spareCm, zeroOrMore('spare', 'cm', '10 cm'));
  if (storeL !== null) within(storeL, zeroOrMore('store', 'L', '40 L'));
  const cmPerDay = litresPerDay / chamberLPerCm;
  return { cmPerDay, daysToDry: spareCm / cmPerDay, storeDays: storeL === null ? null : storeL / litresPerDay };
}

/** Litres a day as topped off: seconds of run times the pump's own flow. What the formula is held against. */
export function topOffLPerDay(runSecondsPerDay: number, pumpMlPerS: number): number {
  within(runSecondsPerDay, { ...zeroOrMore('run', 's/d', '340 s'), high: 86_400, why: 'a day' });
  return (runSecondsPerDay * within(pumpMlPerS, positive('pump', 'ml/s', '17.5 ml/s'))) / 1000;
}
