import { stringify } from 'yaml';
import type { HubClient } from './hub-client.ts';
import { hubYaml } from './hub-config.ts';
import { callService } from './hub-talk.ts';

/**
 * What a plug does wrong. Set at run time with `setFault`, since a test wants a healthy plug first.
 * - none: switches and reports at once, and the watts follow.
 * - echo-off-keeps-watts: says off although its contact is welded: the watts stay.
 * - refuses: takes the command without complaint and does nothing.
 * - fails: the hub answers the call with an error and nothing happens.
 * - late: switches and reports only after the plug's `lateS` seconds.
 * - watts-frozen: switches, but its power reading stays what it was when the fault began.
 * - unavailable: the hub lost it; neither state nor watts are known.
 */
export type PlugFault = 'none' | 'echo-off-keeps-watts' | 'refuses' | 'fails' | 'late' | 'watts-frozen' | 'unavailable';

const faults: readonly PlugFault[] = [
  'none',
  'echo-off-keeps-watts',
  'refuses',
  'fails',
  'late',
  'watts-frozen',
  'unavailable',
];

export type PlugSpec = {
  /** Makes switch.<id> and sensor.<id>_power. Lower-case letters, digits, underscores. */
  readonly id: string;
  readonly name: string;
  /** Drawn while on. */
  readonly watts: number;
  /** Drawn while off, as an electronic supply does. */
  readonly idleWatts?: number;
  /** Whether it is on when the test begins; on unless said. */
  readonly on?: boolean;
  readonly fault?: PlugFault;
  readonly lateS?: number;
};

/** A reading that the test sets: litres, level, temperature. Makes sensor.<id>. */
export type SensorSpec = {
  readonly id: string;
  readonly name: string;
  readonly unit: string;
  readonly value: number;
  readonly deviceClass?: string;
  readonly stateClass?: 'measurement' | 'total' | 'total_increasing';
  readonly step?: number;
  /** Added to the set value while that plug's relay is off: water that runs back when a pump stops. */
  readonly risesWhenOff?: { readonly plug: string; readonly by: number };
};

/** A float or leak sensor. Makes binary_sensor.<id>. */
export type FloatSpec = {
  readonly id: string;
  readonly name: string;
  readonly on?: boolean;
  readonly deviceClass?: string;
};

export type TestHome = {
  readonly plugs?: readonly PlugSpec[];
  readonly sensors?: readonly SensorSpec[];
  readonly floats?: readonly FloatSpec[];
};

type Yaml = Record<string, unknown>;

const relay = (id: string): string => `input_boolean.${id}_relay`;
const said = (id: string): string => `input_boolean.${id}_said`;
const fault = (id: string): string => `input_select.${id}_fault`;
const watts = (id: string): string => `input_number.${id}_watts`;
const setting = (id: string): string => `input_number.${id}_set`;
const floatSetting = (id: string): string => `input_boolean.${id}_set`;

/** The plug's answer to a command, by its present fault. `relay` is its contact, `said` what it tells the hub. */
function commandActions(id: string, to: 'on' | 'off'): Yaml[] {
  const switchHelpers = (...entities: string[]): Yaml => ({
    action: `input_boolean.turn_${to}`,
    target: { entity_id: entities },
  });
  const when = (name: PlugFault, sequence: Yaml[]): Yaml => ({
    conditions: [{ condition: 'state', entity_id: fault(id), state: name }],
    sequence,
  });
  const welded = to === 'off' ? [said(id)] : [said(id), relay(id)];
  return [
    {
      choose: [
        when('refuses', []),
        when('unavailable', []),
        when('fails', [{ action: 'test_plug.does_not_answer' }]),
        when('echo-off-keeps-watts', [switchHelpers(...welded)]),
        // script.turn_on does not wait: the call returns at once and the plug follows later.
        when('late', [
          {
            action: 'script.turn_on',
            target: { entity_id: `script.${id}_late` },
            data: { variables: { to } },
          },
        ]),
      ],
      default: [switchHelpers(relay(id), said(id))],
    },
  ];
}

function plugEntities({ id, idleWatts = 0 }: PlugSpec): { readonly switch: Yaml; readonly sensor: Yaml } {
  const live = `(states('${watts(id)}') if is_state('${relay(id)}', 'on') else ${idleWatts})`;
  const known = `{{ has_value('${said(id)}') and not is_state('${fault(id)}', 'unavailable') }}`;
  return {
    // The name gives the entity id; what people read is set by customize.
    switch: {
      name: id,
      unique_id: `test_${id}`,
      state: `{{ is_state('${said(id)}', 'on') }}`,
      availability: known,
      turn_on: commandActions(id, 'on'),
      turn_off: commandActions(id, 'off'),
    },
    sensor: {
      name: `${id}_power`,
      unique_id: `test_${id}_power`,
      state: `{{ this.state if is_state('${fault(id)}', 'watts-frozen') else ${live} }}`,
      availability: known,
      unit_of_measurement: 'W',
      device_class: 'power',
      state_class: 'measurement',
    },
  };
}

function lateScript({ id, lateS = 5 }: PlugSpec): Yaml {
  return {
    mode: 'restart',
    sequence: [
      { delay: { seconds: lateS } },
      { action: 'input_boolean.turn_{{ to }}', target: { entity_id: [relay(id), said(id)] } },
    ],
  };
}

function sensorEntity(spec: SensorSpec): Yaml {
  const { id, unit, deviceClass, stateClass = 'measurement', risesWhenOff: rise } = spec;
  const set = `states('${setting(id)}') | float`;
  const value = rise === undefined ? set : `${set} + (0 if is_state('${relay(rise.plug)}', 'on') else ${rise.by})`;
  return {
    name: id,
    unique_id: `test_${id}`,
    state: `{{ (${value}) | round(3) }}`,
    availability: `{{ has_value('${setting(id)}') }}`,
    unit_of_measurement: unit,
    state_class: stateClass,
    ...(deviceClass === undefined ? {} : { device_class: deviceClass }),
  };
}

function floatEntity({ id, deviceClass }: FloatSpec): Yaml {
  return {
    name: id,
    unique_id: `test_${id}`,
    state: `{{ is_state('${floatSetting(id)}', 'on') }}`,
    availability: `{{ has_value('${floatSetting(id)}') }}`,
    ...(deviceClass === undefined ? {} : { device_class: deviceClass }),
  };
}

const wide = { min: -1_000_000_000, max: 1_000_000_000, mode: 'box' };

/** Options for `startRealHub` that make the home: one package of YAML and the states its helpers wake up with. */
export function testHome(home: TestHome): {
  readonly packages: Readonly<Record<string, string>>;
  readonly remembered: Readonly<Record<string, string>>;
} {
  const { plugs = [], sensors = [], floats = [] } = home;
  const entities = plugs.map(plugEntities);
  // Null, not {}: the hub leaves out a package's empty maps.
  const bare = (ids: string[], value: Yaml | null = null): Yaml => Object.fromEntries(ids.map((id) => [id, value]));
  const plugIds = plugs.map(({ id }) => id);
  const nameIt = (entity: string, name: string): [string, Yaml] => [entity, { friendly_name: name }];
  const yaml = {
    homeassistant: {
      customize: Object.fromEntries([
        ...plugs.map(({ id, name }) => nameIt(`switch.${id}`, name)),
        ...plugs.map(({ id, name }) => nameIt(`sensor.${id}_power`, `${name} power`)),
        ...sensors.map(({ id, name }) => nameIt(`sensor.${id}`, name)),
        ...floats.map(({ id, name }) => nameIt(`binary_sensor.${id}`, name)),
      ]),
    },
    input_boolean: bare([
      ...plugIds.flatMap((id) => [`${id}_relay`, `${id}_said`]),
      ...floats.map(({ id }) => `${id}_set`),
    ]),
    input_select: bare(
      plugIds.map((id) => `${id}_fault`),
      { options: [...faults] },
    ),
    input_number: {
      ...bare(
        plugIds.map((id) => `${id}_watts`),
        { ...wide, step: 0.001 },
      ),
      ...Object.fromEntries(sensors.map(({ id, step = 0.001 }) => [`${id}_set`, { ...wide, step }])),
    },
    script: Object.fromEntries(plugs.map((plug) => [`${plug.id}_late`, lateScript(plug)])),
    template: [
      ...(plugs.length > 0 ? [{ switch: entities.map((entity) => entity.switch) }] : []),
      ...(plugs.length + sensors.length > 0
        ? [{ sensor: [...entities.map((entity) => entity.sensor), ...sensors.map(sensorEntity)] }]
        : []),
      ...(floats.length > 0 ? [{ binary_sensor: floats.map(floatEntity) }] : []),
    ],
  };
  const onOff = (on: boolean): string => (on ? 'on' : 'off');
  const remembered = Object.fromEntries([
    ...plugs.flatMap((plug) => [
      [relay(plug.id), onOff(plug.on ?? true)],
      [said(plug.id), onOff(plug.on ?? true)],
      [fault(plug.id), plug.fault ?? 'none'],
      [watts(plug.id), String(plug.watts)],
    ]),
    ...sensors.map(({ id, value }) => [setting(id), String(value)]),
    ...floats.map(({ id, on = false }) => [floatSetting(id), onOff(on)]),
  ]);
  return { packages: { test_home: stringify(yaml, hubYaml) }, remembered };
}

export async function setFault(hub: HubClient, plug: string, name: PlugFault): Promise<void> {
  await callService(hub, 'input_select.select_option', fault(plug), { option: name });
}

/** The watts the equipment would draw while on: a clogged pump, a dead lamp. */
export async function setPlugWatts(hub: HubClient, plug: string, value: number): Promise<void> {
  await callService(hub, 'input_number.set_value', watts(plug), { value });
}

export async function setSensor(hub: HubClient, sensor: string, value: number): Promise<void> {
  await callService(hub, 'input_number.set_value', setting(sensor), { value });
}

export async function setFloat(hub: HubClient, float: string, on: boolean): Promise<void> {
  await callService(hub, `input_boolean.turn_${on ? 'on' : 'off'}`, floatSetting(float));
}

/** Somebody presses the button on the plug itself: no command passes through the hub's switch. */
export async function pressPlugItself(hub: HubClient, plug: string, on: boolean): Promise<void> {
  await callService(hub, `input_boolean.turn_${on ? 'on' : 'off'}`, [relay(plug), said(plug)]);
}
