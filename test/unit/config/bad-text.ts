import { type BadCase, GOOD } from './good-configuration.ts';

/** YAML, keys and quantities. */
export const BAD_TEXT: readonly BadCase[] = [
  {
    name: 'an empty file',
    from: GOOD,
    to: '',
    says: [
      [
        'SW-CFG-004',
        'slackwater.yaml:1:1: tank: missing; expected a group of keys.',
        'Add the key, for example `tank: { name: …, zone: …, volume: … }`.',
      ],
      [
        'SW-CFG-004',
        'slackwater.yaml:1:1: hub: missing; expected a group of keys.',
        'Add the key, for example `hub: { url: …, token: { env: … } }`.',
      ],
    ],
  },
  {
    name: 'not YAML',
    from: '  name: Hallway reef',
    to: '  name: "Hallway reef',
    says: [
      [
        'SW-CFG-002',
        'slackwater.yaml:2:9: this is not valid YAML: a quote that opens here is never closed.',
        'Check indentation (spaces, no tabs), colons and closing quotes on and just above this line.',
      ],
    ],
  },
  {
    name: 'a tab for indentation',
    from: '  name: Hallway reef',
    to: '	name: Hallway reef',
    says: [
      [
        'SW-CFG-002',
        'slackwater.yaml:2:1: this is not valid YAML: a tab stands where spaces belong.',
        'Check indentation (spaces, no tabs), colons and closing quotes on and just above this line.',
      ],
    ],
  },
  {
    name: 'a misspelt key',
    from: '    switch: switch.heater',
    to: '    swich: switch.heater',
    says: [
      [
        'SW-CFG-003',
        'slackwater.yaml:19:5: equipment.heater: unknown key "swich"; allowed here: name, role, driver, switch, power, normalPower, cycling, inSump, pair, quickDisconnect, startUp, strip, circuit, lit, place, switchDelay.',
        'Did you mean "switch"?',
      ],
    ],
  },
  {
    name: 'a misspelt section',
    from: 'reminders:',
    to: 'remindrs:',
    says: [
      [
        'SW-CFG-003',
        'slackwater.yaml:38:1: top level: unknown key "remindrs"; allowed here: tank, hub, equipment, sensors, counters, parts, people, access, reminders, guards, alarms, rules, store, api, prefix.',
        'Did you mean "reminders"?',
      ],
    ],
  },
  {
    name: 'a missing key',
    from: `  volume: 210 L
`,
    to: '',
    says: [
      [
        'SW-CFG-004',
        'slackwater.yaml:1:1: tank.volume: missing; expected a volume in L, ml, m³, gal, UK gal, qt.',
        'Add the key, for example `volume: 458 L`.',
      ],
    ],
  },
  {
    name: 'a quantity without its unit',
    from: 'volume: 210 L',
    to: 'volume: 210',
    says: [
      [
        'SW-CFG-006',
        'slackwater.yaml:4:11: tank.volume: found 210 (no unit), expected a volume in L, ml, m³, gal, UK gal, qt.',
        'Write the amount with its unit, for example 450 L or 120 gal.',
      ],
    ],
  },
  {
    name: 'a quantity of the wrong kind',
    from: 'volume: 210 L',
    to: 'volume: 210 W',
    says: [
      [
        'SW-CFG-006',
        'slackwater.yaml:4:11: tank.volume: found "210 W" (a power), expected a volume in L, ml, m³, gal, UK gal, qt.',
        'Write the amount with its unit, for example 450 L or 120 gal.',
      ],
    ],
  },
  {
    name: 'light hours that are none',
    from: '  volume: 210 L\n',
    to: '  volume: 210 L\n  lights: from nine\n',
    says: [
      [
        'SW-CFG-005',
        'slackwater.yaml:5:11: tank.lights: found "from nine", expected two times of day, FROM-TO.',
        'Write it as in `lights: 09:30-21:30`.',
      ],
    ],
  },
  {
    name: 'an unknown unit',
    from: 'normalPower: 32 W',
    to: 'normalPower: 32 hp',
    says: [
      [
        'SW-CFG-006',
        'slackwater.yaml:15:18: equipment.return-pump.normalPower: found "32 hp" (unknown unit "hp"), expected a power in W, kW.',
        'Write the amount with its unit, for example 48 W or 0.3 kW.',
      ],
    ],
  },
  {
    name: 'a decimal comma',
    from: 'litresPerCm: 1.8, ',
    to: 'litresPerCm: "1,8", ',
    says: [
      [
        'SW-CFG-006',
        'slackwater.yaml:5:24: tank.sump.litresPerCm: found "1,8" (a comma; decimals take a point), expected a volume for each length of level in L/cm, L/mm, gal/in.',
        'Write the amount with its unit, for example 4.05 L/cm or 2.7 gal/in.',
      ],
    ],
  },
  {
    name: 'a negative number',
    from: 'normalPower: 32 W',
    to: 'normalPower: -32 W',
    says: [
      [
        'SW-CFG-007',
        'slackwater.yaml:15:18: equipment.return-pump.normalPower: found "-32 W", allowed is more than 0 W, at most 10,000 W.',
        'Choose a value in that range.',
      ],
    ],
  },
  {
    name: 'an ambiguous duration',
    from: 'maxAge: 120 s',
    to: 'maxAge: 2 m',
    says: [
      [
        'SW-CFG-006',
        'slackwater.yaml:21:70: sensors.sump-level.maxAge: found "2 m" ("m" could be minutes or months: write min or mo), expected a duration in ms, s, min, h, d, wk, mo, y.',
        'Write the amount with its unit, for example 30 s, 15 min, 90 d or 12 mo.',
      ],
    ],
  },
];
