import type { SalinityPpt, TemperatureC } from '../units/index.ts';
import { type Range, within } from './range.ts';
import { solveRising } from './root.ts';
import { densityKgM3, pureDensityKgM3, SALINITY } from './seawater.ts';

const SIXTY_F_C = 140 / 9;

/**
 * What a specific gravity means: density of the sample at its first temperature over that of pure water at the second.
 * Keyed by the name as people write it. A bare "1.0264" says nothing without one: the same water differs by 0.0005.
 */
export const CONVENTIONS = {
  '60F/60F': { name: '60 °F / 60 °F', sampleC: SIXTY_F_C, waterC: SIXTY_F_C },
  '20/20': { name: '20 °C / 20 °C', sampleC: 20, waterC: 20 },
  '25/25': { name: '25 °C / 25 °C', sampleC: 25, waterC: 25 },
  '20/4': { name: '20 °C / 4 °C', sampleC: 20, waterC: 4 },
  '25/4': { name: '25 °C / 4 °C', sampleC: 25, waterC: 4 },
} as const satisfies Readonly<
  Record<string, { readonly name: string; readonly sampleC: TemperatureC; readonly waterC: TemperatureC }>
>;

export type Convention = keyof typeof CONVENTIONS;
/** One that has no name here: an instrument read as it is at one temperature with a scale for another. */
export type Pair = { readonly sampleC: TemperatureC; readonly waterC: TemperatureC };
/** Those that instruments are marked with. */
export const MARKED_CONVENTIONS: readonly Convention[] = ['60F/60F', '20/20', '25/25'];

export const GRAVITY: Range = {
  argument: 'gravity',
  low: 0.99,
  high: 1.04,
  unit: '',
  why: 'fresh water to the saltest tank water',
  example: '1.0255',
};

export const GRAVITY_SOURCE = 'ratio of TEOS-10 densities at one atmosphere';
/** What keepers say without naming a convention; right at 25 °C / 25 °C. */
export const RULE_OF_THUMB = { gravity: 1.0264, salinityPpt: 35, source: 'common practice, no source' } as const;

/** Specific gravity of water of this salinity under a named convention. 0-42 ppt. */
export function gravityOf(salinityPpt: SalinityPpt, convention: Convention): number {
  const { sampleC, waterC } = CONVENTIONS[convention];
  return gravityBetween(salinityPpt, sampleC, waterC);
}

/** Practical salinity of a specific gravity under a named convention; the inverse of `gravityOf`. */
export function salinityOfGravity(gravity: number, convention: Convention): SalinityPpt {
  const { sampleC, waterC } = CONVENTIONS[convention];
  return salinityBetween(gravity, sampleC, waterC);
}

/** Density of the sample at `sampleC` over pure water at `waterC`. */
export function gravityBetween(salinityPpt: SalinityPpt, sampleC: TemperatureC, waterC: TemperatureC): number {
  return densityKgM3({ salinityPpt, temperatureC: sampleC }) / pureDensityKgM3(waterC);
}

export function salinityBetween(gravity: number, sampleC: TemperatureC, waterC: TemperatureC): SalinityPpt {
  within(gravity, GRAVITY);
  const water = pureDensityKgM3(waterC);
  const of = (salinityPpt: number): number => densityKgM3({ salinityPpt, temperatureC: sampleC }) / water;
  within(gravity, {
    ...GRAVITY,
    low: of(SALINITY.low),
    high: of(SALINITY.high),
    why: `0 to 42 ppt with the sample at ${shown(sampleC)} and water at ${shown(waterC)}`,
  });
  return solveRising(of, gravity, SALINITY.low, SALINITY.high);
}

function shown(temperatureC: TemperatureC): string {
  return `${Math.round(temperatureC * 10) / 10} °C`;
}
