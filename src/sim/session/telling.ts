// How a report gets from a device to the hub and from there to the service, and what can become of it on the way.
import type { EntityId } from '../../model/index.ts';
import type { Reading } from '../../observe/index.ts';
import type { DurationMs } from '../../units/index.ts';
import { readProbe } from './sensors.ts';
import { type Device, deviceOf, drawnW, REPORT_EVERY_MS, type World } from './world.ts';

/** The hub hears of an entity; `echo`: it is no more than the command handed back. */
export function tell(world: World, entity: EntityId, value: number | null, echo = false): void {
  if (!world.hubRuns) return;
  if (world.random.next() < world.trouble.lostShare) return;
  const known = world.hub.get(entity);
  const changed = known?.value !== value;
  const changedAt = changed ? world.at : known.changedAt;
  const reading: Reading = { entity, value, changedAt, reportedAt: world.at };
  world.hub.set(entity, reading);
  pass(world, reading, isNews(known?.value, value), echo);
}

/** It shows something that was not so before: nobody waits with that for the next slow look. */
export function isNews(before: number | null | undefined, value: number | null): boolean {
  if (before === undefined || before === value) return false;
  if (before === null || value === null) return true;
  return before <= 2 !== value <= 2 || (Math.abs(before - value) >= 1 && before <= 1 && value <= 1);
}

/** From the hub to the service, unless the link is down; late, twice or in another order where it is bad. */
function pass(world: World, reading: Reading, matters: boolean, echo: boolean): void {
  if (!world.linkUp) return;
  const { lateMs, duplicates, swaps } = world.trouble;
  if (lateMs > 0) {
    const delayMs = world.random.between(0, lateMs);
    world.queue.add(world.at + delayMs, () => arrive(world, reading, true, echo));
    return;
  }
  if (swaps && world.overtaken === null) {
    world.overtaken = { reading, isNews: matters, echo };
    return;
  }
  arrive(world, reading, matters, echo);
  if (duplicates) arrive(world, reading, matters, echo);
  if (world.overtaken === null) return;
  const earlier = world.overtaken;
  world.overtaken = null;
  arrive(world, earlier.reading, earlier.isNews, earlier.echo);
}

function arrive(world: World, reading: Reading, matters: boolean, echo: boolean): void {
  if (!world.linkUp) return;
  const plug = world.byEntity.get(reading.entity);
  const { entity, value, reportedAt } = reading;
  const basics = { kind: 'reading', at: world.at, entity, value, reportedAt } as const;
  if (plug === undefined) world.note({ ...basics, about: aboutOf(world, entity) });
  else if (!echo) world.note({ ...basics, about: plug.about, equipment: plug.device.equipment.id });
  else world.note({ ...basics, about: plug.about, equipment: plug.device.equipment.id, echo });
  world.receive(reading, matters);
}

function aboutOf(world: World, entity: EntityId): 'level' | 'temperature' | 'wet' | 'other' {
  const kind = world.sensing.probes.get(entity)?.sensor.kind;
  if (kind === 'sump-level') return 'level';
  if (kind === 'display-temperature' || kind === 'sump-temperature') return 'temperature';
  return kind === 'leak' || kind === 'high-float' ? 'wet' : 'other';
}

export function tellRelay(world: World, device: Device): void {
  const { switchEntity } = device.equipment;
  if (switchEntity === undefined || device.isSilent || !isPowered(world)) return;
  tell(world, switchEntity, device.says ? 1 : 0, device.parrots);
}

export function tellWatts(world: World, device: Device): void {
  const { powerEntity } = device.equipment;
  if (powerEntity === undefined || device.isSilent || !isPowered(world)) return;
  if (device.meter === 'missing') {
    tell(world, powerEntity, null);
    return;
  }
  device.saidW = device.meter === 'frozen' ? device.frozenW : metered(world, device);
  tell(world, powerEntity, device.saidW);
}

/** Without mains no plug says anything. */
const isPowered = (world: World): boolean => world.mainsOn;

export function metered(world: World, device: Device): number {
  const truth = drawnW(world, device);
  const shown = truth > 0 ? truth * device.gain * (1 + 0.01 * world.random.gaussian()) : device.openW;
  return Math.round(Math.max(0, shown) * 10) / 10;
}

const EDGE_RELAY_MS: DurationMs = 200;
const EDGE_WATTS_MS: DurationMs = 1_200;

/** After a change: the relay at once, the watts a little later; both much later from a slow plug. */
export function tellEdge(world: World, device: Device): void {
  world.queue.add(world.at + EDGE_RELAY_MS + device.slowMs, () => tellRelay(world, device));
  if (device.equipment.powerEntity === undefined) return;
  world.queue.add(world.at + EDGE_WATTS_MS + device.slowMs, () => tellWatts(world, device));
}

/** The reports that are due anyway: plugs by the minute, sensors at their own pace. */
export function tellWhatIsDue(world: World): void {
  for (const device of world.devices.values()) {
    if (world.at < device.nextReportAt) continue;
    device.nextReportAt = world.at + REPORT_EVERY_MS + world.random.between(-4_000, 0);
    tellRelay(world, device);
    tellWatts(world, device);
  }
  for (const entity of world.sensing.probes.keys()) tellProbe(world, entity, false);
}

export function tellProbe(world: World, entity: EntityId, isAsked: boolean): void {
  const probe = world.sensing.probes.get(entity);
  if (!probe || probe.isSilent || (!isAsked && world.at < probe.nextAt)) return;
  probe.nextAt = world.at + probe.everyMs;
  const value = readProbe(probe, world.water, () => lampWatts(world), world.sensing.random);
  if (value !== null) tell(world, entity, value);
}

function lampWatts(world: World): number {
  let lampW = 0;
  for (const device of world.devices.values()) if (device.role.lamp) lampW += drawnW(world, device);
  return lampW;
}

/** Everything the service wants to hear again, answered as each device can. */
export function refresh(world: World, entities: readonly EntityId[]): void {
  const delayMs = world.random.between(200, 900);
  world.queue.add(world.at + delayMs, () => {
    if (!world.linkUp || !world.hubRuns) return;
    for (const entity of entities) answer(world, entity);
  });
}

function answer(world: World, entity: EntityId): void {
  const plug = world.byEntity.get(entity);
  if (plug) {
    const device = deviceOf(world, plug.device.equipment.id);
    const say = plug.about === 'relay' ? tellRelay : tellWatts;
    if (device.slowMs === 0) say(world, device);
    else world.queue.add(world.at + device.slowMs, () => say(world, device));
    return;
  }
  const driver = world.drivers.get(entity);
  if (driver) tell(world, entity, driver.suspended ? 0 : 1);
  else tellProbe(world, entity, true);
}

/** On a fresh connection the hub gives all it knows, with the time at which it heard it. */
export function giveAll(world: World): void {
  for (const reading of world.hub.values()) pass(world, reading, false, false);
}
