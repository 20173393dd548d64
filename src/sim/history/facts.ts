// What happened to the tank in its recorded past: services, closures, purchases. Days are D-numbers of the calendar.
import type { InstantMs } from '../../units/index.ts';
import { atLocal } from '../calendar.ts';
import type { PlugKey } from '../tank/index.ts';

/** First overhaul: lamp set, UV lamp, floats and more. A Monday. */
export const OVERHAUL_DAY = 203;
/** The library is shut; nobody changes water. */
export const CLOSURES: readonly { readonly from: number; readonly to: number }[] = [
  { from: 110, to: 118 },
  { from: 320, to: 327 },
];

export const isClosed = (day: number): boolean => CLOSURES.some(({ from, to }) => day >= from && day <= to);

const everyFourWeeks = Array.from({ length: 20 }, (_, index) => index * 28);

/** Days on which scale or salt was taken off, oldest first. */
const CLEANED: Readonly<Partial<Record<PlugKey, readonly number[]>>> = {
  return_pump: [-30, 77, OVERHAUL_DAY, 357],
  skimmer: everyFourWeeks,
  circulation_left: [-20, OVERHAUL_DAY, 293, 388, 483],
  circulation_right: [-20, OVERHAUL_DAY, 293, 388, 483],
};

export function cleanedBefore(key: PlugKey, at: InstantMs): InstantMs {
  let newest = atLocal(-30, 12);
  for (const day of CLEANED[key] ?? []) {
    const cleaned = atLocal(day, 12);
    if (cleaned <= at) newest = cleaned;
  }
  return newest;
}

/** What the parts wall says at D547: when each was fitted or last done. */
export const FITTED_DAYS = {
  lampTubes: OVERHAUL_DAY,
  uvLamp: OVERHAUL_DAY,
  floats: OVERHAUL_DAY,
  resin: 430,
  sediment: 385,
  carbonBlock: 385,
  heaters: -260,
  skimmerBody: 385,
  returnPump: 357,
  circulation: 483,
  phElectrode: 30,
  backupBattery: -400,
  doserTubes: 477,
  rcdTest: 520,
} as const;

/** Litres that had gone through the meters before D0. */
export const METERS_AT_START = { feedL: 1_204.3, productL: 301.1 } as const;

/** Product a day, over the whole record: 45 L of new salt water a week and the top-off. */
export const PRODUCT_L_PER_DAY = 12.4;

/** What the membrane leaves in the water before the resin. */
export const RO_TDS_MG_PER_L = 9.6;
