// Tanks on which sessions are tried: the demo tank, a large one with several of everything, a small one, and sparse ones
// where sensors, watts or plugs are missing. All invented.
import type { Driver, Equipment, RoleId, Sensor, SensorKind, Tank } from '../../model/index.ts';
import { ROLES } from '../../rules/index.ts';
import { PLUG_KEYS, PLUGS, type PlugKey, powerOf, sumpLevelCm, switchOf } from '../tank/index.ts';

export type TankId = 'demo' | 'large' | 'small' | 'sparse' | 'blind' | 'unlearned';

export type SessionTank = {
  readonly id: TankId;
  readonly tank: Tank;
  /** Level for the litres in the sump; straight where the tank says no more. */
  readonly levelCm?: (sumpL: number) => number;
  readonly deputies: Readonly<Record<string, string>>;
};

const piece = (id: string, role: RoleId, normalPowerW: number, more: Partial<Equipment> = {}): Equipment => ({
  id,
  name: id.replaceAll('-', ' '),
  role,
  driver: { kind: 'always-on' },
  switchEntity: `switch.${id.replaceAll('-', '_')}`,
  powerEntity: `sensor.${id.replaceAll('-', '_')}_power`,
  normalPowerW,
  cycling: ROLES[role].cycling,
  inSump: true,
  switchDelayMs: 5_000,
  ...more,
});

const sensor = (kind: SensorKind, id: string = kind): Sensor => ({
  id,
  name: id.replaceAll('-', ' '),
  kind,
  entity: `${IS_FLAG.has(kind) ? 'binary_sensor' : 'sensor'}.${id.replaceAll('-', '_')}`,
  maxAgeMs: 120_000,
});
const IS_FLAG: ReadonlySet<SensorKind> = new Set([
  'low-float',
  'high-float',
  'store-low-float',
  'barrel-high-float',
  'leak',
  'door',
]);

const tankOf = (
  name: string,
  equipment: readonly Equipment[],
  sensors: readonly Sensor[],
  sump: Tank['sump'],
): Tank => ({
  name,
  timeZone: 'Europe/London',
  volumeL: 458,
  ...(sump === undefined ? {} : { sump }),
  equipment,
  sensors,
  parts: [],
  counters: [],
  people: [{ name: 'Ada' }, { name: 'Bo' }, { name: 'Cem' }],
  notifyServices: [],
});

const DRIVERS: Readonly<Partial<Record<PlugKey, Driver>>> = {
  heater_1: { kind: 'thermostat', entity: 'climate.display' },
  heater_2: { kind: 'thermostat', entity: 'climate.display' },
  fans: { kind: 'thermostat', entity: 'climate.display_cooling' },
  lamp_bank_1: { kind: 'schedule', entity: 'automation.lamp_bank_1' },
  lamp_bank_2: { kind: 'schedule', entity: 'automation.lamp_bank_2' },
  led_strip: { kind: 'schedule', entity: 'automation.led_strip' },
  algae_lamp: { kind: 'schedule', entity: 'automation.algae_lamp' },
  ro_unit: { kind: 'schedule', entity: 'automation.ro_unit' },
  mixing_pump: { kind: 'schedule', entity: 'automation.mixing_pump' },
  mixing_heater: { kind: 'schedule', entity: 'automation.mixing_heater' },
  doser: { kind: 'own-controller' },
  top_off: { kind: 'own-controller' },
};
const PAIRS: Readonly<Partial<Record<PlugKey, string>>> = {
  circulation_left: 'circulation',
  circulation_right: 'circulation',
  heater_1: 'heaters',
  heater_2: 'heaters',
};

const ALL_SENSORS: readonly Sensor[] = [
  sensor('display-temperature'),
  sensor('sump-temperature'),
  sensor('barrel-temperature'),
  sensor('room-temperature'),
  sensor('sump-level'),
  sensor('low-float'),
  sensor('high-float'),
  sensor('store-low-float'),
  sensor('barrel-high-float'),
  sensor('salinity'),
  sensor('ph'),
  sensor('feed-tds'),
  sensor('ro-tds'),
  sensor('product-tds'),
  sensor('feed-litres'),
  sensor('product-litres'),
  sensor('lux'),
  sensor('leak', 'leak-cabinet'),
  sensor('leak', 'leak-ro-area'),
];

function demo(): SessionTank {
  const equipment = PLUG_KEYS.map((key): Equipment => {
    const { role, name, powerW } = PLUGS[key];
    return {
      ...piece(key.replaceAll('_', '-'), role, powerW),
      name,
      switchEntity: switchOf(key),
      powerEntity: powerOf(key),
      driver: DRIVERS[key] ?? { kind: 'always-on' },
      ...(PAIRS[key] === undefined ? {} : { pair: PAIRS[key] }),
    };
  });
  const { switchEntity: _, powerEntity: __, normalPowerW: ___, ...feeder } = piece('feeder', 'feeder', 0);
  const tank = tankOf(
    'Quayside Library reading-room reef',
    [...equipment, { ...feeder, driver: { kind: 'own-controller' } }],
    ALL_SENSORS,
    { litresPerCm: 2.58, normalLevelCm: 20, rimLevelCm: 42, drainDownL: 19.5 },
  );
  return { id: 'demo', tank, levelCm: sumpLevelCm, deputies: { Ada: 'Bo' } };
}

/** Two returns, three circulation pumps, CO2, limewater, a chiller: everything a session has to order. */
function large(): SessionTank {
  const equipment = [
    piece('return-a', 'return-pump', 48),
    piece('return-b', 'return-pump', 40),
    piece('flow-left', 'circulation-pump', 22),
    piece('flow-right', 'circulation-pump', 24),
    piece('flow-back', 'circulation-pump', 20),
    piece('skimmer', 'skimmer', 26),
    piece('heater-1', 'heater', 198, {
      pair: 'heaters',
      driver: { kind: 'thermostat', entity: 'automation.heater_1' },
    }),
    piece('heater-2', 'heater', 198, { pair: 'heaters' }),
    piece('chiller', 'chiller', 300),
    piece('uv', 'uv-unit', 25),
    piece('reactor', 'media-reactor', 7),
    piece('algae', 'algae-reactor', 8),
    piece('algae-lamp', 'algae-lamp', 45, { driver: { kind: 'schedule', entity: 'automation.algae_lamp' } }),
    piece('calcium', 'calcium-reactor', 12),
    piece('lamp', 'fluorescent-bank', 171, { driver: { kind: 'schedule', entity: 'automation.lamp' } }),
    piece('doser', 'dosing-pump', 2),
    piece('lime', 'limewater-doser', 5),
    piece('top-off', 'top-off', 9, { driver: { kind: 'schedule', entity: 'automation.top_off' } }),
    piece('ro', 'ro-unit', 46, { driver: { kind: 'schedule', entity: 'automation.ro' } }),
    piece('mixer', 'mixing-pump', 35, { driver: { kind: 'schedule', entity: 'automation.mixer' } }),
    piece('barrel-heater', 'mixing-heater', 300, { driver: { kind: 'schedule', entity: 'automation.barrel_heater' } }),
    piece('air', 'air-pump', 4),
  ];
  const sump = { litresPerCm: 8.1, normalLevelCm: 22, rimLevelCm: 45, drainDownL: 32 };
  return { id: 'large', tank: tankOf('two-display reef', equipment, ALL_SENSORS, sump), deputies: {} };
}

function small(): SessionTank {
  const equipment = [
    piece('return', 'return-pump', 30),
    piece('flow', 'circulation-pump', 12),
    piece('skimmer', 'skimmer', 14),
    piece('heater', 'heater', 150),
    piece('lamp', 'fluorescent-bank', 78),
    piece('top-off', 'top-off', 6),
  ];
  const sensors = [sensor('sump-level'), sensor('display-temperature'), sensor('leak', 'leak-floor')];
  const sump = { litresPerCm: 2, normalLevelCm: 18, rimLevelCm: 34, drainDownL: 11 };
  return { id: 'small', tank: tankOf('small reef', equipment, sensors, sump), deputies: { Ada: 'Bo' } };
}

const bare = (each: Equipment, ...keys: readonly ('switchEntity' | 'powerEntity' | 'normalPowerW')[]): Equipment => {
  const copy: Record<string, unknown> = { ...each };
  for (const key of keys) delete copy[key];
  return copy as unknown as Equipment;
};

/** No level sensor, one probe, three plugs, two of them without watts; the rest is switched by hand. */
function sparse(): SessionTank {
  const equipment = [
    bare(piece('return', 'return-pump', 30), 'powerEntity'),
    piece('flow', 'circulation-pump', 12),
    bare(piece('skimmer', 'skimmer', 14), 'powerEntity'),
    bare(piece('heater', 'heater', 150), 'switchEntity', 'powerEntity'),
    bare(piece('lamp', 'fluorescent-bank', 78), 'switchEntity', 'powerEntity'),
    bare(piece('top-off', 'top-off', 6), 'switchEntity', 'powerEntity'),
  ];
  const sump = { litresPerCm: 2, normalLevelCm: 18, rimLevelCm: 34, drainDownL: 11 };
  return { id: 'sparse', tank: tankOf('sparse reef', equipment, [sensor('display-temperature')], sump), deputies: {} };
}

/** Plugs that switch, and nothing that measures. */
function blind(): SessionTank {
  const equipment = small().tank.equipment.map((each) => bare(each, 'powerEntity', 'normalPowerW'));
  return { id: 'blind', tank: tankOf('reef without meters', equipment, [], undefined), deputies: {} };
}

/** Everything measured, nothing learned: no drain-down, no normal watts. */
function unlearned(): SessionTank {
  const equipment = small().tank.equipment.map((each) => bare(each, 'normalPowerW'));
  const sump = { litresPerCm: 2, normalLevelCm: 18, rimLevelCm: 34 };
  return { id: 'unlearned', tank: tankOf('new reef', equipment, small().tank.sensors, sump), deputies: {} };
}

/** What really drains down where the tank's configuration has not learned it. */
export const TRUE_DRAIN_DOWN_L = 11;

const MAKERS: Readonly<Record<TankId, () => SessionTank>> = { demo, large, small, sparse, blind, unlearned };
export const TANK_IDS = Object.keys(MAKERS) as readonly TankId[];
const made = new Map<TankId, SessionTank>();

export function sessionTank(id: TankId): SessionTank {
  const known = made.get(id) ?? MAKERS[id]();
  made.set(id, known);
  return known;
}
