import type { Equipment, RoleId, Sensor, Tank } from '../../../src/model/index.ts';
import type { SessionPlan } from '../../../src/procedure/index.ts';
import type { RuleOverrides } from '../../../src/rules/index.ts';
import { DEFAULT_LIMITS, type EquipmentFacts, type TraceHeader } from '../trace.ts';
import type { Product } from './product.ts';

// The smallest tank on which a pump pause has everything to get wrong: two movers, a heater under a thermostat, a
// skimmer that floods, a top-off that dilutes.

const plug = (
  id: string,
  name: string,
  role: RoleId,
  normalPowerW: number,
  more: Partial<Equipment> = {},
): Equipment => ({
  id,
  name,
  role,
  driver: { kind: 'always-on' },
  switchEntity: `switch.${id}`,
  powerEntity: `sensor.${id}_power`,
  normalPowerW,
  cycling: role === 'heater' || role === 'top-off',
  inSump: true,
  switchDelayMs: 5_000,
  ...more,
});

const sensor = (id: string, kind: Sensor['kind']): Sensor => ({
  id,
  name: id,
  kind,
  entity: `sensor.${id}`,
  maxAgeMs: 120_000,
});

export const LEVEL = 'sensor.level';
export const NORMAL_CM = 20;
export const RISE_CM = 4.8;

export const TANK: Tank = {
  name: 'small model',
  timeZone: 'UTC',
  volumeL: 450,
  // Invented: 19.4 L of drain-down over 4.05 L/cm lift the sump by 4.8 cm.
  sump: { litresPerCm: 4.05, normalLevelCm: NORMAL_CM, rimLevelCm: 42, drainDownL: 19.4 },
  equipment: [
    plug('return', 'Return pump', 'return-pump', 48),
    plug('flow', 'Flow pump', 'circulation-pump', 22),
    plug('skimmer', 'Skimmer', 'skimmer', 26),
    plug('heater', 'Heater', 'heater', 198, { driver: { kind: 'thermostat', entity: 'automation.heater' } }),
    plug('topoff', 'Top-off', 'top-off', 9, { driver: { kind: 'schedule', entity: 'automation.topoff' } }),
  ],
  sensors: [
    sensor('level', 'sump-level'),
    sensor('display', 'display-temperature'),
    sensor('sump', 'sump-temperature'),
    sensor('leak', 'leak'),
  ],
  parts: [],
  counters: [],
  people: [{ name: 'Ada' }, { name: 'Bo' }],
  notifyServices: [],
};

export const PROBES = ['sensor.display', 'sensor.sump'] as const;
export const LEAK = 'sensor.leak';
export const IDS = TANK.equipment.map((each) => each.id);

const KINDS: Readonly<Record<string, EquipmentFacts['kind']>> = {
  return: 'mover',
  flow: 'mover',
  heater: 'heater',
  topoff: 'adder',
};

const factsOf = (each: Equipment): EquipmentFacts => ({
  name: each.name,
  kind: KINDS[each.id] ?? 'other',
  movesLevel: each.id === 'return',
  cycling: each.cycling,
  driven: driverOf(each) !== undefined,
  ...(each.id === 'topoff' ? { toppingOff: true } : {}),
  ...(each.switchEntity === undefined ? {} : { switchEntity: each.switchEntity }),
  ...(each.powerEntity === undefined ? {} : { powerEntity: each.powerEntity }),
  ...(each.normalPowerW === undefined ? {} : { normalPowerW: each.normalPowerW }),
  ...(each.id === 'return' ? { effect: { entity: LEVEL, onStop: 'rises', atLeast: 1.4 } as const } : {}),
});

export const driverOf = (each: Equipment): string | undefined =>
  each.driver.kind === 'schedule' || each.driver.kind === 'thermostat' ? each.driver.entity : undefined;

export function headerFor(plan: SessionPlan): TraceHeader {
  return {
    seed: 'small model',
    procedure: plan.procedure,
    equipment: Object.fromEntries(TANK.equipment.map((each) => [each.id, factsOf(each)])),
    outOfService: plan.outOfService,
    sumpLevelEntity: LEVEL,
    sumpLitresPerCm: 4.05,
    sumpRimCm: 42,
    drainDownL: 19.4,
    temperatureEntities: PROBES,
    ...(plan.allStop === undefined ? {} : { allStop: plan.allStop }),
    deputies: {},
    limits: { ...DEFAULT_LIMITS, flowForMs: 60_000 },
  };
}

/** Every wait at the short end of its safe range: the order of things is the same, and there are fewer moments to try. */
export const SHORT_WAITS: RuleOverrides = {
  K4: { waitMs: 600_000 },
  K5: { flowMs: 60_000 },
  K7: { waitMs: 30_000, foamMs: 60_000 },
  K8: { waitMs: 300_000, serviceSteadyMs: 120_000 },
  K9: { steadyForMs: 60_000 },
  K19: { forMs: 30_000 },
  K23: { waitMs: 600_000 },
};

export const contextFor = (product: Product) => product.engineContext(TANK, SHORT_WAITS, {});
