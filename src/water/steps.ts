import type { TemperatureC, VolumeL } from '../units/index.ts';
import { batchShare } from './dilution.ts';
import { type Range, within, zeroOrMore } from './range.ts';

export const STEP_SOURCE = 'mass balance of well-mixed water';
const ALKALINITY: Range = { argument: 'tank', low: 0, high: 30, unit: 'dKH', why: 'tank water', example: '7.6 dKH' };
const WATER_TEMPERATURE: Range = { argument: 'tank', low: 0, high: 45, unit: '°C', why: 'water', example: '25.5 °C' };

export type Step = {
  /** In the tank after the change. */
  readonly after: number;
  /** Signed; a rise of alkalinity is worse borne than a fall. */
  readonly step: number;
  /** Largest batch whose step stays within the limit; null where any batch does. */
  readonly largestBatchL: VolumeL | null;
};

/** The step of a batch: difference between the waters times the part of the tank that is changed. */
function stepOf(batchL: VolumeL, volumeL: VolumeL, gap: number, tank: number, limit: number): Step {
  const step = batchShare(batchL, volumeL) * gap;
  const largest = Math.abs(gap) <= limit ? null : (volumeL * limit) / Math.abs(gap);
  return { after: tank + step, step, largestBatchL: largest };
}

/** Alkalinity in dKH. The limit is the keeper's; the rule pack's own is 1 dKH. */
export function alkalinityStep(
  batchL: VolumeL,
  volumeL: VolumeL,
  tankDkh: number,
  newDkh: number,
  limitDkh: number,
): Step {
  within(tankDkh, ALKALINITY);
  within(newDkh, { ...ALKALINITY, argument: 'new', example: '11 dKH' });
  within(limitDkh, { ...zeroOrMore('limit', 'dKH', '1 dKH'), high: 30, above: true });
  return stepOf(batchL, volumeL, newDkh - tankDkh, tankDkh, limitDkh);
}

/** Days until alkalinity has fallen to `lowestDkh` at the tank's own daily use and no dosing. */
export function daysToAlkalinity(tankDkh: number, lowestDkh: number, useDkhPerDay: number): number {
  within(tankDkh, ALKALINITY);
  within(lowestDkh, { ...ALKALINITY, argument: 'lowest', high: tankDkh, why: 'no more than now', example: '7 dKH' });
  within(useDkhPerDay, { ...zeroOrMore('use', 'dKH/d', '0.6 dKH/d'), high: 20, above: true });
  return (tankDkh - lowestDkh) / useDkhPerDay;
}

/** Temperature in °C; the waters differ in heat capacity by less than a thousandth. */
export function temperatureStep(
  batchL: VolumeL,
  volumeL: VolumeL,
  tankC: TemperatureC,
  newC: TemperatureC,
  limitC: TemperatureC,
): Step {
  within(tankC, WATER_TEMPERATURE);
  within(newC, { ...WATER_TEMPERATURE, argument: 'new', example: '20 °C' });
  within(limitC, { ...zeroOrMore('limit', '°C', '0.5 °C'), high: 45, above: true });
  return stepOf(batchL, volumeL, newC - tankC, tankC, limitC);
}
