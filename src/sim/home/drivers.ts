// Drivers of the simulated home: schedules and thermostats that run in the hub, as a keeper's automations do. A schedule
// acts at its time and does not catch up; a thermostat acts whenever it looks.
import type { InstantMs, TemperatureC } from '../../units/index.ts';
import { localTime } from '../calendar.ts';
import type { HubCore, ServiceCall } from '../hub/index.ts';
import { type Edge, SCHEDULES, type Schedule } from '../schedules.ts';
import { type PlugKey, switchOf, type TankState } from '../tank/index.ts';

export type Thermostat = {
  readonly entity: string;
  readonly name: string;
  readonly plugs: readonly { readonly plug: PlugKey; readonly onC: TemperatureC; readonly offC: TemperatureC }[];
};

/** B2 first; the narrow band and the big tank make many short runs. */
export const THERMOSTATS: readonly Thermostat[] = [
  {
    entity: 'climate.display',
    name: 'Display heating',
    plugs: [
      { plug: 'heater_2', onC: 25.488, offC: 25.512 },
      { plug: 'heater_1', onC: 25.288, offC: 25.312 },
    ],
  },
  { entity: 'climate.display_cooling', name: 'Display fans', plugs: [{ plug: 'fans', onC: 26.3, offC: 26.1 }] },
];

export type Drivers = {
  /** Looks at clock and thermometer; called as the simulation moves on. */
  look(at: InstantMs, tank: TankState): void;
  /** Writes the drivers' own states, after a start of the hub. */
  announce(tank: TankState): void;
};

export function createDrivers(core: HubCore, startAt: InstantMs): Drivers {
  const active = new Map<string, boolean>();
  let lookedAt = startAt;
  for (const { entity } of [...SCHEDULES, ...THERMOSTATS]) active.set(entity, true);
  const command = (plug: PlugKey, on: boolean): void => {
    const service = on ? 'turn_on' : 'turn_off';
    try {
      core.services.call('switch', service, { entity_id: switchOf(plug) }, {}, core.states.context());
    } catch {
      // An automation whose plug does not answer is only logged by the hub.
    }
  };
  const showAll = (tank: TankState): void => {
    for (const driver of SCHEDULES) showSchedule(core, driver, active.get(driver.entity) === true);
    for (const driver of THERMOSTATS) showThermostat(core, driver, active.get(driver.entity) === true, tank);
  };
  registerServices(core, (call, on) => {
    for (const entity of call.entities) {
      if (!active.has(entity)) continue;
      active.set(entity, on(active.get(entity) === true));
      const schedule = SCHEDULES.find((one) => one.entity === entity);
      const thermostat = THERMOSTATS.find((one) => one.entity === entity);
      if (schedule !== undefined) showSchedule(core, schedule, active.get(entity) === true, call.context);
      if (thermostat === undefined) continue;
      showThermostat(core, thermostat, active.get(entity) === true, null, call.context);
      if (active.get(entity) !== true)
        for (const { plug } of thermostat.plugs) if (isOn(core, plug)) command(plug, false);
    }
  });
  return {
    announce: showAll,
    look(at, tank) {
      const from = lookedAt;
      lookedAt = at;
      if (core.phase !== 'RUNNING') return;
      for (const schedule of SCHEDULES) {
        if (active.get(schedule.entity) !== true) continue;
        for (const edge of schedule.edges) if (passes(edge, from, at)) command(schedule.plug, edge.turn === 'on');
      }
      for (const thermostat of THERMOSTATS) {
        if (active.get(thermostat.entity) !== true) continue;
        for (const one of thermostat.plugs) regulate(core, one, tank.displayC, command);
      }
    },
  };
}

function regulate(
  core: HubCore,
  { plug, onC, offC }: Thermostat['plugs'][number],
  displayC: TemperatureC,
  command: (plug: PlugKey, on: boolean) => void,
): void {
  const on = isOn(core, plug);
  const cooling = onC > offC;
  const wanted = cooling ? displayC > (on ? offC : onC) : displayC < (on ? offC : onC);
  if (wanted !== on) command(plug, wanted);
}

const isOn = (core: HubCore, plug: PlugKey): boolean =>
  core.states.get(core.registry.nameOf(switchOf(plug)))?.state === 'on';

function passes(edge: Edge, from: InstantMs, to: InstantMs): boolean {
  const now = localTime(to);
  if (edge.weekdays !== undefined && !edge.weekdays.includes(now.weekday)) return false;
  const before = localTime(from);
  const beforeMs = before.day === now.day ? before.ofDayMs : -1;
  return beforeMs < edge.atMs && now.ofDayMs >= edge.atMs;
}

function registerServices(core: HubCore, turn: (call: ServiceCall, on: (was: boolean) => boolean) => void): void {
  for (const domain of ['automation', 'climate']) {
    core.services.register(domain, 'turn_on', (call) => turn(call, () => true));
    core.services.register(domain, 'turn_off', (call) => turn(call, () => false));
    core.services.register(domain, 'toggle', (call) => turn(call, (was) => !was));
  }
  core.services.register('climate', 'set_hvac_mode', (call) => turn(call, () => call.data['hvac_mode'] !== 'off'));
}

function showSchedule(core: HubCore, { entity, name }: Schedule, on: boolean, context = core.states.context()): void {
  core.states.set(entity, on ? 'on' : 'off', { friendly_name: name, mode: 'single', current: 0 }, context);
}

function showThermostat(
  core: HubCore,
  { entity, name, plugs }: Thermostat,
  on: boolean,
  tank: TankState | null,
  context = core.states.context(),
): void {
  const mode = plugs.some(({ onC, offC }) => onC > offC) ? 'cool' : 'heat';
  const known = core.states.get(entity)?.attributes['current_temperature'];
  const current = tank === null ? known : Math.round(tank.displayC * 10) / 10;
  const attributes = {
    friendly_name: name,
    hvac_modes: [mode, 'off'],
    temperature: plugs[0]?.offC,
    current_temperature: current,
  };
  core.states.set(entity, on ? mode : 'off', attributes, context);
}
