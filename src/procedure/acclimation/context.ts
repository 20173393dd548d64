import { DISPLAY_LAMPS, type Equipment, type Tank } from '../../model/index.ts';
import { type RuleOverrides, ruleSetting } from '../../rules/index.ts';
import { MINUTE_MS, SECOND_MS } from '../../units/index.ts';
import { driverEntityOf } from '../context.ts';
import type { AcclimationContext, Lamp } from './types.ts';

export const isDisplayLamp = ({ role }: Pick<Equipment, 'role'>): boolean => DISPLAY_LAMPS.includes(role);

/** Why no programme can be run on it; null = it can. */
export function whyNotRun(one: Equipment): string | null {
  if (!isDisplayLamp(one)) return 'it is no lamp over the display';
  if (one.switchEntity === undefined) return 'it has no switch in the hub';
  if (driverEntityOf(one) === undefined)
    return 'its driver names no entity of the hub that can be suspended, so two hands would switch it';
  return null;
}

export function acclimationContext(tank: Tank, overrides: RuleOverrides = {}, timeFactor = 1): AcclimationContext {
  const lamps = tank.equipment.flatMap((one): Lamp[] => {
    const { id, name, switchEntity, switchDelayMs } = one;
    const driverEntity = driverEntityOf(one);
    if (whyNotRun(one) !== null || switchEntity === undefined || driverEntity === undefined) return [];
    return [{ id, name, switchEntity, driverEntity, switchDelayMs: switchDelayMs / timeFactor }];
  });
  return {
    zone: tank.timeZone,
    ...(tank.lights === undefined ? {} : { lights: tank.lights }),
    lamps: Object.fromEntries(lamps.map((lamp) => [lamp.id, lamp])),
    startShare: ruleSetting(overrides, 'K24', 'startShare'),
    rampMs: ruleSetting(overrides, 'K24', 'rampMs'),
    freshMs: ruleSetting(overrides, 'K20', 'maxAgeMs') / timeFactor,
    verifyMs: (30 * SECOND_MS) / timeFactor,
    askMs: (20 * SECOND_MS) / timeFactor,
    askSlowMs: (10 * MINUTE_MS) / timeFactor,
    unknownMs: (10 * MINUTE_MS) / timeFactor,
    leastMs: (10 * MINUTE_MS) / timeFactor,
  };
}
