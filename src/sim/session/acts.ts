// What happens in the home: time passes, a command arrives, the hub's own automations switch, a person uses hands.
import type { EntityId, EquipmentId } from '../../model/index.ts';
import { type DurationMs, type InstantMs, MINUTE_MS, SECOND_MS } from '../../units/index.ts';
import { tell, tellEdge, tellRelay, tellWatts } from './telling.ts';
import { look, moveWater } from './water.ts';
import {
  type By,
  type Device,
  deviceOf,
  drawnW,
  type HubDriver,
  hasPower,
  hasReturn,
  type World,
  works,
} from './world.ts';

/** Runs everything that happens up to `at`. */
export function runUntil(world: World, at: InstantMs): void {
  for (;;) {
    const nextAt = world.queue.nextAt();
    if (nextAt > at) break;
    const next = world.queue.take();
    if (!next) break;
    move(world, next.at);
    next.run();
  }
  move(world, at);
}

function move(world: World, to: InstantMs): void {
  if (to <= world.at) return;
  world.at = to;
  const dtMs = to - world.flowedAt;
  // Within a second water goes nowhere; what is switched meanwhile tells of itself.
  if (dtMs < SECOND_MS) return;
  world.flowedAt = to;
  let heaterW = 0;
  let otherW = 0;
  let toppingOff = false;
  for (const device of world.devices.values()) {
    if (device.equipment.role === 'heater') heaterW += drawnW(world, device);
    else if (device.role.waterMover) otherW += 0.6 * drawnW(world, device);
    else if (device.role.lamp) otherW += 0.15 * drawnW(world, device);
    else if (device.equipment.role === 'top-off') toppingOff ||= hasPower(world, device);
  }
  moveWater(world.water, { hasReturn: hasReturn(world), toppingOff, heaterW, otherW }, dtMs);
  for (const device of world.devices.values()) noteTruth(world, device);
  noteWater(world);
}

const REPORTS_CHANGE_MS: DurationMs = 1_500;

/** Says what has become of this equipment, where anything has. */
export function noteTruth(world: World, device: Device): void {
  const watts = Math.round(drawnW(world, device));
  const running = works(world, device);
  const immersed = device.equipment.role !== 'heater' || isImmersed(world, device);
  const before = device.noted;
  if (before !== null && before.watts === watts && before.running === running && before.immersed === immersed) return;
  // A load that begins or ends to draw by itself is reported without being asked.
  if (before !== null && Math.abs(before.watts - watts) >= 2) {
    world.queue.add(world.at + REPORTS_CHANGE_MS, () => tellWatts(world, device));
  }
  device.noted = { watts, running, immersed };
  world.note({
    kind: 'truth',
    at: world.at,
    equipment: device.equipment.id,
    watts,
    running,
    ...(device.equipment.role === 'heater' ? { immersed } : {}),
  });
}

/** Heaters stand with their top this far below the usual level. */
const HEATER_DEPTH_CM = 5;

function isImmersed(world: World, device: Device): boolean {
  if (world.lifted.has(device.equipment.id)) return false;
  return world.water.levelCm > world.water.normalCm - HEATER_DEPTH_CM;
}

function noteWater(world: World): void {
  const last = world.notedWater;
  const { levelCm, hasFlow, displayC } = world.water;
  const same =
    last !== null &&
    last.flow === hasFlow &&
    Math.abs(last.sumpCm - levelCm) < 0.2 &&
    Math.abs(last.temperatureC - displayC) < 0.2;
  if (same) return;
  world.notedWater = { sumpCm: levelCm, flow: hasFlow, temperatureC: displayC };
  world.note({
    kind: 'water',
    at: world.at,
    sumpCm: Math.round(levelCm * 100) / 100,
    displayCm: Math.round((-world.water.downL / 7.5) * 100) / 100,
    temperatureC: Math.round(displayC * 100) / 100,
    flow: hasFlow,
  });
}

/** The whole truth at the start, of everything. */
export function noteAll(world: World): void {
  for (const device of world.devices.values()) {
    const driven = world.drivers.get(driverEntity(device) ?? '');
    world.note({
      kind: 'truth',
      at: world.at,
      equipment: device.equipment.id,
      pluggedIn: device.pluggedIn,
      relayOn: device.closed,
      watts: Math.round(drawnW(world, device)),
      running: works(world, device),
      driverSuspended: driven?.suspended ?? false,
      immersed: device.equipment.role !== 'heater' || isImmersed(world, device),
    });
    noteTruth(world, device);
  }
  noteWater(world);
  for (const driver of world.drivers.values()) {
    tell(world, driver.entity, 1);
    world.queue.add(driver.nextAt, () => drive(world, driver));
  }
}

const driverEntity = ({ equipment: { driver } }: Device): EntityId | undefined =>
  driver.kind === 'schedule' || driver.kind === 'thermostat' ? driver.entity : undefined;

/** Contacts change, by whomever; the plug reports it. */
export function setClosed(world: World, device: Device, closed: boolean, by: By): void {
  const moved = device.closed !== closed;
  device.closed = closed;
  device.says = closed;
  if (moved && closed) device.onSince = world.at;
  if (moved) world.note({ kind: 'truth', at: world.at, equipment: device.equipment.id, relayOn: closed, by });
  noteTruth(world, device);
  tellEdge(world, device);
}

export type Answer = {
  readonly outcome: 'confirmed' | 'refused' | 'sent-unconfirmed' | 'still-working';
  readonly detail: string;
};

/** A call through the hub, as the service makes it: `done` hears how it ended. */
export function command(world: World, id: EquipmentId, turn: 'on' | 'off', done: (answer: Answer) => void): void {
  const device = deviceOf(world, id);
  const later = (ms: DurationMs, outcome: Answer['outcome'], detail: string): void =>
    world.queue.add(world.at + ms, () => done({ outcome, detail }));
  if (!world.linkUp || !world.hubRuns) {
    later(10 * SECOND_MS, 'sent-unconfirmed', 'the connection was lost');
    return;
  }
  if (device.refusals > 0) {
    device.refusals -= 1;
    later(400, 'refused', `${device.equipment.name} did not respond`);
    return;
  }
  world.queue.add(world.at + world.random.between(150, 450), () => obey(world, device, turn === 'on', 'us'));
  later(world.random.between(450, 700), 'confirmed', 'the hub took the call');
}

function obey(world: World, device: Device, on: boolean, by: By): void {
  if (!world.mainsOn) return;
  if (device.parrots) {
    device.says = on;
    tellEdge(world, device);
    return;
  }
  if (device.sticks) {
    tellEdge(world, device);
    return;
  }
  if (device.welded && !on) {
    device.says = false;
    tellEdge(world, device);
    return;
  }
  setClosed(world, device, on, by);
  if (!on && device.revivesAfterMs !== null) {
    world.queue.add(world.at + device.revivesAfterMs, () => {
      if (device.revivesAfterMs === null) return;
      device.revivesAfterMs = null;
      if (!device.closed) setClosed(world, device, true, 'itself');
    });
  }
}

/** Another hand of the hub: an automation, somebody at a switch. */
export function foreign(world: World, id: EquipmentId, on: boolean): void {
  if (world.hubRuns) obey(world, deviceOf(world, id), on, 'foreign');
}

export function setDriver(
  world: World,
  entity: EntityId,
  turn: 'suspend' | 'resume',
  done: (answer: Answer) => void,
): void {
  const driver = world.drivers.get(entity);
  if (!world.linkUp || !world.hubRuns) {
    world.queue.add(world.at + 10 * SECOND_MS, () => done({ outcome: 'sent-unconfirmed', detail: 'connection lost' }));
    return;
  }
  world.queue.add(world.at + 200, () => {
    if (driver) {
      driver.suspended = turn === 'suspend';
      tell(world, entity, driver.suspended ? 0 : 1);
      for (const equipment of driver.equipment) {
        world.note({ kind: 'truth', at: world.at, equipment, driverSuspended: driver.suspended });
      }
    }
    done({ outcome: 'confirmed', detail: 'the hub took the call' });
  });
}

/** A thermostat calls and stops calling; schedules have nothing to switch within a session's hours. */
function drive(world: World, driver: HubDriver): void {
  if (driver.kind !== 'thermostat') return;
  driver.nextAt = world.at + world.random.between(8, 25) * MINUTE_MS;
  world.queue.add(driver.nextAt, () => drive(world, driver));
  if (driver.suspended || !world.hubRuns) return;
  for (const id of driver.equipment) {
    const device = deviceOf(world, id);
    if (device.equipment.role === 'heater') obey(world, device, !device.closed, 'foreign');
  }
}

/** A cord in a person's hand, or back in its socket. */
export function setPluggedIn(world: World, id: EquipmentId, pluggedIn: boolean): void {
  const device = deviceOf(world, id);
  if (device.pluggedIn === pluggedIn) return;
  device.pluggedIn = pluggedIn;
  if (pluggedIn) device.onSince = world.at;
  world.note({ kind: 'truth', at: world.at, equipment: id, pluggedIn, by: 'person' });
  noteTruth(world, device);
  tellEdge(world, device);
}

/** The equipment's own switch, or the button of its plug. */
export function switchByHand(world: World, id: EquipmentId, on: boolean): void {
  const device = deviceOf(world, id);
  if (device.closed !== on) setClosed(world, device, on, 'person');
  else tellRelay(world, device);
}

export function setHands(world: World, person: string, inWater: boolean, held: readonly EquipmentId[]): void {
  world.hands.set(person, { inWater, holds: new Set(held) });
  world.note({ kind: 'hands', at: world.at, person, inWater, holds: held });
}

/** A skimmer's body leaves the water, or a heater does; and comes back. */
export function setLifted(world: World, id: EquipmentId, lifted: boolean): void {
  const device = deviceOf(world, id);
  if (device.equipment.role === 'skimmer') world.water.liftedL = lifted ? SKIMMER_BODY_L : 0;
  if (lifted) world.lifted.add(id);
  else world.lifted.delete(id);
  look(world.water);
  noteTruth(world, device);
  noteWater(world);
}
const SKIMMER_BODY_L = 1.5;

/** Out of the tank in all; a person takes and refills. */
export function setTaken(world: World, litres: number): void {
  world.water.takenL = litres;
  look(world.water);
  noteWater(world);
}

/** The mains fail for a moment: plugs come back as they are set to. */
export function blip(world: World, forMs: DurationMs): void {
  world.mainsOn = false;
  for (const device of world.devices.values()) noteTruth(world, device);
  world.queue.add(world.at + forMs, () => {
    world.mainsOn = true;
    for (const device of world.devices.values()) {
      const isPlug = device.equipment.switchEntity !== undefined;
      const startsOn = device.role.startUp === 'any' ? device.closed : device.role.startUp === 'on';
      if (isPlug && device.closed !== startsOn && !device.welded && !device.sticks)
        setClosed(world, device, startsOn, 'itself');
      else {
        if (device.closed) device.onSince = world.at;
        noteTruth(world, device);
        tellEdge(world, device);
      }
    }
  });
}
