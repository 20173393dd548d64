import { z } from 'zod';
import { duration, entity, file, named, quantity, text } from './leaves.ts';
import { HELP } from './meta.ts';
import { alarms } from './schema-alarms.ts';
import { counter } from './schema-counters.ts';
import { equipment, part, sensor } from './schema-equipment.ts';
import { guard } from './schema-guards.ts';
import { access, api, hub, prefix, tank } from './schema-place.ts';
import { rulesSchema } from './schema-rules.ts';

const person = z.strictObject({
  name: text('Name in records and on claims.', 'Duty caretaker'),
  hubUser: text(
    'Id of this person’s user in the hub, so that a press of a button has a name.',
    '0123456789abcdef0123456789abcdef',
  ).optional(),
  deputy: text('Person who may release this person’s claims, from this list.', 'evening-caretaker').optional(),
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
  guards: named(
    guard,
    'Standing protections outside sessions, each for the equipment it names. A guard only switches off, tells it at once, and holds until a named person resets it.',
    'guards: { high-water: { kind: high-level, off: [top-off, doser] } }',
  ),
  alarms,
  rules: rulesSchema(),
  store: file('File of the store, from the folder of this file.', 'data/slackwater.db').prefault('data/slackwater.db'),
  api,
  prefix,
});

export type Written = z.output<typeof SCHEMA>;
