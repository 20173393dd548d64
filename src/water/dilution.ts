import type { VolumeL } from '../units/index.ts';
import { BATCH_SHARE_WHY, impossible, type Range, share, VOLUME, within, zeroOrMore } from './range.ts';

// One substance in well-mixed water, in any unit of concentration: mg/L of nitrate, dKH, ppt. Mass balance; volumes add.
export const DILUTION_SOURCE = 'mass balance of well-mixed water';

const CONCENTRATION: Range = { ...zeroOrMore('now', 'mg/L', '20 mg/L', 'a concentration'), high: 1e6 };
const ADDED: Range = { ...CONCENTRATION, argument: 'new', example: '0 mg/L' };
const FRACTION: Range = { ...share('change', '10 %', BATCH_SHARE_WHY), above: true };
const COUNT: Range = { argument: 'times', low: 0, high: 1e6, unit: '', why: 'a number of changes', example: '4' };

/** Part of the tank that a batch is. */
export function batchShare(batchL: VolumeL, volumeL: VolumeL): number {
  within(volumeL, VOLUME);
  return (
    within(batchL, { argument: 'batch', low: 0, high: volumeL, unit: 'L', why: BATCH_SHARE_WHY, example: '45 L' }) /
    volumeL
  );
}

/** What is left after `times` equal batches. */
export function afterBatches(now: number, added: number, change: number, times: number): number {
  within(now, CONCENTRATION);
  within(added, ADDED);
  within(change, { ...FRACTION, low: 0 });
  within(times, COUNT);
  return added + (now - added) * (1 - change) ** times;
}

/** What is left while `exchangedL` flows through at the rate it flows out. */
export function afterFlow(now: number, added: number, exchangedL: VolumeL, volumeL: VolumeL): number {
  within(now, CONCENTRATION);
  within(added, ADDED);
  within(exchangedL, zeroOrMore('batch', 'L', '45 L'));
  return added + (now - added) * Math.exp(-exchangedL / within(volumeL, VOLUME));
}

export type Target = { readonly now: number; readonly added: number; readonly target: number };

/** How much of the way from now to the new water's concentration is left at the target: more than 0, less than 1. */
function wayLeft({ now, added, target }: Target): number {
  within(now, CONCENTRATION);
  within(added, ADDED);
  within(target, { ...CONCENTRATION, argument: 'target' });
  const left = (target - added) / (now - added);
  if (target !== now && !(left > 0 && left < 1))
    throw impossible(
      'target',
      String(target),
      `it does not lie between ${now} in the tank and ${added} in the new water`,
      'Choose a target between the two, or other new water; the new water itself is never quite reached.',
    );
  return target === now ? 1 : left;
}

/** Equal batches until the target is reached: exact, and in whole batches. */
export function batchesFor(wanted: Target, change: number): { readonly exact: number; readonly whole: number } {
  within(change, FRACTION);
  const left = wayLeft(wanted);
  if (left === 1) return { exact: 0, whole: 0 };
  const exact = change === 1 ? 1 : Math.log(left) / Math.log(1 - change);
  // A hair above a whole number is rounding, not another batch.
  return { exact, whole: Math.ceil(exact - 1e-9) };
}

/** One batch that reaches the target, litres. */
export function oneBatchFor(wanted: Target, volumeL: VolumeL): VolumeL {
  return within(volumeL, VOLUME) * (1 - wayLeft(wanted));
}

/** Litres that must flow through to reach the target. */
export function flowFor(wanted: Target, volumeL: VolumeL): VolumeL {
  // Taken from zero, so that no way to go is not minus zero.
  return 0 - within(volumeL, VOLUME) * Math.log(wayLeft(wanted));
}

export type Steady = { readonly before: number; readonly after: number; readonly mean: number };

/** Where equal batches settle against a steady rise: just before a change, just after, and on average over time. */
export function steadyBatches(rise: number, change: number, added: number = 0): Steady {
  within(change, FRACTION);
  within(added, ADDED);
  within(rise, { ...CONCENTRATION, argument: 'rise', example: '2 mg/L' });
  const before = added + rise / change;
  return { before, after: before - rise, mean: before - rise / 2 };
}

/** Where a steady flow settles against a steady rise; both for the same time, such as a day. */
export function steadyFlow(rise: number, exchangedL: VolumeL, volumeL: VolumeL, added: number = 0): number {
  within(rise, { ...CONCENTRATION, argument: 'rise', example: '2 mg/L' });
  within(exchangedL, { ...zeroOrMore('batch', 'L', '45 L'), above: true });
  within(added, ADDED);
  return added + (rise * within(volumeL, VOLUME)) / exchangedL;
}

/** After `times` as long as the rise and the flow are for. */
export function flowAgainstRise(
  start: number,
  rise: number,
  exchangedL: VolumeL,
  volumeL: VolumeL,
  times: number,
  added: number = 0,
): number {
  within(start, CONCENTRATION);
  const settled = steadyFlow(rise, exchangedL, volumeL, added);
  return settled + (start - settled) * Math.exp((-exchangedL * within(times, COUNT)) / volumeL);
}

/** Concentration, salinity or temperature of parts poured together, by volume. */
export function mixed(parts: readonly (readonly [volumeL: VolumeL, value: number])[]): number {
  const total = parts.reduce((sum, [litres]) => sum + within(litres, zeroOrMore('volume', 'L', '20 L')), 0);
  within(total, VOLUME);
  return parts.reduce((sum, [litres, value]) => sum + litres * value, 0) / total;
}
