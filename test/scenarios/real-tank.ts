// The small tank of the scenarios on the real hub: its devices as they live in the hub, and its slackwater.yaml.
import { stringify } from 'yaml';
import { hubYaml } from '../support/hub-config.ts';
import type { RealHubOptions, TestHome } from '../support/index.ts';
import { testHome } from '../support/index.ts';

/** Watts while on. The top-off idles: its own controller lets it pump now and then. */
export const WATTS = {
  return_a: 40,
  return_b: 38,
  circulation_left: 14,
  circulation_right: 15,
  skimmer: 21,
  heater: 150,
  top_off: 0.3,
  lamp_bank: 86,
} as const;

export type Plug = keyof typeof WATTS;
export const PLUGS = Object.keys(WATTS) as readonly Plug[];

const NAMES: Readonly<Record<Plug, string>> = {
  return_a: 'Return pump A',
  return_b: 'Return pump B',
  circulation_left: 'Circulation left',
  circulation_right: 'Circulation right',
  skimmer: 'Skimmer',
  heater: 'Heater',
  top_off: 'Top-off',
  lamp_bank: 'Lamp bank',
};

/** The sump stands at 20 cm and rises by this when the last return pump stops. */
export const RISE_CM = 6.5;

const TANK: TestHome = {
  plugs: PLUGS.map((id) => ({ id, name: NAMES[id], watts: WATTS[id], on: id !== 'lamp_bank' })),
  sensors: [
    { id: 'sump_level', name: 'Sump level', unit: 'cm', value: 20, risesWhenOff: { plug: 'return_b', by: RISE_CM } },
    { id: 'display_temperature', name: 'Display temperature', unit: '°C', value: 25.2 },
    { id: 'sump_temperature', name: 'Sump temperature', unit: '°C', value: 25.4 },
  ],
  floats: [
    { id: 'sump_high', name: 'Sump high', deviceClass: 'problem' },
    { id: 'leak_cabinet', name: 'Leak in the cabinet', deviceClass: 'moisture' },
  ],
};

export const THERMOSTAT = 'automation.heater_thermostat';
/** The hub's own kind of thermostat. */
export const CLIMATE = 'climate.heater_thermostat';

export type Thermostat = typeof THERMOSTAT | typeof CLIMATE;

/** Below its set point all the time, so it would switch the heater on again within a second if nobody suspended it. */
const drivers: Readonly<Record<Thermostat, object>> = {
  [THERMOSTAT]: {
    automation: [
      {
        id: 'heater_thermostat',
        alias: 'Heater thermostat',
        triggers: [{ trigger: 'time_pattern', seconds: '/1' }],
        conditions: [
          { condition: 'numeric_state', entity_id: 'sensor.display_temperature', below: 25.5 },
          { condition: 'state', entity_id: 'switch.heater', state: 'off' },
        ],
        actions: [{ action: 'switch.turn_on', target: { entity_id: 'switch.heater' } }],
      },
    ],
  },
  [CLIMATE]: {
    climate: [
      {
        platform: 'generic_thermostat',
        name: 'Heater thermostat',
        heater: 'switch.heater',
        target_sensor: 'sensor.display_temperature',
        target_temp: 25.5,
        cold_tolerance: 0.1,
        hot_tolerance: 0.1,
        initial_hvac_mode: 'heat',
        // Tells the heater again every second what it should be.
        keep_alive: { seconds: 1 },
      },
    ],
  },
};

export function homeOptions(thermostat: Thermostat = THERMOSTAT): RealHubOptions {
  const { packages, remembered } = testHome(TANK);
  const automations = { input_boolean: { lamp_schedule: null }, ...drivers[thermostat] };
  return {
    timeZone: 'Europe/London',
    packages: { ...packages, automations: stringify(automations, hubYaml) },
    remembered: { ...remembered, 'input_boolean.lamp_schedule': 'on' },
  };
}

export type TankSetting = {
  readonly hubUrl: string;
  readonly apiPort: number;
  /** The hub's user ids. */
  readonly robin: string;
  readonly sam: string;
  readonly notify: readonly string[];
  /** On-time on the lamp's tubes when counting begins; they are due at 3,600 h. */
  readonly tubesUsed: string;
  /** Other parts that have been in use for months, as on most tanks that a service is installed on. */
  readonly worn: boolean;
  readonly thermostat?: Thermostat;
};

const plug = (id: Plug, role: string, driver: unknown, more: object = {}): object => ({
  name: NAMES[id],
  role,
  driver,
  switch: `switch.${id}`,
  power: `sensor.${id}_power`,
  normalPower: `${WATTS[id]} W`,
  // Real reports of a busy machine seem thirty times as slow to an engine whose clock runs that much faster.
  switchDelay: '60 s',
  ...more,
});

/** slackwater.yaml as a keeper would write it; waits at the short end of their safe ranges. */
export function configOf(setting: TankSetting): object {
  // Swedish dates are written as a configuration wants them.
  const day = (ago: number): string =>
    new Date(Date.now() - ago * 86_400_000).toLocaleDateString('sv-SE', { timeZone: 'Europe/London' });
  const fitted = (ago: number): string => day(setting.worn ? ago : 0);
  const used = (hours: string, starts: string): object =>
    setting.worn ? { 'on-hours': hours, starts } : { 'on-hours': '0 h', starts: '0 starts' };
  return {
    tank: {
      name: 'Stairwell reef',
      zone: 'Europe/London',
      volume: '300 L',
      sump: { litresPerCm: '2 L/cm', normalLevel: '20 cm', rim: '38 cm', drainDown: '13 L' },
    },
    hub: { url: setting.hubUrl, token: { file: 'hub-token' } },
    equipment: {
      'return-a': plug('return_a', 'return-pump', 'always-on'),
      'return-b': plug('return_b', 'return-pump', 'always-on'),
      'circulation-left': plug('circulation_left', 'circulation-pump', 'always-on', { pair: 'circulation' }),
      'circulation-right': plug('circulation_right', 'circulation-pump', 'always-on', { pair: 'circulation' }),
      skimmer: plug('skimmer', 'skimmer', 'always-on'),
      heater: plug('heater', 'heater', { thermostat: setting.thermostat ?? THERMOSTAT }),
      'top-off': plug('top_off', 'top-off', 'own-controller'),
      'lamp-bank': plug('lamp_bank', 'fluorescent-bank', { schedule: 'input_boolean.lamp_schedule' }),
    },
    sensors: {
      'sump-level': { kind: 'sump-level', entity: 'sensor.sump_level' },
      'display-temperature': { kind: 'display-temperature', entity: 'sensor.display_temperature' },
      'sump-temperature': { kind: 'sump-temperature', entity: 'sensor.sump_temperature' },
      'sump-high': { kind: 'high-float', entity: 'binary_sensor.sump_high' },
      'leak-cabinet': { kind: 'leak', entity: 'binary_sensor.leak_cabinet', maxAge: '12 h' },
    },
    counters: {
      'lamp-lit': {
        powerThreshold: {
          entity: 'sensor.lamp_bank_power',
          onAbove: '40 W',
          offBelow: '10 W',
          minOn: '0 s',
          minOff: '0 s',
        },
      },
      'lamp-switched': { onState: { entity: 'switch.lamp_bank' } },
      'heater-on': { onState: { entity: 'switch.heater' } },
      'return-a-on': { onState: { entity: 'switch.return_a' } },
      'return-a-runs': {
        powerThreshold: {
          entity: 'sensor.return_a_power',
          onAbove: '10 W',
          offBelow: '3 W',
          minOn: '0 s',
          minOff: '0 s',
        },
      },
    },
    parts: {
      'lamp-tubes': {
        name: 'Lamp tubes',
        kind: 'fluorescent-tubes',
        equipment: 'lamp-bank',
        fitted: fitted(210),
        used: { 'on-hours': setting.tubesUsed, starts: '0 starts' },
        limits: { 'on-hours': '3,600 h', days: '12 mo' },
        counts: { 'on-hours': 'lamp-lit', starts: 'lamp-lit' },
      },
      'lamp-relay': {
        name: 'Lamp relay',
        kind: 'plug-relay',
        equipment: 'lamp-bank',
        fitted: fitted(430),
        used: used('6,940 h', '1,722 starts'),
        counts: { 'on-hours': 'lamp-switched', starts: 'lamp-switched' },
      },
      'return-a-relay': {
        name: 'Relay of return pump A',
        kind: 'plug-relay',
        equipment: 'return-a',
        fitted: fitted(430),
        used: used('10,231 h', '46 starts'),
        counts: { 'on-hours': 'return-a-on', starts: 'return-a-on' },
      },
      'return-a-wet-end': {
        name: 'Wet end of return pump A',
        kind: 'return-pump-wet-end',
        equipment: 'return-a',
        fitted: fitted(112),
        used: used('2,671 h', '12 starts'),
        counts: { 'on-hours': 'return-a-runs', starts: 'return-a-runs' },
      },
      'skimmer-cup': { name: 'Skimmer cup', kind: 'skimmer-neck-cup', equipment: 'skimmer', fitted: fitted(2) },
      heater: {
        name: 'Heater element',
        kind: 'heater',
        equipment: 'heater',
        fitted: fitted(395),
        used: used('2,950 h', '21,480 starts'),
        counts: { starts: 'heater-on' },
      },
    },
    people: {
      robin: { name: 'Robin', hubUser: setting.robin, deputy: 'sam' },
      sam: { name: 'Sam', hubUser: setting.sam },
    },
    access: {
      robin: { kind: 'person', tokenFile: 'secrets/robin' },
      flows: { kind: 'machine', tokenFile: 'secrets/flows' },
    },
    reminders: { notify: setting.notify },
    rules: {
      K4: { wait: '10 min' },
      K7: { wait: '30 s', foam: '60 s' },
      K8: { wait: '5 min', serviceSteady: '2 min' },
      K23: { wait: '10 min' },
      // At the long end: what people and a busy machine take is not sped up with the engine's clock.
      K20: { maxAge: '300 s' },
      K35: { answer: '60 min' },
    },
    store: 'slackwater.db',
    api: { host: '127.0.0.1', port: setting.apiPort },
  };
}
