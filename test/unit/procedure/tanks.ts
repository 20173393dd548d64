import type { Equipment, RoleId, Sensor, Tank } from '../../../src/model/index.ts';
import { ROLES } from '../../../src/rules/index.ts';

export const equipment = (id: string, role: RoleId, more: Partial<Equipment> = {}): Equipment => ({
  id,
  name: id.replaceAll('-', ' '),
  role,
  driver: { kind: 'always-on' },
  switchEntity: `switch.${id.replaceAll('-', '_')}`,
  powerEntity: `sensor.${id.replaceAll('-', '_')}_power`,
  cycling: ROLES[role].cycling,
  inSump: true,
  switchDelayMs: 5_000,
  ...more,
});

export const sensor = (id: string, kind: Sensor['kind']): Sensor => ({
  id,
  name: id,
  kind,
  entity: `sensor.${id.replaceAll('-', '_')}`,
  maxAgeMs: 120_000,
});

export const without = (each: Equipment, ...keys: (keyof Equipment)[]): Equipment =>
  Object.fromEntries(
    Object.entries(each).filter(([key]) => !keys.includes(key as keyof Equipment)),
  ) as unknown as Equipment;

export const tankOf = (all: readonly Equipment[], more: Partial<Tank> = {}): Tank => ({
  name: 'test tank',
  timeZone: 'Europe/Amsterdam',
  volumeL: 450,
  // An invented sump: 19.5 L drain-down over 4.05 L/cm rises 4.8 cm.
  sump: { litresPerCm: 4.05, normalLevelCm: 20, rimLevelCm: 42, drainDownL: 19.5 },
  equipment: all,
  sensors: [sensor('sump-level', 'sump-level')],
  parts: [],
  counters: [],
  people: [{ name: 'Ada' }, { name: 'Bo' }],
  notifyServices: [],
  ...more,
});

/** A full reef: two returns, three circulation pumps, everything a session has to order. */
export const reef = (): Tank =>
  tankOf([
    equipment('return-a', 'return-pump', { normalPowerW: 48 }),
    equipment('return-b', 'return-pump', { normalPowerW: 40 }),
    equipment('flow-left', 'circulation-pump', { normalPowerW: 22 }),
    equipment('flow-right', 'circulation-pump', { normalPowerW: 24 }),
    equipment('flow-back', 'circulation-pump', { normalPowerW: 20 }),
    equipment('skimmer', 'skimmer', { normalPowerW: 26 }),
    equipment('heater-1', 'heater', {
      normalPowerW: 198,
      pair: 'heaters',
      driver: { kind: 'thermostat', entity: 'automation.heater_1' },
    }),
    equipment('heater-2', 'heater', { normalPowerW: 198, pair: 'heaters' }),
    equipment('uv', 'uv-unit', { normalPowerW: 25 }),
    equipment('reactor', 'media-reactor', { normalPowerW: 7 }),
    equipment('algae', 'algae-reactor', { normalPowerW: 8 }),
    equipment('algae-lamp', 'algae-lamp', { normalPowerW: 45 }),
    equipment('lamp', 'fluorescent-bank', { normalPowerW: 171, driver: { kind: 'schedule' } }),
    equipment('doser', 'dosing-pump', { normalPowerW: 7 }),
    equipment('top-off', 'top-off', { normalPowerW: 9, driver: { kind: 'schedule', entity: 'automation.top_off' } }),
    equipment('ro', 'ro-unit', { normalPowerW: 46 }),
    equipment('mixer', 'mixing-pump', { normalPowerW: 35 }),
    equipment('barrel-heater', 'mixing-heater', { normalPowerW: 300 }),
    equipment('network', 'hub-network', { normalPowerW: 11 }),
  ]);

/** The smallest tank both procedures work on. */
export const small = (): Tank =>
  tankOf([
    equipment('return', 'return-pump', { normalPowerW: 48 }),
    equipment('flow', 'circulation-pump', { normalPowerW: 22 }),
    equipment('skimmer', 'skimmer', { normalPowerW: 26 }),
    equipment('top-off', 'top-off', { normalPowerW: 9 }),
  ]);
