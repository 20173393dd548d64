// The tank's sensors as the hub sees them: noise, resolution and report times over the tank's truth.
import type { DurationMs, InstantMs } from '../../units/index.ts';
import { localTime } from '../calendar.ts';
import type { HubCore } from '../hub/index.ts';
import { type Prng, prng, seedFor } from '../random.ts';
import { BARREL_L, HIGH_FLOAT_CM, ledLevel, roomC, sumpLevelCm, sumpLitres, type TankState } from '../tank/index.ts';

type SensorSpec = {
  readonly entity: string;
  readonly name: string;
  readonly everyMs: DurationMs;
  readonly unit?: string;
  readonly deviceClass?: string;
  readonly stateClass?: 'measurement' | 'total_increasing';
  read(tank: TankState, random: Prng, offset: number): string;
};

const round = (value: number, digits: number): string => value.toFixed(digits);

const temperature = (entity: string, name: string, value: (tank: TankState) => number): SensorSpec => ({
  entity,
  name,
  everyMs: 60_000,
  unit: '°C',
  deviceClass: 'temperature',
  stateClass: 'measurement',
  read: (tank, random, offset) => round(value(tank) + 0.1 * offset + 0.04 * random.gaussian(), 1),
});

const flag = (entity: string, name: string, deviceClass: string, on: (tank: TankState) => boolean): SensorSpec => ({
  entity,
  name,
  everyMs: 1_000,
  deviceClass,
  read: (tank) => (on(tank) ? 'on' : 'off'),
});

const BUBBLE_SHARE = 0.01;
const BUBBLE_CM = 2;

/** Totals go on from what the recorded past ended with. */
export type MeterStart = { readonly feedL: number; readonly productL: number };

export function sensorSpecs(meters: MeterStart): readonly SensorSpec[] {
  return [
    temperature('sensor.display_temperature', 'Display temperature', (tank) => tank.displayC),
    temperature('sensor.sump_temperature', 'Sump temperature', (tank) => tank.sumpC),
    temperature('sensor.barrel_temperature', 'Barrel temperature', (tank) => tank.barrelC),
    temperature('sensor.room_temperature', 'Room temperature', (tank) => roomC(tank.at)),
    {
      entity: 'sensor.sump_level',
      name: 'Sump level',
      everyMs: 5_000,
      unit: 'cm',
      deviceClass: 'distance',
      stateClass: 'measurement',
      read: (tank, random) => {
        const bubble = random.next() < BUBBLE_SHARE ? BUBBLE_CM : 0;
        return round(sumpLevelCm(sumpLitres(tank)) + 0.15 * random.gaussian() + bubble, 1);
      },
    },
    litres('sensor.feed_litres', 'RO feed water', (tank) => meters.feedL + tank.totals.feedL),
    litres('sensor.product_litres', 'RO product water', (tank) => meters.productL + tank.totals.productL),
    plain('sensor.salinity', 'Salinity', 'ppt', 120_000, (tank, random) =>
      round(tank.salinityPpt + 0.1 * random.gaussian(), 1),
    ),
    plain('sensor.ph', 'pH', 'pH', 120_000, (tank, random) => round(phOf(tank.at) + 0.02 * random.gaussian(), 2)),
    plain('sensor.feed_tds', 'Feed water TDS', 'mg/L', 300_000, (_, random) => round(320 + 12 * random.gaussian(), 0)),
    plain('sensor.ro_tds', 'TDS before resin', 'mg/L', 300_000, (_, random) => round(9.6 + 0.4 * random.gaussian(), 0)),
    plain('sensor.product_tds', 'TDS after resin', 'mg/L', 300_000, () => '0'),
    plain('sensor.lux', 'Light above the tank', 'lx', 30_000, (tank, random) =>
      round(luxOf(tank) * (1 + 0.03 * random.gaussian()), 0),
    ),
    flag('binary_sensor.low_float', 'Low float', 'problem', (tank) => tank.topOffDemand),
    flag('binary_sensor.high_float', 'High float', 'problem', (tank) => sumpLevelCm(sumpLitres(tank)) > HIGH_FLOAT_CM),
    flag('binary_sensor.store_low_float', 'Top-off store low', 'problem', (tank) => tank.storeL < 5),
    flag('binary_sensor.barrel_high_float', 'Barrel full', 'problem', (tank) => tank.barrelL > BARREL_L - 0.5),
    ...['cabinet', 'behind_display', 'ro_area', 'mixing', 'doser_tray'].map((place) =>
      flag(`binary_sensor.leak_${place}`, `Leak ${place.replaceAll('_', ' ')}`, 'moisture', () => false),
    ),
    flag('binary_sensor.cabinet_door', 'Cabinet door', 'door', () => false),
  ];
}

function litres(entity: string, name: string, value: (tank: TankState) => number): SensorSpec {
  return {
    entity,
    name,
    everyMs: 10_000,
    unit: 'L',
    deviceClass: 'water',
    stateClass: 'total_increasing',
    // The meter counts in pulses of 0.1 L.
    read: (tank) => round(Math.floor(value(tank) * 10 + 1e-6) / 10, 1),
  };
}

function plain(
  entity: string,
  name: string,
  unit: string,
  everyMs: DurationMs,
  read: (tank: TankState, random: Prng) => string,
): SensorSpec {
  return { entity, name, everyMs, unit, stateClass: 'measurement', read };
}

/** Lowest before the lamps come on, highest in the evening. */
function phOf(at: InstantMs): number {
  const hour = localTime(at).ofDayMs / 3_600_000;
  return 8.175 + 0.125 * Math.sin((2 * Math.PI * (hour - 12)) / 24);
}

function luxOf({ devices, at }: TankState): number {
  const tubes = (devices.lamp_bank_1.powerW + devices.lamp_bank_2.powerW) * 55;
  return 40 + tubes + (devices.led_strip.powerW > 1 ? 6_000 * ledLevel(at) : 0);
}

export type Sensors = {
  /** Reports what is due. */
  look(at: InstantMs, tank: TankState): void;
  refresh(entities: readonly string[], tank: TankState): void;
  announce(tank: TankState): void;
  entities(): readonly string[];
};

export function createSensors(core: HubCore, seed: number, meters: MeterStart): Sensors {
  const sensors = sensorSpecs(meters).map((spec) => {
    const random = prng(seedFor(seed, spec.entity));
    return { spec, random, offset: random.between(-2, 2), nextAt: 0, attributes: attributesOf(spec) };
  });
  type Sensor = (typeof sensors)[number];
  const report = ({ spec, random, offset, attributes }: Sensor, tank: TankState): void => {
    if (core.phase !== 'RUNNING') return;
    core.states.set(core.registry.nameOf(spec.entity), spec.read(tank, random, offset), attributes);
  };
  return {
    look(at, tank) {
      for (const sensor of sensors) {
        if (at < sensor.nextAt) continue;
        sensor.nextAt = at + sensor.spec.everyMs;
        report(sensor, tank);
      }
    },
    refresh(entities, tank) {
      for (const sensor of sensors) if (entities.includes(sensor.spec.entity)) report(sensor, tank);
    },
    announce(tank) {
      for (const sensor of sensors) report(sensor, tank);
    },
    entities: () => sensors.map(({ spec }) => spec.entity),
  };
}

function attributesOf({ name, unit, deviceClass, stateClass }: SensorSpec): Readonly<Record<string, unknown>> {
  return {
    friendly_name: name,
    ...(unit === undefined ? {} : { unit_of_measurement: unit }),
    ...(deviceClass === undefined ? {} : { device_class: deviceClass }),
    ...(stateClass === undefined ? {} : { state_class: stateClass }),
  };
}

const ATTRIBUTES = new Map(sensorSpecs({ feedL: 0, productL: 0 }).map((spec) => [spec.entity, attributesOf(spec)]));

export function sensorAttributes(entity: string): Readonly<Record<string, unknown>> | undefined {
  return ATTRIBUTES.get(entity);
}
