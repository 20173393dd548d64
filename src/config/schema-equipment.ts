import { z } from 'zod';
import { ROLE_IDS, SENSOR_KINDS, START_UPS } from '../model/index.ts';
import { day, duration, entity, NUMBERS, oneOf, quantity, text, timesOfDay, wholeNumber, yesNo } from './leaves.ts';
import { HELP } from './meta.ts';
import { DRIVER_DOMAINS, explainDriver } from './slips.ts';

/** What hangs on the tank: equipment, sensors, parts. */

const SWITCHES = ['switch', 'light', 'fan', 'input_boolean'];

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
  quickDisconnect: yesNo(
    'Its lead parts on the low-voltage side. Then it may be parted there instead of unplugged, only off and proved off.',
  ).optional(),
  startUp: oneOf(
    START_UPS,
    'start-up setting',
    'What its plug does when power comes back, as found on the plug itself. Left out: nobody has looked.',
  ).optional(),
  strip: text('Strip or adaptor it hangs on.', 'strip left').optional(),
  circuit: text('Circuit of the breaker board behind it.', 'C4').optional(),
  lit: timesOfDay(
    'Of a lamp over the display: when it is lit on an ordinary day. Left out: as it is seen in what was counted.',
    'lit: 09:30-18:30',
  ).optional(),
  place: text('Where its plug is found, for somebody in a hurry.', 'cabinet left, socket 1').optional(),
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

/** Amounts of usage by measure; used for limits and for what is already on a part. */
const amounts = (says: string) =>
  z.strictObject({
    'on-hours': duration(`On-time ${says}.`, { min: 0 }, '3,600 h').optional(),
    starts: quantity('count', `Starts ${says}.`, { min: 0 }, '50,000 starts').optional(),
    litres: quantity('volume', `Water ${says}.`, { min: 0 }, '10,000 L').optional(),
    energy: quantity('energy', `Energy ${says}.`, { min: 0 }, '500 kWh').optional(),
    grams: quantity('mass', `Dissolved solids taken up ${says}.`, { min: 0 }, '180 g').optional(),
    actuations: quantity('count', `Moves of a float or another contact ${says}.`, { min: 0 }, '20,000').optional(),
    days: duration(`Time since it was fitted ${says}.`, { min: 0 }, '12 mo').optional(),
  });

const counts = z.strictObject({
  'on-hours': text('Counter that gives it.', 'lamp-hours').optional(),
  starts: text('Counter that gives it.', 'heater-on').optional(),
  litres: text('Counter that gives it.', 'feed').optional(),
  energy: text('Counter that gives it.', 'return-energy').optional(),
  grams: text('Counter that gives it.', 'resin-load').optional(),
  actuations: text('Counter that gives it.', 'float-moves').optional(),
});

export const part = z.strictObject({
  name: text('Name shown to people. Left out: as its kind.', 'Tubes of the left lamp').optional(),
  kind: text('Row of the parts table, which gives its limits and whether it is a safety part.', 'fluorescent-tubes'),
  equipment: text('Equipment it belongs to.', 'lamp').optional(),
  pieces: wholeNumber('How many make the part.', 1, 100, 3).prefault(1),
  spares: z
    .array(text('Name of a spare.', 'wet-end-a'))
    .min(2)
    .register(HELP, {
      description:
        'Rotable spares that take turns in its place, each with a life of its own; the first was in at the beginning.',
      expected: 'a list of at least two names',
      examples: ['spares: [wet-end-a, wet-end-b]'],
    })
    .optional(),
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
