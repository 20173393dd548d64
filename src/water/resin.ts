import type { DissolvedMgL, MassG, VolumeL } from '../units/index.ts';
import type { Bounded } from './instruments.ts';
import { positive, type Range, VOLUME, within, zeroOrMore } from './range.ts';

/** Grams of calcium carbonate to the equivalent: half of 100.0869 g/mol. */
const G_PER_EQ = 50.04345;
/** Carbon dioxide takes one place of the anion side each: grams to the equivalent. */
const CO2_G_PER_EQ = 44.0095;
const GRAIN_G = 0.06479891;

/**
 * Grams of dissolved solids that a litre of mixed-bed resin takes up: 12 by default, 8 to 23 across tanks, so 8 and 23 are
 * the bounds where the keeper has not learned it. Common practice, no source.
 */
export const RESIN_G_PER_L: Bounded = { value: 12, low: 8, high: 23 };
export const RESIN_SOURCE = 'grams taken up; 12 g for each litre of resin (8 to 23): common practice, no source';

const RESIN: Range = positive('resin', 'L', '1.2 L', 'the resin in the cartridge');
const CAPACITY: Range = { ...positive('capacity', 'g/L', '12 g/L', 'what resin can hold'), high: 110 };
const TDS: Range = { ...positive('tds', 'mg/L', '9.6 mg/L', 'water before the resin'), high: 10_000 };

export type Resin = {
  readonly resinL: VolumeL;
  /** As calcium carbonate where it comes from a data sheet. */
  readonly capacityGPerL: number;
  readonly tdsMgL: DissolvedMgL;
  /** A TDS meter does not see it; the resin does. */
  readonly co2MgL?: DissolvedMgL;
};

export function resinCapacityG({ resinL, capacityGPerL }: Pick<Resin, 'resinL' | 'capacityGPerL'>): MassG {
  return within(resinL, RESIN) * within(capacityGPerL, CAPACITY);
}

/** Grams that each litre of water uses up, carbon dioxide counted by its equivalents. */
export function resinLoadGPerL(tdsMgL: DissolvedMgL, co2MgL: DissolvedMgL = 0): number {
  within(tdsMgL, TDS);
  within(co2MgL, { ...zeroOrMore('co2', 'mg/L', '6 mg/L'), high: 500 });
  return (tdsMgL + (co2MgL * G_PER_EQ) / CO2_G_PER_EQ) / 1000;
}

/** Litres of water until the resin is used up. */
export function resinLitres(resin: Resin): VolumeL {
  return resinCapacityG(resin) / resinLoadGPerL(resin.tdsMgL, resin.co2MgL);
}

/** Litres by equivalents, as data sheets count: eq of a litre of resin, milliequivalents in a litre of water. */
export function resinLitresByEquivalents(resinL: VolumeL, eqPerL: number, loadMeqPerL: number): VolumeL {
  within(resinL, RESIN);
  within(eqPerL, { ...positive('capacity', 'eq/L', '0.55 eq/L', 'what resin can hold'), high: 3 });
  within(loadMeqPerL, positive('load', 'meq/L', '0.12 meq/L', 'water before the resin'));
  return (resinL * eqPerL * 1000) / loadMeqPerL;
}

export type Passed = { readonly litres: VolumeL; readonly tdsMgL: DissolvedMgL; readonly co2MgL?: DissolvedMgL };

/** Grams taken up by water of changing quality. */
export function takenUpG(passed: readonly Passed[]): MassG {
  return passed.reduce(
    (sum, { litres, tdsMgL, co2MgL }) =>
      sum + within(litres, zeroOrMore('litres', 'L', '400 L')) * resinLoadGPerL(tdsMgL, co2MgL),
    0,
  );
}

export type ResinLeft = {
  readonly grams: MassG;
  readonly grains: number;
  readonly equivalents: number;
  /** At the load given; below zero when the resin is past its capacity. */
  readonly litres: VolumeL;
  readonly share: number;
};

/** What is left after `usedG`. */
export function resinLeft(resin: Resin, usedG: MassG): ResinLeft {
  within(usedG, zeroOrMore('used', 'g', '3.4 g'));
  const whole = resinCapacityG(resin);
  const grams = whole - usedG;
  return {
    grams,
    grains: grams / GRAIN_G,
    equivalents: grams / G_PER_EQ,
    litres: grams / resinLoadGPerL(resin.tdsMgL, resin.co2MgL),
    share: grams / whole,
  };
}

/** g/L as calcium carbonate of a capacity in thousands of grains for each cubic foot. */
export function gPerLOfKgrPerFt3(kgrPerFt3: number): number {
  return (within(kgrPerFt3, positive('capacity', 'kgr/ft³', '10 kgr/ft³')) * GRAIN_G * 1000) / 28.316846592;
}

export const CARTRIDGE_SOURCE =
  'chlorine a carbon block takes up is constant: household water-treatment manual with NSF/ANSI 42 rating table';

/** Litres of a carbon block at the chlorine of this tap: what it takes up stays the same. */
export function carbonLitres(ratedL: VolumeL, ratedMgL: DissolvedMgL, chlorineMgL: DissolvedMgL): VolumeL {
  const chlorine = (argument: string): Range => ({
    ...positive(argument, 'mg/L', '1 mg/L', 'chlorine in tap water'),
    high: 10,
  });
  within(ratedL, VOLUME);
  return (ratedL * within(ratedMgL, chlorine('rated-chlorine'))) / within(chlorineMgL, chlorine('chlorine'));
}

export type Cartridge = {
  /** Feed litres, product and waste together: all of it passes. */
  readonly limitL: VolumeL;
  readonly usedL: VolumeL;
  readonly limitDays: number;
  readonly ageDays: number;
  readonly feedLPerDay: number;
};
export type CartridgeLeft = { readonly litres: VolumeL; readonly days: number; readonly first: 'litres' | 'age' };

/** Litres and days left of a sediment cartridge or carbon block; the first limit wins. */
export function cartridgeLeft({ limitL, usedL, limitDays, ageDays, feedLPerDay }: Cartridge): CartridgeLeft {
  const litres = within(limitL, VOLUME) - within(usedL, zeroOrMore('used', 'L', '8035 L'));
  within(feedLPerDay, positive('feed', 'L/d', '49.6 L/d'));
  const byLitres = litres / feedLPerDay;
  const byAge = within(limitDays, positive('months', 'd', '183 d')) - within(ageDays, zeroOrMore('age', 'd', '162 d'));
  return { litres, days: Math.min(byLitres, byAge), first: byLitres < byAge ? 'litres' : 'age' };
}
