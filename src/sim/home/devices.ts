// Everything behind the simulated hub's entities: tank, plugs, sensors, drivers, moved on by one timer.
import type { DurationMs, InstantMs } from '../../units/index.ts';
import { createRuns, createTotal, type Runs, type Total, type WaterKind } from '../history/index.ts';
import { entityList, type HubCore, type ServiceCall } from '../hub/index.ts';
import { SCHEDULES, scheduledOn } from '../schedules.ts';
import {
  PLUG_KEYS,
  PLUGS,
  type PlugKey,
  plugOfEntity,
  powerOf,
  startTank,
  stepTank,
  switchOf,
  type TankState,
} from '../tank/index.ts';
import { createDrivers, THERMOSTATS } from './drivers.ts';
import type { PlugFault } from './faults.ts';
import { createPlug, type Plug } from './plug.ts';
import { createSensors, type MeterStart, sensorSpecs } from './sensors.ts';

export type DeviceOptions = {
  readonly core: HubCore;
  readonly seed: number;
  readonly faults: Readonly<Partial<Record<PlugKey, PlugFault>>>;
  readonly meters: MeterStart;
  readonly cleanedAt: Readonly<Partial<Record<PlugKey, InstantMs>>>;
  readonly siphonHoleBlocked: boolean;
  readonly tickMs: DurationMs;
};

export type Devices = {
  readonly plugs: Readonly<Record<PlugKey, Plug>>;
  tank(): TankState;
  /** Scale and salt are off this device now. */
  clean(key: PlugKey): void;
  /** Makes all entities known to a hub that has just become RUNNING. */
  announce(): void;
  readonly liveRuns: Readonly<Record<PlugKey, Runs>>;
  readonly liveWater: Readonly<Record<WaterKind, Total>>;
  stop(): void;
};

/** On at the start unless a schedule or thermostat says otherwise. */
const OFF_AT_START: readonly PlugKey[] = ['heater_1', 'heater_2', 'fans'];
/** Above this a device counts as working. */
const workingAboveW = (key: PlugKey): number => (key === 'doser' ? 4 : 0.5);
/** Water totals are noted this often while they move. */
const WATER_NOTE_MS = 60_000;

export function createDevices(options: DeviceOptions): Devices {
  const { core, seed, faults } = options;
  const { clock, timers } = core.system;
  const startAt = clock.now();
  const isOnAtStart = (key: PlugKey): boolean => scheduledOn(key, startAt) ?? !OFF_AT_START.includes(key);
  const plugs = byPlug((key) =>
    createPlug({ key, core, seed, closed: isOnAtStart(key), fault: faults[key] ?? 'none', onEdge: () => {} }),
  );
  const cleaned = { ...options.cleanedAt };
  let tank = startTank({
    at: startAt,
    seed,
    running: byPlug(isOnAtStart),
    cleanedAt: cleaned,
    siphonHoleBlocked: options.siphonHoleBlocked,
  });
  const drivers = createDrivers(core, startAt);
  const sensors = createSensors(core, seed, options.meters);
  const liveRuns = byPlug(() => createRuns());
  const liveWater = { feed: createTotal(), product: createTotal(), 'top-off': createTotal() };
  const powered = (): Readonly<Record<PlugKey, boolean>> => byPlug((key) => plugs[key].powered());
  // Lets every device draw its usual watts before anyone looks.
  tank = { ...stepTank({ ...tank, at: startAt - 1_000 }, { powered: powered() }, 1_000), at: startAt };

  const note = (): void => {
    for (const key of PLUG_KEYS) {
      if (tank.devices[key].meanPowerW > workingAboveW(key)) liveRuns[key].begin(tank.at);
      else liveRuns[key].end(tank.at);
    }
    noteWater(liveWater.feed, tank.at, tank.totals.feedL);
    noteWater(liveWater.product, tank.at, tank.totals.productL);
    noteWater(liveWater['top-off'], tank.at, tank.totals.topOffL);
  };
  const showWatts = (): void => {
    for (const key of PLUG_KEYS) plugs[key].see(tank.devices[key].meanPowerW);
  };
  let cancel = (): void => {};
  const tick = (): void => {
    const now = clock.now();
    if (now > tank.at) tank = stepTank(tank, { powered: powered() }, now - tank.at);
    note();
    showWatts();
    sensors.look(now, tank);
    drivers.look(now, tank);
    cancel = timers.after(options.tickMs, 'simulated home', tick);
  };
  registerServices(core, plugs, (entities) => sensors.refresh(entities, tank));
  registerEntities(core, options.meters);
  note();
  cancel = timers.after(options.tickMs, 'simulated home', tick);
  return {
    plugs,
    tank: () => tank,
    clean(key) {
      tank = { ...tank, cleanedAt: { ...tank.cleanedAt, [key]: clock.now() } };
    },
    announce() {
      showWatts();
      for (const key of PLUG_KEYS) plugs[key].announce();
      drivers.announce(tank);
      sensors.announce(tank);
    },
    liveRuns,
    liveWater,
    stop: () => cancel(),
  };
}

function byPlug<T>(make: (key: PlugKey) => T): Readonly<Record<PlugKey, T>> {
  return Object.fromEntries(PLUG_KEYS.map((key) => [key, make(key)])) as unknown as Record<PlugKey, T>;
}

function noteWater(total: Total, at: InstantMs, litres: number): void {
  const last = total.count - 1;
  const due = last < 0 || (total.value(last) !== litres && at - total.at(last) >= WATER_NOTE_MS);
  if (due) total.add(at, litres);
}

function registerServices(
  core: HubCore,
  plugs: Readonly<Record<PlugKey, Plug>>,
  refreshSensors: (entities: readonly string[]) => void,
): void {
  const { services } = core;
  const turn =
    (on: (key: PlugKey) => boolean) =>
    (call: ServiceCall): void => {
      for (const entity of call.entities.map(core.registry.madeAs)) {
        const key = entity.startsWith('switch.') ? plugOfEntity(entity) : undefined;
        if (key !== undefined) plugs[key].command(on(key), call.context);
      }
    };
  services.register(
    'switch',
    'turn_on',
    turn(() => true),
  );
  services.register(
    'switch',
    'turn_off',
    turn(() => false),
  );
  services.register(
    'switch',
    'toggle',
    turn((key) => core.states.get(core.registry.nameOf(switchOf(key)))?.state !== 'on'),
  );
  services.register('homeassistant', 'update_entity', (call) => {
    const entities = [...call.entities, ...entityList(call.data['entity_ids'])].map(core.registry.madeAs);
    for (const key of new Set(entities.map(plugOfEntity))) {
      if (key !== undefined) plugs[key].refresh(call.context);
    }
    refreshSensors(entities);
    for (const entity of entities) touch(core, entity);
  });
}

/** Any other entity the hub runs itself writes its state again, which moves its report time. */
function touch(core: HubCore, entity: string): void {
  const state = core.states.get(entity);
  if (state !== undefined && TOUCHED.test(entity)) core.states.set(entity, state.state);
}
const TOUCHED = /^(automation|climate|input_[a-z]+|person)\./;

function registerEntities(core: HubCore, meters: MeterStart): void {
  const add = (entity: string, platform: string, name: string): void =>
    core.registry.add({ entity, uniqueId: `${platform}-${entity}`, platform, name });
  for (const key of PLUG_KEYS) {
    add(switchOf(key), 'simulated_plug', PLUGS[key].name);
    add(powerOf(key), 'simulated_plug', `${PLUGS[key].name} power`);
  }
  for (const spec of sensorSpecs(meters)) add(spec.entity, 'simulated_sensor', spec.name);
  for (const driver of SCHEDULES) add(driver.entity, 'automation', driver.name);
  for (const driver of THERMOSTATS) add(driver.entity, 'generic_thermostat', driver.name);
}
