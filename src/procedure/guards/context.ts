import type { EquipmentId, GuardDef, Tank } from '../../model/index.ts';
import { ROLES, type RuleOverrides, ruleSetting } from '../../rules/index.ts';
import { type DurationMs, MINUTE_MS, SECOND_MS } from '../../units/index.ts';
import type { GuardContext, GuardedEquipment, GuardSettings } from './types.ts';

export function guardSettings(overrides: RuleOverrides, timeFactor = 1): GuardSettings {
  const scaled = (ms: DurationMs): DurationMs => ms / timeFactor;
  return {
    freshMs: scaled(ruleSetting(overrides, 'K20', 'maxAgeMs')),
    offMaxW: ruleSetting(overrides, 'K18', 'wattsMax'),
    runFactor: ruleSetting(overrides, 'K3', 'runFactor'),
    runMaxMs: scaled(ruleSetting(overrides, 'K3', 'runMaxMs')),
    dayFactor: ruleSetting(overrides, 'K3', 'dayFactor'),
    resendMs: scaled(10 * SECOND_MS),
    resendWindowMs: scaled(60 * MINUTE_MS),
    resendMost: 6,
    unprovedMs: scaled(30 * SECOND_MS),
    askMs: scaled(5 * SECOND_MS),
    answerMs: scaled(15 * SECOND_MS),
    blindMs: scaled(30 * MINUTE_MS),
    timeFactor,
  };
}

/** Facts of the tank for its guards. */
export function guardContext(
  tank: Tank,
  guards: readonly GuardDef[],
  overrides: RuleOverrides = {},
  timeFactor = 1,
): GuardContext {
  const equipment = Object.fromEntries(
    tank.equipment.map((each): [EquipmentId, GuardedEquipment] => [
      each.id,
      {
        id: each.id,
        name: each.name,
        role: each.role,
        cycling: each.cycling,
        switchDelayMs: each.switchDelayMs / timeFactor,
        waterMover: ROLES[each.role].waterMover,
        ...(each.switchEntity === undefined ? {} : { switchEntity: each.switchEntity }),
        ...(each.powerEntity === undefined ? {} : { powerEntity: each.powerEntity }),
        ...(each.normalPowerW === undefined ? {} : { normalPowerW: each.normalPowerW }),
      },
    ]),
  );
  const sensors = Object.fromEntries(
    tank.sensors.map(({ id, name, kind, entity, maxAgeMs }) => [
      id,
      { id, name, kind, entity, maxAgeMs: maxAgeMs / timeFactor },
    ]),
  );
  const scaledGuards = guards.map((guard) => ({
    ...guard,
    ...(guard.runMs === undefined ? {} : { runMs: guard.runMs / timeFactor }),
    ...(guard.perDayMs === undefined ? {} : { perDayMs: guard.perDayMs / timeFactor }),
    ...(guard.afterMs === undefined ? {} : { afterMs: guard.afterMs / timeFactor }),
  }));
  return {
    guards: scaledGuards,
    equipment,
    sensors,
    volumeL: tank.volumeL,
    settings: guardSettings(overrides, timeFactor),
  };
}
