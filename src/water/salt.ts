import type { MassG, SalinityPpt, TemperatureC, VolumeL } from '../units/index.ts';
import { absoluteSalinity, practicalOfAbsolute } from './gibbs.ts';
import type { Bounded } from './instruments.ts';
import { impossible, positive, type Range, VOLUME, within, zeroOrMore } from './range.ts';
import { densityKgM3, pureDensityKgM3, SALINITY, type Water } from './seawater.ts';

const BATCH: Range = { ...positive('volume', 'L', '45 L', 'a batch'), high: 1e7 };
const TARGET: Range = { ...SALINITY, argument: 'target', above: true };

/**
 * Grams of a bagged mix for each litre of finished water at 35 ppt. Mixes hold water of their own, so more is needed than
 * the salt that dissolves: 36 to 39 g/L, to be learned for each bag. Common practice, no source.
 */
export const MIX_G_PER_L_AT_35: Bounded = { value: 37.5, low: 36, high: 39 };
export const SALT_SOURCE = 'mass balance on TEOS-10 densities; strength of the mix: common practice, no source';

/** Grams of dissolved salt in a litre of the finished water. Source: TEOS-10. 0-42 ppt. */
export function saltGPerL(water: Water): number {
  return (absoluteSalinity(water.salinityPpt) * densityKgM3(water)) / 1000;
}

/** Grams of dry salt of the standard ocean in `volumeL` of finished water. */
export function pureSaltG(volumeL: VolumeL, water: Water): MassG {
  return within(volumeL, BATCH) * saltGPerL(water);
}

/**
 * Litres of pure water at `temperatureC` to begin a batch with: what is not salt. The little water that a mix holds of its
 * own is left out, so the batch comes out a hair larger.
 */
export function freshForBatchL(volumeL: VolumeL, water: Water): VolumeL {
  const totalG = within(volumeL, BATCH) * densityKgM3(water);
  return (totalG - pureSaltG(volumeL, water)) / pureDensityKgM3(water.temperatureC);
}

const MIX_RANGE: Range = {
  argument: 'mix',
  low: 30,
  high: 50,
  unit: 'g/L',
  why: 'grams of mix for each litre at 35 ppt',
  example: '37.5 g/L',
};

/** How much heavier the bag's salt is than the salt that dissolves from it. */
function mixFactor(mixGPerLAt35: number): number {
  within(mixGPerLAt35, MIX_RANGE);
  return mixGPerLAt35 / saltGPerL({ salinityPpt: 35, temperatureC: 25 });
}

/** Grams of mix for a batch of new water, between the weakest and the strongest bag where the bag is not known. */
export function mixForBatchG(volumeL: VolumeL, water: Water, mixGPerLAt35?: number): Bounded {
  within(water.salinityPpt, TARGET);
  return eachMix(pureSaltG(volumeL, water), mixGPerLAt35);
}

function eachMix(pureG: MassG, mixGPerLAt35: number | undefined): Bounded {
  if (mixGPerLAt35 !== undefined) {
    const value = pureG * mixFactor(mixGPerLAt35);
    return { value, low: value, high: value };
  }
  const { value, low, high } = MIX_G_PER_L_AT_35;
  return { value: pureG * mixFactor(value), low: pureG * mixFactor(low), high: pureG * mixFactor(high) };
}

/** Strength of a bag, grams for each litre at 35 ppt, from what a batch took and came out at. */
export function learnMixGPerL(usedG: MassG, volumeL: VolumeL, water: Water): number {
  within(water.salinityPpt, { ...SALINITY, above: true });
  within(usedG, positive('used', 'g', '1.7 kg'));
  const asPure = pureSaltG(volumeL, water) / saltGPerL({ salinityPpt: 35, temperatureC: 25 });
  const strength = usedG / asPure;
  return within(strength, { ...MIX_RANGE, argument: 'used', why: 'what any bag needs; weigh and measure again' });
}

export type Correction = {
  readonly volumeL: VolumeL;
  readonly salinityPpt: SalinityPpt;
  readonly targetPpt: SalinityPpt;
  readonly temperatureC: TemperatureC;
};

function checkCorrection({ volumeL, salinityPpt, targetPpt }: Correction): void {
  within(volumeL, BATCH);
  within(salinityPpt, SALINITY);
  within(targetPpt, TARGET);
}

/** Grams of dry salt to raise a batch that is too weak; the water in it stays. Source: mass balance on TEOS-10. */
export function pureSaltToRaiseG(correction: Correction): MassG {
  checkCorrection(correction);
  const { volumeL, salinityPpt, targetPpt, temperatureC } = correction;
  if (targetPpt < salinityPpt)
    throw impossible(
      'target',
      `${targetPpt} ppt below ${salinityPpt} ppt`,
      'salt cannot lower salinity',
      'Work out the fresh water instead: the batch is too strong.',
    );
  const totalG = volumeL * densityKgM3({ salinityPpt, temperatureC });
  const nowG = (totalG * absoluteSalinity(salinityPpt)) / 1000;
  const wanted = absoluteSalinity(targetPpt) / 1000;
  return (wanted / (1 - wanted)) * (totalG - nowG) - nowG;
}

export function mixToRaiseG(correction: Correction, mixGPerLAt35?: number): Bounded {
  return eachMix(pureSaltToRaiseG(correction), mixGPerLAt35);
}

/** Litres of fresh water to add to a batch that is too strong, with room for it. Equal volumes: within 0.1 %. */
export function freshToAddL({ volumeL, salinityPpt, targetPpt, temperatureC }: Correction): VolumeL {
  checkCorrection({ volumeL, salinityPpt, targetPpt, temperatureC });
  if (targetPpt > salinityPpt)
    throw impossible(
      'target',
      `${targetPpt} ppt above ${salinityPpt} ppt`,
      'fresh water cannot raise salinity',
      'Work out the salt instead: the batch is too weak.',
    );
  return volumeL * (salinityPpt / targetPpt - 1);
}

/** Litres to take out and replace by water of another salinity. Volumes are taken as equal, salinity as mass by volume. */
export function swapL(volumeL: VolumeL, nowPpt: SalinityPpt, newPpt: SalinityPpt, targetPpt: SalinityPpt): VolumeL {
  within(volumeL, BATCH);
  const replacement: Range = { ...SALINITY, argument: 'new', high: 120, why: 'a brine that can be mixed' };
  within(nowPpt, SALINITY);
  within(newPpt, replacement);
  within(targetPpt, { ...SALINITY, argument: 'target' });
  if (nowPpt === targetPpt) return 0;
  const litres = (volumeL * (targetPpt - nowPpt)) / (newPpt - nowPpt);
  if (litres < 0 || litres > volumeL || newPpt === nowPpt)
    throw impossible(
      'target',
      `${targetPpt} ppt`,
      `it does not lie between ${nowPpt} ppt in the tank and ${newPpt} ppt in the new water`,
      'Choose new water on the far side of the target.',
    );
  return litres;
}

/** Litres of brine to add without taking out. */
export function brineToAddL(
  volumeL: VolumeL,
  nowPpt: SalinityPpt,
  brinePpt: SalinityPpt,
  targetPpt: SalinityPpt,
): VolumeL {
  within(volumeL, BATCH);
  within(nowPpt, SALINITY);
  within(targetPpt, { ...SALINITY, argument: 'target' });
  within(brinePpt, { ...SALINITY, argument: 'new', high: 120, why: 'a brine that can be mixed' });
  if (targetPpt < nowPpt || brinePpt <= targetPpt)
    throw impossible(
      'new',
      `${brinePpt} ppt`,
      `it cannot bring ${nowPpt} ppt to ${targetPpt} ppt`,
      'The brine must be saltier than the target, and the target than the tank.',
    );
  return (volumeL * (targetPpt - nowPpt)) / (brinePpt - targetPpt);
}

export const DRIFT_SOURCE = 'mass balance on TEOS-10 densities';

export type Drift = {
  readonly volumeL: VolumeL;
  readonly salinityPpt: SalinityPpt;
  readonly temperatureC: TemperatureC;
};

/** Salinity after `evaporatedL` of pure water is gone and nothing was topped off. */
export function salinityAfterEvaporation(tank: Drift, evaporatedL: VolumeL): SalinityPpt {
  within(evaporatedL, { ...zeroOrMore('evaporated', 'L', '6 L'), high: tank.volumeL * 0.5, why: 'half of the tank' });
  return afterFresh(tank, -evaporatedL);
}

/** Salinity after `freshL` of pure water too much came in, as when a top-off store empties itself. */
export function salinityAfterFresh(tank: Drift, freshL: VolumeL): SalinityPpt {
  within(freshL, { ...zeroOrMore('fresh', 'L', '40 L'), high: tank.volumeL * 100, why: 'fresh water into the tank' });
  return afterFresh(tank, freshL);
}

function afterFresh({ volumeL, salinityPpt, temperatureC }: Drift, freshL: VolumeL): SalinityPpt {
  within(volumeL, VOLUME);
  const totalG = volumeL * densityKgM3({ salinityPpt, temperatureC });
  const saltG = (totalG * absoluteSalinity(salinityPpt)) / 1000;
  const after = practicalOfAbsolute((saltG / (totalG + freshL * pureDensityKgM3(temperatureC))) * 1000);
  return within(after, { ...SALINITY, why: 'what would come out of it' });
}

/** Salinity after `lostL` of salt water (skimmer cup, vacuumed sump) was made up by fresh. Volumes taken as equal. */
export function salinityAfterSaltLoss(volumeL: VolumeL, salinityPpt: SalinityPpt, lostL: VolumeL): SalinityPpt {
  within(volumeL, VOLUME);
  within(salinityPpt, SALINITY);
  within(lostL, { ...zeroOrMore('lost', 'L', '2 L'), high: volumeL, why: BATCH_OF_TANK });
  return salinityPpt * (1 - lostL / volumeL);
}
const BATCH_OF_TANK = 'no more than the tank holds';

/** Salinity after evaporation was made up by salt water instead of fresh. Volumes taken as equal. */
export function salinityAfterSaltTopOff(
  volumeL: VolumeL,
  salinityPpt: SalinityPpt,
  topOffL: VolumeL,
  topOffPpt: SalinityPpt,
): SalinityPpt {
  within(volumeL, VOLUME);
  within(topOffL, zeroOrMore('top-off', 'L', '14 L'));
  within(topOffPpt, { ...SALINITY, argument: 'top-off-salinity' });
  const after = within(salinityPpt, SALINITY) + (topOffL * topOffPpt) / volumeL;
  return within(after, { ...SALINITY, why: 'what would come out of it' });
}
