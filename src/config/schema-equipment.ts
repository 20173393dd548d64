import { z } from 'zod';
import { ROLE_IDS, SENSOR_KINDS } from '../model/index.ts';
import { day, duration, entity, oneOf, quantity, text, volumeOrEnergy, wholeNumber, yesNo } from './leaves.ts';
import { HELP } from './meta.ts';
import { DRIVER_DOMAINS, explainDriver } from './slips.ts';

/** What hangs on the tank: equipment, sensors, counters, parts. */

const SWITCHES = ['switch', 'light', 'fan', 'input_boolean'];
const NUMBERS = ['sensor', 'number', 'input_number'];

const driver = z
  .union([
    z.enum(['always-on', 'own-controller']),
    z.strictObject({ schedule: entity('Entity to suspend.', 'automation.lamps', DRIVER_DOMAINS) }),
    z.strictObject({ thermostat: entity('Entity to suspend.', 'climate.display', DRIVER_DOMAINS) }),
  ])
  .register(HELP, {
    description:
      'Who decides when it is on. A schedule or thermostat names the hub entity that a session suspends and resumes; `own-controller` is a device that decides by itself.',
    expected: 'always-on, own-controller, { schedule: entity } or { thermostat: entity }',
    examples: ['driver: { thermostat: climate.display }'],
    explain: explainDriver,
  });

export const equipment = z.strictObject({
  name: text('Name shown to people. Left out: the id.', 'Return pump').optional(),
  role: oneOf(ROLE_IDS, 'role', 'What it is in the tank; the rules follow from it.'),
  driver,
  switch: entity(
    'Switch of its plug. Without one a person switches and looks.',
    'switch.return_pump',
    SWITCHES,
  ).optional(),
  power: entity(
    'Power reading of its plug. Without one nothing but the relay’s own report tells that it is off.',
    'sensor.return_pump_power',
    NUMBERS,
  ).optional(),
  normalPower: quantity(
    'power',
    'Watts while it runs steadily. Left out: not learned yet.',
    { above: 0, max: 10_000 },
    '48 W',
  ).optional(),
  cycling: yesNo(
    'Draws watts only now and then while on, so zero watts prove nothing. Left out: as its role.',
  ).optional(),
  inSump: yesNo('Stands in the sump. Left out: true for heaters and skimmers.').optional(),
  pair: text('Names the group of equipment that can stand in for one another.', 'heaters').optional(),
  switchDelay: duration('Slowest report of this plug after a command.', { min: 0, max: 300_000 }, '5 s').prefault(
    '5 s',
  ),
});

export const sensor = z.strictObject({
  name: text('Name shown to people. Left out: the id.', 'Sump level').optional(),
  kind: oneOf(SENSOR_KINDS, 'kind of sensor', 'What it tells.'),
  entity: entity('Its entity in the hub.', 'sensor.sump_level', [...NUMBERS, 'binary_sensor', 'input_boolean']),
  maxAge: duration('A reading older than this is unknown.', { min: 1_000, max: 86_400_000 }, '120 s').prefault('120 s'),
});

export const counter = z.strictObject({
  name: text('Name shown to people. Left out: the id.', 'Lamp hours').optional(),
  onState: z
    .strictObject({ entity: entity('Entity that is on or off.', 'switch.heater', []) })
    .register(HELP, {
      description: 'On-hours and starts from an entity that says on or off.',
      expected: 'a group of keys',
      examples: ['onState: { entity: switch.heater }'],
    })
    .optional(),
  powerThreshold: z
    .strictObject({
      entity: entity('Power reading.', 'sensor.lamp_power', NUMBERS),
      onAbove: quantity('power', 'On when above.', { above: 0 }, '60 W'),
      offBelow: quantity(
        'power',
        'Off when below; lower than `onAbove`, so that a reading between the two changes nothing.',
        { above: 0 },
        '20 W',
      ),
      minOn: duration('Shorter peaks are no start.', { min: 0, max: 3_600_000 }, '30 s').prefault('30 s'),
      minOff: duration('Shorter dips are no stop.', { min: 0, max: 3_600_000 }, '30 s').prefault('30 s'),
    })
    .register(HELP, {
      description: 'On-hours and starts from watts: the proof that it ran.',
      expected: 'a group of keys',
      examples: ['powerThreshold: { entity: sensor.lamp_power, onAbove: 60 W, offBelow: 20 W }'],
    })
    .optional(),
  total: z
    .strictObject({
      entity: entity('Meter that only rises, apart from resets.', 'sensor.feed_litres', NUMBERS),
      unit: oneOf(['L', 'ml', 'm³', 'gal', 'UK gal', 'Wh', 'kWh'], 'unit of a meter', 'Unit in which the meter reads.'),
      maxPerHour: volumeOrEnergy('More than this in an hour is not believed.', '200 L'),
    })
    .register(HELP, {
      description: 'Litres or energy from a meter that keeps a total.',
      expected: 'a group of keys',
      examples: ['total: { entity: sensor.feed_litres, unit: L, maxPerHour: 200 L }'],
    })
    .optional(),
  pulses: z
    .strictObject({
      entity: entity('Entity that counts pulses.', 'sensor.product_pulses', NUMBERS),
      each: quantity('volume', 'Water for each pulse.', { above: 0 }, '0.1 L'),
    })
    .register(HELP, {
      description: 'Litres from counted pulses.',
      expected: 'a group of keys',
      examples: ['pulses: { entity: sensor.product_pulses, each: 0.1 L }'],
    })
    .optional(),
  runtimeRate: z
    .strictObject({
      entity: entity('Entity that is on or off.', 'switch.ro_unit', []),
      rate: quantity('flow', 'Flow while it is on.', { above: 0 }, '12 L/h'),
    })
    .register(HELP, {
      description: 'Litres from time on and a known flow.',
      expected: 'a group of keys',
      examples: ['runtimeRate: { entity: switch.ro_unit, rate: 12 L/h }'],
    })
    .optional(),
  heldPower: z
    .strictObject({
      entity: entity('Power reading.', 'sensor.return_pump_power', NUMBERS),
      maxHold: duration('A reading stands for at most this long.', { above: 0, max: 86_400_000 }, '10 min').prefault(
        '10 min',
      ),
      maxPower: quantity('power', 'Most it can draw: what a gap may have used.', { above: 0, max: 10_000 }, '100 W'),
    })
    .register(HELP, {
      description: 'Energy from watts, each reading held until the next.',
      expected: 'a group of keys',
      examples: ['heldPower: { entity: sensor.return_pump_power, maxPower: 100 W }'],
    })
    .optional(),
});

/** Amounts of usage by measure; used for limits and for what is already on a part. */
const amounts = (says: string) =>
  z.strictObject({
    'on-hours': duration(`On-time ${says}.`, { min: 0 }, '3,600 h').optional(),
    starts: quantity('count', `Starts ${says}.`, { min: 0 }, '50,000 starts').optional(),
    litres: quantity('volume', `Water ${says}.`, { min: 0 }, '10,000 L').optional(),
    energy: quantity('energy', `Energy ${says}.`, { min: 0 }, '500 kWh').optional(),
    days: duration(`Time since it was fitted ${says}.`, { min: 0 }, '12 mo').optional(),
  });

const counts = z.strictObject({
  'on-hours': text('Counter that gives it.', 'lamp-hours').optional(),
  starts: text('Counter that gives it.', 'heater-on').optional(),
  litres: text('Counter that gives it.', 'feed').optional(),
  energy: text('Counter that gives it.', 'return-energy').optional(),
});

export const part = z.strictObject({
  name: text('Name shown to people. Left out: as its kind.', 'Tubes of the left lamp').optional(),
  kind: text('Row of the parts table, which gives its limits and whether it is a safety part.', 'fluorescent-tubes'),
  equipment: text('Equipment it belongs to.', 'lamp').optional(),
  pieces: wholeNumber('How many make the part.', 1, 100, 3).prefault(1),
  fitted: day('When it was fitted. A day means its start in the zone of the tank.').optional(),
  used: amounts('already on it when counting began')
    .register(HELP, {
      description: 'What was already on it when counting began, by your word.',
      expected: 'a group of keys',
      examples: ['used: { on-hours: 120 h }'],
    })
    .optional(),
  limits: amounts('at which it is due')
    .register(HELP, {
      description: 'When it is due; the first one reached counts. Left out: as its kind.',
      expected: 'a group of keys',
      examples: ['limits: { on-hours: 3600 h, days: 12 mo }'],
    })
    .optional(),
  counts: counts
    .register(HELP, {
      description: 'Which counter gives each measure that has a limit. `days` needs none.',
      expected: 'a group of keys',
      examples: ['counts: { on-hours: lamp-hours }'],
    })
    .prefault({}),
  leadTime: duration(
    'How long before it is due the spare should be ordered.',
    { min: 0, max: 31_536_000_000 },
    '14 d',
  ).optional(),
});
