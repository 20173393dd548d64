import type { Equipment, Tank } from '../model/index.ts';
import {
  type DurationMs,
  HOUR_MS,
  type InstantMs,
  type PowerW,
  type TemperatureC,
  type VolumeL,
} from '../units/index.ts';
import {
  type Bounded,
  hoursOfOxygen,
  NIGHT_USE_MG_L_H,
  OXYGEN_LIMITS,
  oxygenSaturationMgL,
  storeWhPerC,
  temperatureAfterC,
} from '../water/index.ts';

/** What is known of the tank beside its configuration; each has a stated assumption in its place. */
export type TankFacts = {
  readonly at?: InstantMs;
  readonly tankC?: TemperatureC;
  readonly roomC?: TemperatureC;
  /** Learned from nights with the lamps off. */
  readonly lossWPerC?: number;
  readonly evaporationLPerDay?: VolumeL;
  readonly changeL?: VolumeL;
  readonly batchC?: TemperatureC;
};

export type Facts = {
  readonly heated: boolean;
  readonly volumeL: VolumeL;
  readonly tankC: TemperatureC;
  readonly roomC: TemperatureC;
  readonly lossWPerC: number;
  readonly evaporationLPerDay: VolumeL;
  readonly changeShare: number;
  readonly batchC: TemperatureC;
};

/** A reef is kept near this. Common practice, no source. */
const USUAL_TANK_C = 25.5;
/** A cool room, on the careful side. */
const USUAL_ROOM_C = 19.5;
/** Hours in which an unheated tank loses most of its gap to the room; common practice, no source. */
const USUAL_TIME_CONSTANT_H = 15;
/** Evaporation of an open tank in a day, as a share of its water: 6 L of 458 L. Common practice, no source. */
const USUAL_EVAPORATION_SHARE = 0.013;
const USUAL_CHANGE_SHARE = 0.1;

/** What the rehearsal reckons with, and in words what of it was assumed. */
export function startFacts(
  tank: Tank,
  told: TankFacts,
): { readonly facts: Facts; readonly assumptions: readonly string[] } {
  const assumptions: string[] = [];
  const or = <T>(value: T | undefined, assumed: T, words: string): T => {
    if (value !== undefined) return value;
    assumptions.push(words);
    return assumed;
  };
  const heated = tank.equipment.some((each) => each.role === 'heater');
  const tankC = or(told.tankC, USUAL_TANK_C, `the tank stands at ${USUAL_TANK_C} °C`);
  const roomC = or(told.roomC, USUAL_ROOM_C, `the room has ${USUAL_ROOM_C} °C`);
  const lossWPerC = or(
    told.lossWPerC,
    storeWhPerC(tank.volumeL) / USUAL_TIME_CONSTANT_H,
    `unheated, the tank loses most of its warmth over the room in ${USUAL_TIME_CONSTANT_H} h`,
  );
  const evaporationLPerDay = or(
    told.evaporationLPerDay,
    tank.volumeL * USUAL_EVAPORATION_SHARE,
    `${(tank.volumeL * USUAL_EVAPORATION_SHARE).toFixed(1)} L a day evaporate`,
  );
  const changeL = or(
    told.changeL,
    tank.volumeL * USUAL_CHANGE_SHARE,
    `a water change takes ${Math.round(tank.volumeL * USUAL_CHANGE_SHARE)} L`,
  );
  return {
    facts: {
      heated,
      volumeL: tank.volumeL,
      tankC,
      roomC,
      lossWPerC,
      evaporationLPerDay,
      changeShare: Math.min(1, changeL / tank.volumeL),
      batchC: told.batchC ?? tankC,
    },
    assumptions,
  };
}

const hours = (ms: DurationMs): number => ms / HOUR_MS;

/** With every heater off; what pumps and lamps give is left out, so that the fall is the most to expect. */
export const coolDown = (fromC: TemperatureC, ms: DurationMs, facts: Facts): TemperatureC =>
  temperatureAfterC(
    { volumeL: facts.volumeL, lossWPerC: facts.lossWPerC, roomC: facts.roomC, heatW: 0 },
    fromC,
    hours(ms),
  );

/** Heaters bring it back as fast as their watts allow; those whose watts nobody told hold what there is. */
export function warmTo(fromC: TemperatureC, ms: DurationMs, facts: Facts, heaters: readonly Equipment[]): TemperatureC {
  const heatW: PowerW = heaters.reduce((sum, each) => sum + (each.normalPowerW ?? 0), 0);
  if (heatW === 0) return fromC;
  const body = { volumeL: facts.volumeL, lossWPerC: facts.lossWPerC, roomC: facts.roomC, heatW };
  return Math.min(facts.tankC, temperatureAfterC(body, fromC, hours(ms)));
}

/** Hours until too little oxygen is left, after standing still for so long; from saturated water. */
export function oxygenLeft(tankC: TemperatureC, stillMs: DurationMs): Bounded {
  const full = oxygenSaturationMgL({ salinityPpt: 35, temperatureC: tankC });
  const left = hoursOfOxygen(full, OXYGEN_LIMITS.lowMgL, NIGHT_USE_MG_L_H);
  const gone = hours(stillMs);
  return {
    value: Math.max(0, left.value - gone),
    low: Math.max(0, left.low - gone),
    high: Math.max(0, left.high - gone),
  };
}
