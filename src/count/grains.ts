import type { Bounds, Measure } from '../model/index.ts';
import { DAY_MS, HOUR_MS } from '../units/index.ts';

/**
 * Amounts are added up in grains: whole numbers small enough that nothing is lost and whose sums do not depend on the order
 * or on how a delivery was cut. The sizes are chosen so that the usual products come out whole: a grain of litres is
 * one millilitre an hour for one millisecond, a grain of energy is one milliwatt for one millisecond (a microjoule),
 * a grain of dissolved solids is what a millionth of a litre at a thousandth of a milligram a litre holds.
 */
export const GRAINS_PER_UNIT: Readonly<Record<Measure, number>> = {
  'on-hours': HOUR_MS,
  starts: 1,
  litres: 3.6e9,
  energy: 3.6e12,
  days: DAY_MS,
  grams: 1e12,
  actuations: 1,
};

/** Meters read in steps, so that differences of readings are exact: a millionth of a litre or kWh, a millisecond of a run-hour. */
export const METER_STEPS_PER_UNIT: Readonly<Record<Measure, number>> = {
  'on-hours': HOUR_MS,
  starts: 1,
  litres: 1e6,
  energy: 1e6,
  days: DAY_MS,
  grams: 1e6,
  actuations: 1,
};

export function grainsPerStep(measure: Measure): number {
  return GRAINS_PER_UNIT[measure] / METER_STEPS_PER_UNIT[measure];
}

/** Grains as the measure's own unit. */
export function inUnits(measure: Measure, grains: Bounds): Bounds {
  const per = GRAINS_PER_UNIT[measure];
  return { low: grains.low / per, best: grains.best / per, high: grains.high / per };
}
