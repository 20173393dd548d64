import { z } from 'zod';
import { duration, entity, NUMBERS, oneOf, quantity, text, volumeOrEnergy } from './leaves.ts';
import { HELP } from './meta.ts';

/** How readings become usage. */

const METER_UNITS = ['L', 'ml', 'm³', 'gal', 'UK gal', 'Wh', 'kWh'] as const;

const resets = oneOf(
  ['confirmed', 'at-once'],
  'way to take a fall',
  'A fall of the meter waits for a second reading, or is a reset at once.',
).prefault('confirmed');

/** A lifetime meter of the same device says more of a gap than the gap itself. */
const narrowing = z
  .strictObject({
    entity: entity('Lifetime meter of the same device.', 'sensor.lamp_energy', NUMBERS),
    unit: oneOf(METER_UNITS, 'unit of a meter', 'Unit in which it reads.'),
    leastPerHourOn: volumeOrEnergy('The least it takes in an hour of on-time.', '0.09 kWh'),
    mostPerHourOn: volumeOrEnergy('The most it takes in an hour of on-time, error of the meter included.', '0.12 kWh'),
    mostPerHourOff: volumeOrEnergy('The most it takes in an hour of off-time.', '0.002 kWh', true),
    coarseness: volumeOrEnergy('The most by which its reading can be behind what was used.', '0.01 kWh', true),
  })
  .register(HELP, {
    description: 'A lifetime meter of the same device, which narrows the bounds of a gap it spans.',
    expected: 'a group of keys',
    examples: [
      'narrowedBy: { entity: sensor.lamp_energy, unit: kWh, leastPerHourOn: 0.09 kWh, mostPerHourOn: 0.12 kWh, mostPerHourOff: 0.002 kWh, coarseness: 0.01 kWh }',
    ],
  })
  .optional();

export const counter = z.strictObject({
  name: text('Name shown to people. Left out: the id.', 'Lamp hours').optional(),
  onState: z
    .strictObject({ entity: entity('Entity that is on or off.', 'switch.heater', []), narrowedBy: narrowing })
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
      narrowedBy: narrowing,
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
      unit: oneOf(METER_UNITS, 'unit of a meter', 'Unit in which the meter reads.'),
      maxPerHour: volumeOrEnergy('More than this in an hour is not believed.', '200 L'),
      resets,
    })
    .register(HELP, {
      description: 'Litres or energy from a meter that keeps a total.',
      expected: 'a group of keys',
      examples: ['total: { entity: sensor.feed_litres, unit: L, maxPerHour: 200 L }'],
    })
    .optional(),
  pulses: z
    .strictObject({
      entity: entity('Number of pulses, or a contact that closes once for each.', 'sensor.product_pulses', [
        ...NUMBERS,
        'binary_sensor',
      ]),
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
      narrowedBy: narrowing,
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
  grams: z
    .strictObject({
      litres: entity('Meter of the water that passes; only rises, apart from resets.', 'sensor.feed_litres', NUMBERS),
      unit: oneOf(['L', 'ml', 'm³', 'gal', 'UK gal'], 'unit of a meter', 'Unit in which the meter reads.').prefault(
        'L',
      ),
      maxPerHour: quantity('volume', 'More than this in an hour is not believed.', { above: 0 }, '20 L'),
      resets,
      tds: entity('Reading of the dissolved solids in it, in mg/L.', 'sensor.ro_tds', NUMBERS),
      maxAge: duration(
        'A reading says nothing of water that passes later than this after it.',
        { above: 0, max: 2_592_000_000 },
        '6 h',
      ).prefault('6 h'),
      maxTds: quantity('dissolved', 'The most there can be where no reading says.', { above: 0 }, '60 mg/L'),
    })
    .register(HELP, {
      description: 'Grams of dissolved solids: litres times what is dissolved in them.',
      expected: 'a group of keys',
      examples: ['grams: { litres: sensor.product_litres, maxPerHour: 20 L, tds: sensor.ro_tds, maxTds: 60 mg/L }'],
    })
    .optional(),
  actuations: z
    .strictObject({
      entity: entity('Contact whose moves are counted.', 'binary_sensor.low_float', []),
      edges: oneOf(['both', 'rising'], 'kind of move', 'Every change, or only from off to on.').prefault('both'),
      shortest: duration(
        'Shortest time between two counted moves that is possible; bounds what a gap may hide.',
        { above: 0, max: 86_400_000 },
        '10 s',
      ).optional(),
    })
    .register(HELP, {
      description: 'Moves of a float or another contact.',
      expected: 'a group of keys',
      examples: ['actuations: { entity: binary_sensor.low_float }'],
    })
    .optional(),
});
