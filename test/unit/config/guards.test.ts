import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { loadConfig } from '../../../src/config/index.ts';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { GOOD } from './good-configuration.ts';

const EQUIPMENT = `equipment:
  top-off: { role: top-off, driver: own-controller, switch: switch.top_off, power: sensor.top_off_power }
  ro-unit: { role: ro-unit, driver: own-controller, switch: switch.ro }
  heater-2: { role: heater, driver: { thermostat: climate.display }, switch: switch.heater_2, power: sensor.heater_2_power, startUp: on, strip: left, circuit: C4, place: 'left, socket 2' }
  feeder: { role: feeder, driver: own-controller }
  air: { role: air-pump, driver: always-on, switch: switch.air }
`;
const SENSORS = `sensors:
  leak-1: { kind: leak, entity: binary_sensor.leak_1 }
  leak-2: { kind: leak, entity: binary_sensor.leak_2 }
  product: { kind: product-litres, entity: sensor.product }
  display: { kind: display-temperature, entity: sensor.display }
`;
const whole = (more: string): string =>
  `${GOOD.replace('equipment:\n', EQUIPMENT).replace('sensors:\n', SENSORS)}${more}`;
const load = (more: string) => loadConfig(whole(more), '/tank/slackwater.yaml').config;

function says(more: string): string {
  try {
    load(more);
  } catch (error) {
    if (error instanceof SlackwaterError)
      return `${error.message}\n${String(error.cause ?? '')}${JSON.stringify(error)}`;
    throw error;
  }
  return 'accepted';
}

describe('guards in the file', () => {
  test('take the sensors of the tank that fit, and units', () => {
    const { guards } = load(`guards:
  floor: { kind: leak, off: [top-off, ro-unit] }
  long: { name: Top-off too long, kind: top-off, off: [top-off], run: 60 s, perDay: 12 min }
  cap: { kind: ro-litres, off: [ro-unit], litres: 60 L }
  high: { kind: high-level, off: [top-off], above: 31 cm }
`);
    assert.deepEqual(guards, [
      { id: 'floor', name: 'Floor', kind: 'leak', off: ['top-off', 'ro-unit'], sensors: ['leak-1', 'leak-2'] },
      {
        ...{ id: 'long', name: 'Top-off too long', kind: 'top-off', off: ['top-off'], sensors: [] },
        ...{ runMs: 60_000, perDayMs: 720_000 },
      },
      { id: 'cap', name: 'Cap', kind: 'ro-litres', off: ['ro-unit'], sensors: ['product'], litres: 60 },
      { id: 'high', name: 'High', kind: 'high-level', off: ['top-off'], sensors: ['sump-level'], aboveCm: 31 },
    ]);
  });

  test('a kind that watches one device is one guard for each', () => {
    const { guards } = load('guards: { welded: { kind: welded-relay, off: [heater-2, return-pump] } }\n');
    assert.deepEqual(
      guards.map(({ id, name, off }) => [id, name, off]),
      [
        ['welded-heater-2', 'Welded, Heater 2', ['heater-2']],
        ['welded-return-pump', 'Welded, Return pump', ['return-pump']],
      ],
    );
  });

  test('none are there unless they are asked for', () => {
    assert.deepEqual(load('').guards, []);
  });

  const refused: readonly (readonly [string, string, RegExp])[] = [
    [
      'a water mover',
      'floor: { kind: leak, off: [return-pump] }',
      /Return pump moves the water, and no guard stops that/,
    ],
    ['what is never stopped', 'floor: { kind: leak, off: [air] }', /Air is never stopped/],
    ['what has no switch', 'floor: { kind: leak, off: [feeder] }', /Feeder has no switch/],
    ['what has no watts', 'dry: { kind: dry-heater, off: [heater] }', /Heater has no power reading/],
    ['an unknown equipment', 'floor: { kind: leak, off: [topoff] }', /there is no equipment \\"topoff\\"/],
    [
      'an unknown sensor',
      'floor: { kind: leak, off: [top-off], sensors: [leak-3] }',
      /there is no sensor \\"leak-3\\"/,
    ],
    ['a key of another kind', 'floor: { kind: leak, off: [top-off], run: 60 s }', /a leak guard does not look at it/],
    ['a kind nobody knows', 'floor: { kind: leek, off: [top-off] }', /leek/],
    ['a cap of nothing', 'cap: { kind: ro-litres, off: [ro-unit] }', /missing; expected litres or run/],
    [
      'a sensor the tank has not',
      'high: { kind: high-level, off: [top-off] }',
      /the tank has no sensor for it \(high-float\)/,
    ],
    [
      'a level without its mark',
      'high: { kind: high-level, off: [top-off], sensors: [sump-level] }',
      /not the level that counts/,
    ],
    ['nothing to switch off', 'floor: { kind: leak, off: [] }', /off/],
  ];
  for (const [name, text, expected] of refused)
    test(`refused: ${name}`, () => assert.match(says(`guards:\n  ${text}\n`), expected));
});

describe('equipment', () => {
  test('tells of its plug what the audit and the card need', () => {
    const { startUp, strip, circuit, place } = load('').tank.equipment.find(({ id }) => id === 'heater-2') ?? {};
    assert.deepEqual(
      { startUp, strip, circuit, place },
      { startUp: 'on', strip: 'left', circuit: 'C4', place: 'left, socket 2' },
    );
  });
});

describe('alarms in the file', () => {
  const MAIL = 'host: mail.example.org, port: 587, from: reef@example.org, to: [robin@example.org]';

  test('point to secrets, never hold them', () => {
    const { alarms } = load(`alarms:
  webhook: { url: { env: REEF_ALARM_URL }, authorization: { file: secrets/auth } }
  email: { ${MAIL}, security: starttls, user: reef, password: { file: secrets/mail } }
  heartbeat: { url: { file: secrets/beat }, every: 2 min, method: POST }
  hubSilent: 5 min
`);
    assert.deepEqual(alarms, {
      hubSilentMs: 300_000,
      webhook: { url: { env: 'REEF_ALARM_URL' }, authorization: { file: '/tank/secrets/auth' } },
      email: {
        ...{ host: 'mail.example.org', port: 587, security: 'starttls', from: 'reef@example.org' },
        ...{ to: ['robin@example.org'], user: 'reef', password: { file: '/tank/secrets/mail' } },
      },
      heartbeat: { url: { file: '/tank/secrets/beat' }, everyMs: 120_000, method: 'POST' },
    });
  });

  test('left out there are none, and the hub may be silent for ten minutes', () => {
    assert.deepEqual(load('').alarms, { hubSilentMs: 600_000 });
  });

  for (const [name, text] of [
    ['an address in clear', 'webhook: { url: "https://alarms.example.org/s3cret" }'],
    ['an address in place of a file', 'heartbeat: { url: { file: "https://alarms.example.org/s3cret" } }'],
    ['a password in clear', `email: { ${MAIL}, security: tls, user: reef, password: s3cret }`],
  ] as const)
    test(`refused without repeating it: ${name}`, () => {
      const told = says(`alarms:\n  ${text}\n`);
      assert.match(told, /a secret stands in the file in clear/);
      assert.ok(!told.includes('s3cret'), told);
    });

  for (const [name, text, expected] of [
    ['mail in clear across the network', `email: { ${MAIL}, security: none }`, /cross the network in clear/],
    ['a name without a password', `email: { ${MAIL}, security: tls, user: reef }`, /go together/],
    [
      'an address that would be a header',
      `email: { host: h, port: 25, security: tls, from: "a@b\\r\\nBcc: c@d", to: [x@y] }`,
      /is no mail address/,
    ],
    ['two places for one secret', 'webhook: { url: { env: A, file: b } }', /found both/],
    ['no place for a secret', 'webhook: { url: {} }', /expected env or file in it/],
  ] as const)
    test(`refused: ${name}`, () => assert.match(says(`alarms:\n  ${text}\n`), expected));
});
