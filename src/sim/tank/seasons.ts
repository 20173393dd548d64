// What the year does to the tank: room, tap, evaporation. One place, so that the recorded past and the live tank agree.
import type { InstantMs, TemperatureC } from '../../units/index.ts';
import { localTime } from '../calendar.ts';

/** Heat spell of the first summer, inclusive days. */
export const HEAT_SPELL = { from: 315, to: 325 } as const;
/** D136 is mid-January, the depth of winter; D0 is the first of September. */
const DEEP_WINTER_DAY = 136;

/** 1 in mid-January, -1 in mid-July. */
export function winterness(day: number): number {
  return Math.cos((2 * Math.PI * (day - DEEP_WINTER_DAY)) / 365);
}

export const isHeatSpell = (day: number): boolean => day >= HEAT_SPELL.from && day <= HEAT_SPELL.to;

/** Library heating: 19.5 °C by day and 17 °C by night in winter, 25 °C in summer, 29 °C in the heat spell. */
export function roomC(at: InstantMs): TemperatureC {
  const { day, ofDayMs } = localTime(at);
  if (isHeatSpell(day)) return 29;
  const winter = (winterness(day) + 1) / 2;
  const hour = ofDayMs / 3_600_000;
  const open = smoothStep(hour, 6, 9) * (1 - smoothStep(hour, 19, 24));
  return winter * (17 + 2.5 * open) + (1 - winter) * (24 + open);
}

/** Feed water: 10 °C in winter, 20 °C in summer. */
export function tapC(day: number): TemperatureC {
  return 15 - 5 * winterness(day);
}

/** Fresh litres lost a day: more into dry winter air, half as much again in the heat spell with its fans. */
export function evaporationLPerDay(day: number): number {
  return (5.85 + 0.6 * winterness(day)) * (isHeatSpell(day) ? 1.5 : 1);
}

/** Product litres an hour: cold water passes the membrane slower. */
export function productLPerHour(day: number): number {
  return 14.5 - 2.5 * winterness(day);
}

function smoothStep(x: number, from: number, to: number): number {
  const t = Math.min(1, Math.max(0, (x - from) / (to - from)));
  return t * t * (3 - 2 * t);
}
