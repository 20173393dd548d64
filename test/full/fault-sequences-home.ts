// The home of the fault sequences: one entity a sequence in the hub, the hub's own helpers on it, and our counter on it.
import { stringify } from 'yaml';
import { hubYaml } from '../support/hub-config.ts';
import type { RealHubOptions } from '../support/index.ts';
import type { Sequence } from './fault-sequences-script.ts';
import {
  createDevice,
  type Kind,
  LITRES_PER_PULSE,
  RESTS_BELOW_W,
  RUNS_ABOVE_W,
  SHORTEST_REST_MS,
  SHORTEST_RUN_MS,
  TANK_MINUTE_MS,
} from './fault-sequences-world.ts';

/** A switch at rest that is flicked now and then: once both have counted it, they have counted everything before it. */
export const FENCE = 'fence';

type Yaml = Record<string, unknown>;

/** What the device of a sequence last told the hub. These words stand for states that are no text. */
export const said = (id: string): string => `input_text.${id}_said`;
export const WORDS = { unavailable: 'device lost', unknown: 'nothing known' } as const;

export const entityOf = ({ id, kind }: Pick<Sequence, 'id' | 'kind'>): string =>
  kind === 'switch' ? `binary_sensor.${id}` : `sensor.${id}`;

const isCounted = (kind: Kind): boolean => kind === 'meter' || kind === 'pulses' || kind === 'daily';

/** Fields of a template entity; `unique_id` lets it be renamed, and the name gives its first entity id. */
function templateOf({ id, kind }: Pick<Sequence, 'id' | 'kind'>): Yaml {
  const text = `states('${said(id)}')`;
  const value = kind === 'switch' ? `${text} == 'on'` : text;
  // Nothing is false to a binary sensor; only a template that fails makes it unknown.
  const unknown = kind === 'switch' ? `${text} | int` : 'none';
  const unit = kind === 'pulses' ? 'pulses' : isCounted(kind) ? 'L' : 'W';
  return {
    name: id,
    unique_id: `fault_${id}`,
    state: `{{ ${unknown} if ${text} == '${WORDS.unknown}' else ${value} }}`,
    availability: `{{ has_value('${said(id)}') and ${text} != '${WORDS.unavailable}' }}`,
    ...(kind === 'switch' ? {} : { unit_of_measurement: unit }),
    ...(kind === 'switch' ? {} : { state_class: isCounted(kind) ? 'total_increasing' : 'measurement' }),
  };
}

/** Where the helper's figure is read: its entity, the number of the tank in one of the helper's, and a part kept in an attribute. */
export type HelperReading = {
  readonly measure: string;
  readonly helper: string;
  readonly entity: string;
  readonly factor: number;
  readonly plus?: string;
};

export function helperReadings({ id, kind }: Pick<Sequence, 'id' | 'kind'>): readonly HelperReading[] {
  const minutesPerHour = 3_600_000 / TANK_MINUTE_MS;
  if (kind === 'switch' || kind === 'watts') {
    return [
      { measure: 'minutes', helper: 'history_stats, time', entity: `sensor.${id}_time`, factor: minutesPerHour },
      { measure: 'starts', helper: 'history_stats, count', entity: `sensor.${id}_count`, factor: 1 },
    ];
  }
  if (kind === 'energy') {
    // In watt-seconds; a tank-minute is a second, and sixty watt-minutes are a watt-hour.
    return [{ measure: 'wattHours', helper: 'integration, left', entity: `sensor.${id}_integral`, factor: 1 / 60 }];
  }
  const factor = kind === 'pulses' ? LITRES_PER_PULSE : 1;
  const meter = { measure: 'litres', entity: `sensor.${id}_meter`, factor };
  return kind === 'daily'
    ? [{ ...meter, helper: 'utility_meter, daily', plus: 'last_period' }]
    : [{ ...meter, helper: 'utility_meter' }];
}

function historyStats(id: string, source: string, startS: number): Yaml[] {
  const common = { platform: 'history_stats', entity_id: source, state: 'on' };
  // With a unique id the helper does not round to hundredths of an hour, which would be 36 tank-minutes.
  const window = { start: `{{ as_datetime(${startS}) }}`, end: '{{ now() }}' };
  return [
    { ...common, name: `${id} time`, unique_id: `${id}_time`, type: 'time', ...window },
    { ...common, name: `${id} count`, unique_id: `${id}_count`, type: 'count', ...window },
  ];
}

export function homeOptions(sequences: readonly Sequence[]): RealHubOptions {
  const all = [...sequences, { id: FENCE, kind: 'switch' as Kind, reading: 0 }];
  const of = (...kinds: readonly Kind[]) => all.filter(({ kind }) => kinds.includes(kind));
  const startS = Math.floor(Date.now() / 1000) - 60;
  const switches = of('switch');
  const integrals = of('energy').map(({ id }) => ({
    platform: 'integration',
    source: `sensor.${id}`,
    name: `${id} integral`,
    unique_id: `${id}_integral`,
    method: 'left',
    unit_time: 's',
  }));
  const stats = [
    ...switches.flatMap(({ id }) => historyStats(id, `binary_sensor.${id}`, startS)),
    ...of('watts').flatMap(({ id }) => historyStats(id, `binary_sensor.${id}_runs`, startS)),
  ];
  const thresholds = of('watts').map(({ id }) => ({
    platform: 'threshold',
    entity_id: `sensor.${id}`,
    name: `${id} runs`,
    upper: (RUNS_ABOVE_W + RESTS_BELOW_W) / 2,
    hysteresis: (RUNS_ABOVE_W - RESTS_BELOW_W) / 2,
  }));
  const meters = of('meter', 'pulses', 'daily').map(({ id, kind }) => [
    `${id}_meter`,
    { source: `sensor.${id}`, unique_id: `${id}_meter`, ...(kind === 'daily' ? { cycle: 'daily' } : {}) },
  ]);
  const yaml = {
    input_text: Object.fromEntries(all.map(({ id }) => [`${id}_said`, { max: 100 }])),
    template: [
      { binary_sensor: switches.map(templateOf) },
      { sensor: all.filter(({ kind }) => kind !== 'switch').map(templateOf) },
    ],
    sensor: [...stats, ...integrals],
    binary_sensor: thresholds,
    utility_meter: Object.fromEntries(meters),
  };
  return {
    packages: { faults: stringify(yaml, hubYaml) },
    remembered: Object.fromEntries(all.map(({ id, kind, reading }) => [said(id), createDevice(kind, reading).says()])),
  };
}

const seconds = (ms: number): string => `${ms / 1000} s`;
/** At full scale two litres a tank-minute, and watts as of a small pump. */
const MOST_LITRES_PER_HOUR = (2 * 3_600_000) / TANK_MINUTE_MS;
const MOST_WATTS = 150;
const HOLD_MINUTES = 10;

function counterOf({ id, kind, holdMinutes = HOLD_MINUTES }: Pick<Sequence, 'id' | 'kind' | 'holdMinutes'>): Yaml {
  const entity = entityOf({ id, kind });
  switch (kind) {
    case 'switch':
      return { onState: { entity } };
    case 'watts':
      return {
        powerThreshold: {
          entity,
          onAbove: `${RUNS_ABOVE_W} W`,
          offBelow: `${RESTS_BELOW_W} W`,
          minOn: seconds(SHORTEST_RUN_MS),
          minOff: seconds(SHORTEST_REST_MS),
        },
      };
    case 'energy':
      return { heldPower: { entity, maxHold: seconds(holdMinutes * TANK_MINUTE_MS), maxPower: `${MOST_WATTS} W` } };
    case 'pulses':
      return { pulses: { entity, each: `${LITRES_PER_PULSE} L` } };
    default:
      return { total: { entity, unit: 'L', maxPerHour: `${MOST_LITRES_PER_HOUR} L` } };
  }
}

/** Our measures by those of the script, with how many of the script's are in one of ours. */
export function ourMeasures(
  kind: Kind,
): Readonly<Record<string, { readonly measure: string; readonly factor: number }>> {
  const scale = 3_600_000 / TANK_MINUTE_MS;
  if (kind === 'switch' || kind === 'watts') {
    return { minutes: { measure: 'on-hours', factor: scale }, starts: { measure: 'starts', factor: 1 } };
  }
  // A kilowatt-hour of real time, told in watt-hours of the tank's.
  if (kind === 'energy') return { wattHours: { measure: 'energy', factor: (1000 * scale) / 60 } };
  return { litres: { measure: 'litres', factor: 1 } };
}

const LIMITS: Yaml = { 'on-hours': '9,000 h', starts: '90,000 starts', litres: '90,000 L', energy: '900 kWh' };
const NOTHING: Yaml = { 'on-hours': '0 h', starts: '0 starts', litres: '0 L', energy: '0 kWh' };

export function configOf(sequences: readonly Sequence[], hubUrl: string, apiPort: number): object {
  const all = [...sequences, { id: FENCE, kind: 'switch' as Kind }];
  const yesterday = new Date(Date.now() - 86_400_000).toISOString().slice(0, 10);
  const parts = all.map(({ id, kind }) => {
    const measures = Object.values(ourMeasures(kind)).map(({ measure }) => measure);
    const pick = (table: Yaml): Yaml => Object.fromEntries(measures.map((measure) => [measure, table[measure]]));
    const counts = Object.fromEntries(measures.map((measure) => [measure, id]));
    return [id, { kind: 'water-meters', fitted: yesterday, used: pick(NOTHING), limits: pick(LIMITS), counts }];
  });
  return {
    tank: { name: 'Fault sequences', zone: 'Europe/London', volume: '300 L' },
    hub: { url: hubUrl, token: { file: 'hub-token' } },
    equipment: {},
    counters: Object.fromEntries(all.map((one) => [one.id, counterOf(one)])),
    parts: Object.fromEntries(parts),
    people: { robin: { name: 'Robin' } },
    access: {},
    store: 'slackwater.db',
    api: { host: '127.0.0.1', port: apiPort },
  };
}
