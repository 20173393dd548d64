// What the tank's sensors read: noise, bubbles and resolution over the truth, and what can be wrong with them.
import type { EntityId, Sensor } from '../../model/index.ts';
import { type DurationMs, type InstantMs, MINUTE_MS, SECOND_MS } from '../../units/index.ts';
import { type Prng, prng, seedFor } from '../random.ts';
import type { Water } from './water.ts';

export type Probe = {
  readonly sensor: Sensor;
  readonly everyMs: DurationMs;
  readonly offset: number;
  nextAt: InstantMs;
  isSilent: boolean;
  /** Reads on and on what it read last. */
  frozen: number | null;
  /** Added to every reading: a probe that drifts. */
  drift: number;
  /** Says so whatever is true: a float in somebody's hand, a wet leak sensor. */
  forced: number | null;
};

export type Sensing = { readonly probes: ReadonlyMap<EntityId, Probe>; readonly random: Prng };

const everyMs = (kind: Sensor['kind']): DurationMs => {
  if (kind === 'sump-level' || kind === 'lux' || kind.endsWith('litres')) return 5 * SECOND_MS;
  if (kind.endsWith('temperature')) return MINUTE_MS;
  return kind.endsWith('tds') || kind === 'salinity' || kind === 'ph' ? 30 * SECOND_MS : 20 * SECOND_MS;
};

export function createSensing(sensors: readonly Sensor[], seed: number, at: InstantMs): Sensing {
  const random = prng(seedFor(seed, 'sensors'));
  const probes = sensors.map((sensor): [EntityId, Probe] => [
    sensor.entity,
    {
      sensor,
      everyMs: everyMs(sensor.kind),
      offset: random.between(-0.15, 0.15),
      nextAt: at,
      isSilent: false,
      frozen: null,
      drift: 0,
      forced: null,
    },
  ]);
  return { probes: new Map(probes), random };
}

const BUBBLE_SHARE = 0.01;
const BUBBLE_CM = 2;
const LEVEL_SD_CM = 0.12;
const HIGH_FLOAT_OVER_CM = 11;

const toTenth = (value: number): number => Math.round(value * 10) / 10;

/** What this probe says now; null = nothing to say. */
export function readProbe(probe: Probe, water: Water, lampW: () => number, random: Prng): number | null {
  if (probe.forced !== null) return probe.forced;
  if (probe.frozen !== null) return probe.frozen;
  const { kind } = probe.sensor;
  switch (kind) {
    case 'display-temperature':
      return toTenth(water.displayC + probe.offset + probe.drift + 0.04 * random.gaussian());
    case 'sump-temperature':
      return toTenth(water.sumpC + probe.offset + probe.drift + 0.04 * random.gaussian());
    case 'room-temperature':
      return 20;
    case 'barrel-temperature':
      return toTenth(25.3 + probe.offset);
    case 'sump-level': {
      const bubble = random.next() < BUBBLE_SHARE ? BUBBLE_CM : 0;
      return toTenth(water.levelCm + LEVEL_SD_CM * random.gaussian() + bubble + probe.drift);
    }
    case 'low-float':
      return water.wantsTopOff ? 1 : 0;
    case 'high-float':
      return water.levelCm > water.normalCm + HIGH_FLOAT_OVER_CM ? 1 : 0;
    case 'salinity':
      return toTenth(water.salinityPpt + 0.1 * random.gaussian());
    case 'ph':
      return 8.2;
    case 'feed-tds':
      return 320;
    case 'ro-tds':
      return 10;
    case 'product-tds':
      return 0;
    case 'lux':
      return Math.round(40 + lampW() * 55);
    case 'feed-litres':
    case 'product-litres':
      return 1_000;
    default:
      return 0;
  }
}
