import type { EntityId, Equipment, Part, PartId, SensorKind, Tank } from '../model/index.ts';
import type { ConditionSetup, FindingKind, WatchedEquipment } from './types.ts';

/** Kinds of parts that come as a set whose pieces share the watts. */
const SETS = ['fluorescent-tubes', 'lamp-fan', 'uv-lamp'];

/** What of a tank can be watched. */
export function conditionSetup(tank: Tank): ConditionSetup {
  const sensors: Partial<Record<SensorKind, EntityId>> = {};
  for (const { kind, entity } of tank.sensors) sensors[kind] ??= entity;
  return {
    volumeL: tank.volumeL,
    sump:
      tank.sump === undefined ? null : { litresPerCm: tank.sump.litresPerCm, drainDownL: tank.sump.drainDownL ?? null },
    equipment: tank.equipment.map((one) => watched(one, tank.parts)),
    sensors,
    parts: byKind(tank.parts.filter((part) => part.equipment === undefined)),
  };
}

function watched(equipment: Equipment, parts: readonly Part[]): WatchedEquipment {
  const own = parts.filter((part) => part.equipment === equipment.id);
  return {
    id: equipment.id,
    name: equipment.name,
    role: equipment.role,
    power: equipment.powerEntity ?? null,
    switch: equipment.switchEntity ?? null,
    normalW: equipment.normalPowerW ?? null,
    pieces: own.find((part) => SETS.includes(part.kind))?.pieces ?? null,
    parts: byKind(own),
  };
}

const byKind = (parts: readonly Part[]): Record<string, PartId> =>
  Object.fromEntries(parts.map((part) => [part.kind, part.id]).reverse());

/** Every entity that a tank's condition is read from. */
export function conditionEntities(setup: ConditionSetup): { readonly power: EntityId[]; readonly other: EntityId[] } {
  const present = (list: readonly (EntityId | null | undefined)[]): EntityId[] => [
    ...new Set(list.filter((entity): entity is EntityId => entity !== null && entity !== undefined)),
  ];
  return {
    power: present(setup.equipment.map((one) => one.power)),
    other: present([...setup.equipment.map((one) => one.switch), ...SENSORS_READ.map((kind) => setup.sensors[kind])]),
  };
}

const SENSORS_READ: readonly SensorKind[] = [
  'display-temperature',
  'sump-temperature',
  'room-temperature',
  'sump-level',
  'low-float',
  'store-low-float',
  'feed-tds',
  'ro-tds',
  'product-tds',
  'feed-litres',
  'product-litres',
  'lux',
];

/** Kinds of parts that a finding speaks of. */
export const PARTS_OF: Readonly<Record<FindingKind, readonly string[]>> = {
  'dead-lamp': ['fluorescent-tubes', 'uv-lamp', 'led-lamp', 'algae-lamp'],
  'dead-fan': ['lamp-fan'],
  'lamp-fading': ['fluorescent-tubes', 'led-lamp'],
  'pump-fouling': ['return-pump-wet-end', 'circulation-wet-end', 'mixing-pump', 'skimmer-body'],
  'skimmer-air': ['skimmer-body'],
  'pump-dry': [],
  'pump-not-turning': ['return-pump-wet-end', 'circulation-wet-end', 'mixing-pump', 'skimmer-body'],
  'no-draw': ['heater', 'uv-lamp'],
  'welded-relay': ['plug-relay'],
  'heater-watts': ['heater'],
  'heater-duty': ['heater'],
  'heater-no-warming': ['heater'],
  'probe-disagreement': ['temperature-probe'],
  'sticky-float': ['top-off-floats'],
  'float-growth': ['top-off-floats'],
  'top-off-weak': ['top-off-pump'],
  'store-empty': [],
  siphon: [],
  'siphon-hole': ['siphon-break-hole', 'check-valve'],
  'resin-breakthrough': ['di-resin'],
  'rejection-decline': ['ro-membrane'],
  'flow-when-off': ['inlet-solenoid', 'ro-shut-off'],
};
