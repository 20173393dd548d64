// What a person reads off and types.
import type { Step } from '../../procedure/index.ts';
import type { Prng } from '../random.ts';
import type { World } from './world.ts';

/** A value as it would be read at this tank, within the step's limits where the tank is in order. */
export function typedValue(world: World, step: Step, typed: Map<string, number>, random: Prng): number {
  const reading = step.reading;
  if (reading === undefined) return 0;
  const like = reading.sameAs === undefined ? undefined : typed.get(reading.sameAs);
  const value =
    like === undefined ? truthOf(world, step, random) : like + random.between(-0.4, 0.4) * (reading.tolerance ?? 0);
  const { low = Number.NEGATIVE_INFINITY, high = Number.POSITIVE_INFINITY } = reading;
  const kept = Math.round(Math.min(high, Math.max(low, value)) * 100) / 100;
  typed.set(step.id, kept);
  return kept;
}

function truthOf(world: World, step: Step, random: Prng): number {
  const { reading } = step;
  const { water } = world;
  switch (reading?.quantity) {
    case 'salinity-ppt':
      return water.salinityPpt + random.between(-0.1, 0.1);
    case 'temperature-c':
      return water.displayC + random.between(-0.2, 0.2);
    case 'level-cm':
      return water.levelCm;
    case 'volume-l':
      return (reading.high ?? 100) <= 20 ? 3 : 45 + random.between(-1, 1);
    case 'tds-mg-per-l':
      return 0;
    case 'alkalinity-dkh':
      return 8 + random.between(-0.3, 0.3);
    case 'mass-g':
      return Math.round(random.between(60, 300));
    case 'age-h':
      return 24;
    default:
      return reading?.high ?? reading?.low ?? 1;
  }
}

/** A value within the limits of the step, without a tank to read it at. */
export function typedFor(step: Step): number {
  const { quantity, low = 0, high = 100, sameAs } = step.reading ?? { quantity: 'count' as const };
  const usual = USUAL[quantity];
  if (sameAs !== undefined || usual === undefined) return usual ?? (low + high) / 2;
  return Math.min(high, Math.max(low, usual));
}

const USUAL: Readonly<Partial<Record<string, number>>> = {
  'salinity-ppt': 35,
  'temperature-c': 25.4,
  'level-cm': 18,
  'volume-l': 10,
  'tds-mg-per-l': 0,
  'alkalinity-dkh': 8,
  'mass-g': 150,
  'age-h': 24,
};
