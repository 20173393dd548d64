import { z } from 'zod';
import { problem } from '../errors/index.ts';
import { ROLE_IDS, SENSOR_KINDS } from '../model/index.ts';
import {
  day,
  duration,
  entity,
  file,
  named,
  oneOf,
  quantity,
  reject,
  text,
  volumeOrEnergy,
  wholeNumber,
  yesNo,
} from './leaves.ts';
import { HELP, type Report, shown } from './meta.ts';
import { rulesSchema } from './schema-rules.ts';
import { explainDriver, explainToken, looksLikeToken } from './slips.ts';
import { isZoneReport } from './zones.ts';

const SWITCHES = ['switch', 'light', 'fan', 'input_boolean'];
const NUMBERS = ['sensor', 'number', 'input_number'];
const DRIVERS = ['automation', 'climate', 'schedule', 'timer', 'switch', 'input_boolean'];

const sump = z
  .strictObject({
    litresPerCm: quantity(
      'levelVolume',
      'Water in one centimetre of level, over the whole sump.',
      { above: 0 },
      '4.05 L/cm',
    ),
    normalLevel: quantity('length', 'Level while everything runs.', { above: 0 }, '20 cm'),
    rim: quantity('length', 'Level at which the sump overflows.', { above: 0 }, '42 cm'),
    drainDown: quantity(
      'volume',
      'Water that comes down when the return stops. Left out: not learned yet.',
      { above: 0 },
      '19.5 L',
    ).optional(),
  })
  .register(HELP, {
    description: 'The sump. Without it no step can check that the water which comes down fits.',
    expected: 'a group of keys',
    examples: ['sump: { litresPerCm: 4.05 L/cm, normalLevel: 20 cm, rim: 42 cm }'],
  });

const tank = z
  .strictObject({
    name: text('Name shown on every surface.', 'Hallway reef'),
    zone: z
      .string()
      .transform((value, ctx) => {
        const report: Report | null = isZoneReport(value);
        return report === null ? value : reject(ctx, report);
      })
      .register(HELP, {
        description: 'Time zone of the tank. Days, weeks and months are cut in it.',
        expected: 'a name of the IANA time zone data',
        examples: ['Europe/London'],
      }),
    volume: quantity('volume', 'Net water in display and sump together.', { above: 0, max: 100_000 }, '458 L'),
    sump: sump.optional(),
  })
  .register(HELP, {
    description: 'The aquarium.',
    expected: 'a group of keys',
    examples: ['tank: { name: …, zone: …, volume: … }'],
  });

const token = z
  .strictObject({
    env: z
      .string()
      .transform((value, ctx) => {
        if (looksLikeToken(value)) return reject(ctx, secretReport('token: { env: SLACKWATER_HUB_TOKEN }'));
        if (/^[A-Za-z_][A-Za-z0-9_]*$/.test(value)) return value;
        return reject(ctx, (at, path) =>
          problem('SW-CFG-005', {
            at,
            path,
            found: shown(value),
            expected: 'the name of an environment variable',
            example: 'env: SLACKWATER_HUB_TOKEN',
          }),
        );
      })
      .register(HELP, {
        description: 'Environment variable that holds the token.',
        expected: 'the name of an environment variable',
        examples: ['SLACKWATER_HUB_TOKEN'],
        secret: true,
      })
      .optional(),
    file: z
      .string()
      .transform((value, ctx) => {
        return looksLikeToken(value) ? reject(ctx, secretReport('token: { file: secrets/hub-token }')) : value;
      })
      .register(HELP, {
        description: 'File that holds the token and nothing else, readable by the service alone (mode 600).',
        expected: 'the path of a file',
        examples: ['secrets/hub-token'],
        secret: true,
      })
      .optional(),
  })
  .register(HELP, {
    description: 'Where the long-lived token of the hub lies: `env` or `file`, never the token itself.',
    expected: 'env or file',
    examples: ['token: { env: SLACKWATER_HUB_TOKEN }'],
    secret: true,
    explain: explainToken,
  });

function secretReport(example: string): Report {
  return (at, path) => problem('SW-CFG-013', { at, path, example });
}

const hub = z
  .strictObject({
    url: z
      .string()
      .transform((value, ctx) => {
        const url = URL.parse(value);
        if (url !== null && (url.username !== '' || url.password !== '')) {
          return reject(ctx, secretReport('url: http://127.0.0.1:8123'));
        }
        if (url !== null && ['http:', 'https:'].includes(url.protocol)) return value.replace(/\/+$/, '');
        return reject(ctx, (at, path) =>
          problem('SW-CFG-005', {
            at,
            path,
            found: shown(value),
            expected: 'an address with http:// or https://',
            example: 'url: http://127.0.0.1:8123',
          }),
        );
      })
      .register(HELP, {
        description: 'Address of the hub as this machine reaches it.',
        expected: 'an address with http:// or https://',
        examples: ['http://127.0.0.1:8123'],
      }),
    token,
  })
  .register(HELP, {
    description: 'The home hub.',
    expected: 'a group of keys',
    examples: ['hub: { url: …, token: { env: … } }'],
  });

const driver = z
  .union([
    z.enum(['always-on', 'own-controller']),
    z.strictObject({ schedule: entity('Entity to suspend.', 'automation.lamps', DRIVERS) }),
    z.strictObject({ thermostat: entity('Entity to suspend.', 'climate.display', DRIVERS) }),
  ])
  .register(HELP, {
    description:
      'Who decides when it is on. A schedule or thermostat names the hub entity that a session suspends and resumes; `own-controller` is a device that decides by itself.',
    expected: 'always-on, own-controller, { schedule: entity } or { thermostat: entity }',
    examples: ['driver: { thermostat: climate.display }'],
    explain: explainDriver,
  });

const equipment = z.strictObject({
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

const sensor = z.strictObject({
  name: text('Name shown to people. Left out: the id.', 'Sump level').optional(),
  kind: oneOf(SENSOR_KINDS, 'kind of sensor', 'What it tells.'),
  entity: entity('Its entity in the hub.', 'sensor.sump_level', [...NUMBERS, 'binary_sensor', 'input_boolean']),
  maxAge: duration('A reading older than this is unknown.', { min: 1_000, max: 86_400_000 }, '120 s').prefault('120 s'),
});

const counter = z.strictObject({
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

const part = z.strictObject({
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

const person = z.strictObject({
  name: text('Name in records and on claims.', 'Duty caretaker'),
  hubUser: text(
    'Id of this person’s user in the hub, so that a press of a button has a name.',
    '0123456789abcdef0123456789abcdef',
  ).optional(),
  deputy: text('Person who may release this person’s claims, from this list.', 'evening-caretaker').optional(),
});

const access = z.strictObject({
  kind: oneOf(
    ['person', 'machine'],
    'kind of access',
    'A person may confirm, say "unplugged" and release claims. A machine may look, start and abort.',
  ),
  person: text('Who of `people` it is. Left out: the one with the same id.', 'duty-caretaker').optional(),
  tokenFile: z
    .string()
    .transform((value, ctx) =>
      looksLikeToken(value) ? reject(ctx, secretReport('tokenFile: secrets/node-red')) : value,
    )
    .register(HELP, {
      description: 'File that holds the token and nothing else, readable by the service alone (mode 600).',
      expected: 'the path of a file',
      examples: ['secrets/node-red'],
      secret: true,
    }),
});

const reminders = z
  .strictObject({
    near: quantity('share', 'Share of a limit from which a part is near.', { min: 0.5, max: 0.99 }, '90 %').prefault(
      '90 %',
    ),
    nearTime: duration('Or so long before it is forecast to be due.', { min: 0, max: 7_776_000_000 }, '14 d').prefault(
      '14 d',
    ),
    later: duration('How long "later" puts a reminder off.', { min: 3_600_000, max: 2_592_000_000 }, '3 d').prefault(
      '3 d',
    ),
    notify: z
      .array(entity('Notify service.', 'notify.mobile_app_phone', ['notify']))
      .register(HELP, {
        description: 'Notify services of the hub, beside its own notification.',
        expected: 'a list of notify services',
        examples: ['notify: [notify.mobile_app_phone]'],
      })
      .prefault([]),
  })
  .prefault({})
  .register(HELP, {
    description: 'When and how people are told.',
    expected: 'a group of keys',
    examples: ['reminders: { near: 90 % }'],
  });

const api = z
  .strictObject({
    host: oneOf(
      ['127.0.0.1', '::1', 'localhost'],
      'loopback address',
      'Address to listen on. Only this machine itself: the API can switch mains.',
    ).prefault('127.0.0.1'),
    port: wholeNumber('Port to listen on.', 1, 65_535, 8787).prefault(8787),
  })
  .prefault({})
  .register(HELP, {
    description: 'The API for commands, pages and nodes on this machine.',
    expected: 'a group of keys',
    examples: ['api: { port: 8787 }'],
  });

const prefix = z
  .string()
  .transform((value, ctx) => {
    if (/^[a-z][a-z0-9_]{0,30}$/.test(value)) return value;
    return reject(ctx, (at, path) =>
      problem('SW-CFG-005', {
        at,
        path,
        found: shown(value),
        expected: 'lower-case letters, digits and underscores, a letter first',
        example: 'prefix: slackwater',
      }),
    );
  })
  .prefault('slackwater')
  .register(HELP, {
    description: 'Start of the name of every state and helper kept in the hub.',
    expected: 'lower-case letters, digits and underscores',
    examples: ['slackwater'],
  });

/** The whole of slackwater.yaml. The only home of every key, its type, range, unit, default and help. */
export const SCHEMA = z.strictObject({
  tank,
  hub,
  equipment: named(
    equipment,
    'Devices of the tank, each with a name of its own.',
    'equipment: { return-pump: { role: return-pump, driver: always-on, switch: switch.return_pump } }',
  ),
  sensors: named(
    sensor,
    'Sensors of the tank.',
    'sensors: { sump-level: { kind: sump-level, entity: sensor.sump_level } }',
  ),
  counters: named(
    counter,
    'How readings become usage. Each counter has exactly one source.',
    'counters: { lamp-hours: { powerThreshold: { … } } }',
  ),
  parts: named(
    part,
    'Parts that wear or are used up.',
    'parts: { tubes: { kind: fluorescent-tubes, equipment: lamp, counts: { on-hours: lamp-hours } } }',
  ),
  people: named(
    person,
    'Persons who may confirm steps and place claims.',
    'people: { duty-caretaker: { name: Duty caretaker } }',
  ),
  access: named(
    access,
    'Credentials of the API.',
    'access: { node-red: { kind: machine, tokenFile: secrets/node-red } }',
  ),
  reminders,
  rules: rulesSchema(),
  store: file('File of the store, from the folder of this file.', 'data/slackwater.db').prefault('data/slackwater.db'),
  api,
  prefix,
});

export type Written = z.output<typeof SCHEMA>;
