// One home in virtual time: what is true of it, what its devices say, and how both move on. Plain mutable data that the
// other files of this folder work on; two worlds from the same seed and the same acts are the same world.
import type { EntityId, Equipment, EquipmentId } from '../../model/index.ts';
import type { Reading } from '../../observe/index.ts';
import { ROLES, type RoleFacts } from '../../rules/index.ts';
import { type DurationMs, HOUR_MS, type InstantMs, MINUTE_MS, type PowerW } from '../../units/index.ts';
import { type Prng, prng, seedFor } from '../random.ts';
import { createQueue, type Queue } from './queue.ts';
import { createSensing, type Sensing } from './sensors.ts';
import { type SessionTank, TRUE_DRAIN_DOWN_L } from './tanks.ts';
import { createWater, type Water } from './water.ts';

/** One equipment with its plug, or with its own switch where it has none. */
export type Device = {
  readonly equipment: Equipment;
  readonly role: RoleFacts;
  /** Meter error as a share, and what it shows with nothing flowing. */
  readonly gain: number;
  readonly openW: PowerW;
  /** Of a load that draws now and then: where in its rhythm it is. */
  readonly phaseMs: DurationMs;
  /** Contacts closed: of the plug, or of its own switch. */
  closed: boolean;
  /** What the plug says of its contacts. */
  says: boolean;
  /** What it says is only what it was told. */
  parrots: boolean;
  pluggedIn: boolean;
  /** Runs on when the mains fail. */
  hasBattery: boolean;
  onSince: InstantMs;
  /** Told off, its contacts stay closed; told on, open: nothing moves and it says so. */
  sticks: boolean;
  welded: boolean;
  /** Comes back on by itself so long after it went off. */
  revivesAfterMs: DurationMs | null;
  slowMs: DurationMs;
  /** So many commands are still refused. */
  refusals: number;
  isSilent: boolean;
  meter: 'good' | 'frozen' | 'missing';
  frozenW: PowerW;
  /** Has power and does not turn. */
  isStuck: boolean;
  nextReportAt: InstantMs;
  saidW: PowerW;
  /** Truth last noted. */
  noted: { watts: PowerW; running: boolean; immersed: boolean } | null;
};

/** A schedule, thermostat or automation of the hub that switches a plug. */
export type HubDriver = {
  readonly entity: EntityId;
  readonly kind: 'schedule' | 'thermostat';
  readonly equipment: readonly EquipmentId[];
  suspended: boolean;
  nextAt: InstantMs;
};

export type Hands = { inWater: boolean; readonly holds: Set<EquipmentId> };

/** What the link between devices, hub and service does to a message. */
export type Trouble = {
  lostShare: number;
  lateMs: DurationMs;
  duplicates: boolean;
  swaps: boolean;
};

export type By = 'us' | 'foreign' | 'itself' | 'person';

/** What is true, and what got through; the order is that of happening. */
export type Note =
  | {
      readonly kind: 'truth';
      readonly at: InstantMs;
      readonly equipment: EquipmentId;
      readonly pluggedIn?: boolean;
      readonly relayOn?: boolean;
      readonly watts?: PowerW;
      readonly running?: boolean;
      readonly driverSuspended?: boolean;
      readonly immersed?: boolean;
      readonly by?: By;
    }
  | {
      readonly kind: 'water';
      readonly at: InstantMs;
      readonly sumpCm?: number;
      readonly displayCm?: number;
      readonly temperatureC?: number;
      readonly flow?: boolean;
    }
  | {
      readonly kind: 'hands';
      readonly at: InstantMs;
      readonly person: string;
      readonly inWater: boolean;
      readonly holds: readonly EquipmentId[];
    }
  | {
      readonly kind: 'reading';
      readonly at: InstantMs;
      readonly entity: EntityId;
      readonly about: 'relay' | 'watts' | 'level' | 'temperature' | 'wet' | 'other';
      readonly equipment?: EquipmentId;
      readonly value: number | null;
      readonly reportedAt: InstantMs;
      readonly echo?: boolean;
    };

export type World = {
  readonly home: SessionTank;
  readonly startedAt: InstantMs;
  at: InstantMs;
  /** Up to when water and heat have moved on. */
  flowedAt: InstantMs;
  readonly random: Prng;
  readonly queue: Queue;
  readonly devices: ReadonlyMap<EquipmentId, Device>;
  readonly byEntity: ReadonlyMap<EntityId, { readonly device: Device; readonly about: 'relay' | 'watts' }>;
  readonly drivers: ReadonlyMap<EntityId, HubDriver>;
  readonly water: Water;
  readonly sensing: Sensing;
  readonly hands: Map<string, Hands>;
  /** Out of the water. */
  readonly lifted: Set<EquipmentId>;
  /** Truth of the water last noted. */
  notedWater: { readonly sumpCm: number; readonly flow: boolean; readonly temperatureC: number } | null;
  /** What the hub knows of each entity. */
  readonly hub: Map<EntityId, Reading>;
  hubRuns: boolean;
  linkUp: boolean;
  mainsOn: boolean;
  readonly trouble: Trouble;
  /** A message that another one will overtake. */
  overtaken: { readonly reading: Reading; readonly isNews: boolean; readonly echo: boolean } | null;
  readonly note: (note: Note) => void;
  /** A report reaches the service. `matters`: it shows something new, so that nobody waits for the next slow look. */
  readonly receive: (reading: Reading, matters: boolean) => void;
};

export type WorldOptions = {
  readonly home: SessionTank;
  readonly seed: number;
  readonly at: InstantMs;
  readonly note: World['note'];
  readonly receive: World['receive'];
};

export function createWorld({ home, seed, at, note, receive }: WorldOptions): World {
  const random = prng(seedFor(seed, 'world'));
  const devices = new Map(home.tank.equipment.map((each) => [each.id, createDevice(each, random, at)]));
  const byEntity = new Map<EntityId, { device: Device; about: 'relay' | 'watts' }>();
  for (const device of devices.values()) {
    const { switchEntity, powerEntity } = device.equipment;
    if (switchEntity !== undefined) byEntity.set(switchEntity, { device, about: 'relay' });
    if (powerEntity !== undefined) byEntity.set(powerEntity, { device, about: 'watts' });
  }
  return {
    home,
    startedAt: at,
    at,
    flowedAt: at,
    random,
    queue: createQueue(),
    devices,
    byEntity,
    drivers: driversOf(home, devices, random, at),
    water: createWater(home, home.tank.sump?.drainDownL ?? TRUE_DRAIN_DOWN_L),
    sensing: createSensing(home.tank.sensors, seed, at),
    hands: new Map(),
    lifted: new Set(),
    notedWater: null,
    hub: new Map(),
    hubRuns: true,
    linkUp: true,
    mainsOn: true,
    trouble: { lostShare: 0.003, lateMs: 0, duplicates: false, swaps: false },
    overtaken: null,
    note,
    receive,
  };
}

const RHYTHM_MS = 40 * MINUTE_MS;
export const REPORT_EVERY_MS: DurationMs = 60_000;

function createDevice(equipment: Equipment, random: Prng, at: InstantMs): Device {
  const role = ROLES[equipment.role];
  const closed = random.next() < startsOn(equipment);
  return {
    equipment,
    role,
    gain: 1 + random.between(-0.02, 0.01),
    openW: random.between(0, 0.6),
    phaseMs: random.between(0, RHYTHM_MS),
    closed,
    says: closed,
    parrots: false,
    pluggedIn: true,
    hasBattery: false,
    onSince: at - HOUR_MS,
    sticks: false,
    welded: false,
    revivesAfterMs: null,
    slowMs: 0,
    refusals: 0,
    isSilent: false,
    meter: 'good',
    frozenW: 0,
    isStuck: false,
    nextReportAt: at,
    saidW: 0,
    noted: null,
  };
}

/** How likely it is on when somebody comes to work at the tank in the morning. */
function startsOn({ role, driver }: Equipment): number {
  if (role === 'algae-lamp' || role === 'ro-unit') return 0.3;
  if (role === 'mixing-pump' || role === 'mixing-heater') return 0.4;
  if (role === 'fan') return 0.2;
  if (role === 'heater' && driver.kind === 'thermostat') return 0.6;
  return 1;
}

function driversOf(
  home: SessionTank,
  devices: ReadonlyMap<EquipmentId, Device>,
  random: Prng,
  at: InstantMs,
): ReadonlyMap<EntityId, HubDriver> {
  const drivers = new Map<EntityId, HubDriver>();
  for (const { equipment } of devices.values()) {
    const { driver } = equipment;
    if ((driver.kind !== 'schedule' && driver.kind !== 'thermostat') || driver.entity === undefined) continue;
    const { entity, kind } = driver;
    const same = home.tank.equipment.filter(
      (each) => (each.driver.kind === 'schedule' || each.driver.kind === 'thermostat') && each.driver.entity === entity,
    );
    const nextAt = at + random.between(2, 20) * MINUTE_MS;
    drivers.set(entity, { entity, kind, equipment: same.map((each) => each.id), suspended: false, nextAt });
  }
  return drivers;
}

export function deviceOf(world: World, id: EquipmentId): Device {
  const device = world.devices.get(id);
  if (!device) throw new Error(`the tank has no ${id}`);
  return device;
}

export const hasPower = (world: World, device: Device): boolean =>
  device.closed && device.pluggedIn && (world.mainsOn || device.hasBattery);

const SOFT_START_MS = 12_000;
const HUM_W = 3;
/** Of a small pump, as much less than when it turns. */
const HUM_SHARE = 0.15;
const IDLE_DOSER_W = 2;

/** What it draws at this moment, without the meter's noise. */
export function drawnW(world: World, device: Device): PowerW {
  if (!hasPower(world, device)) return 0;
  const usual = usualW(device);
  if (device.isStuck) return Math.min(HUM_W, HUM_SHARE * usual);
  const { role } = device.equipment;
  if (role === 'return-pump') return usual * Math.min(1, (world.at - device.onSince + 2_000) / SOFT_START_MS);
  if (role === 'dosing-pump') return calls(world, device) ? usual + 5 : Math.min(usual, IDLE_DOSER_W);
  return device.equipment.cycling && !calls(world, device) ? 0 : usual;
}

/** Where nobody has learned the watts, it still draws some. */
const usualW = (device: Device): PowerW => device.equipment.normalPowerW ?? 20;

/** A load that works now and then works now. */
function calls(world: World, device: Device): boolean {
  const inRhythm = (world.at - world.startedAt + device.phaseMs) % RHYTHM_MS;
  switch (device.equipment.role) {
    case 'top-off':
      return world.water.wantsTopOff;
    case 'dosing-pump':
      return inRhythm < 15_000;
    case 'heater':
      // One that the hub's thermostat switches is called whenever it has power.
      return device.equipment.driver.kind === 'thermostat' || inRhythm < 12 * MINUTE_MS;
    case 'chiller':
      return inRhythm < 10 * MINUTE_MS;
    default:
      return true;
  }
}

/** It does its work: moves water, heats, adds. */
export function works(world: World, device: Device): boolean {
  if (!hasPower(world, device) || device.isStuck) return false;
  return !device.equipment.cycling || calls(world, device);
}

export function hasReturn(world: World): boolean {
  for (const device of world.devices.values())
    if (device.equipment.role === 'return-pump' && works(world, device)) return true;
  return false;
}
