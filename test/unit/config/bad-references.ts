import type { BadCase } from './good-configuration.ts';

/** References, counters, limits, rules and days. */
export const BAD_REFERENCES: readonly BadCase[] = [
  {
    name: 'a part of no equipment',
    from: '    kind: fluorescent-tubes',
    to: `    kind: fluorescent-tubes
    equipment: heatr`,
    says: [
      [
        'SW-CFG-009',
        'slackwater.yaml:30:16: parts.lamp-tubes.equipment: there is no equipment "heatr" in this file; there is: return-pump, heater.',
        'Did you mean "heater"?',
      ],
    ],
  },
  {
    name: 'a counter that does not exist',
    from: 'counts: { on-hours: lamp-lit }',
    to: 'counts: { on-hours: lamp-litt }',
    says: [
      [
        'SW-CFG-009',
        'slackwater.yaml:32:25: parts.lamp-tubes.counts.on-hours: there is no counter "lamp-litt" in this file; there is: lamp-lit, heater-on, feed.',
        'Did you mean "lamp-lit"?',
      ],
    ],
  },
  {
    name: 'a counter that gives something else',
    from: 'counts: { on-hours: lamp-lit }',
    to: 'counts: { on-hours: feed }',
    says: [
      [
        'SW-CFG-018',
        'slackwater.yaml:32:25: parts.lamp-tubes.counts.on-hours: the counter feed gives litres, not on-hours.',
        'These give on-hours: lamp-lit, heater-on.',
      ],
    ],
  },
  {
    name: 'a limit that nothing counts',
    from: `    counts: { on-hours: lamp-lit }
`,
    to: '',
    says: [
      [
        'SW-CFG-014',
        'slackwater.yaml:31:15: parts.lamp-tubes.limits.on-hours: the limit on on-hours has no counter to measure it.',
        'Add `counts: { on-hours: lamp-lit }` to lamp-tubes. These counters give it: lamp-lit, heater-on.',
      ],
    ],
  },
  {
    name: 'a counter with two sources',
    from: 'heater-on: { onState: { entity: switch.heater } }',
    to: 'heater-on: { onState: { entity: switch.heater }, pulses: { entity: sensor.x, each: 1 L } }',
    says: [
      [
        'SW-CFG-017',
        'slackwater.yaml:25:3: counters.heater-on: found onState and pulses, expected exactly one of: onState, powerThreshold, total, pulses, runtimeRate, heldPower, grams, actuations.',
        'Keep one of them and remove the rest.',
      ],
    ],
  },
  {
    name: 'thresholds the wrong way round',
    from: 'onAbove: 40 W, offBelow: 10 W',
    to: 'onAbove: 10 W, offBelow: 40 W',
    says: [
      [
        'SW-CFG-018',
        'slackwater.yaml:24:75: counters.lamp-lit.powerThreshold.offBelow: offBelow 40 W is not below onAbove 10 W.',
        'Leave room between the two, so that a wavering reading makes no starts.',
      ],
    ],
  },
  {
    name: 'a meter of litres with a limit in energy',
    from: 'maxPerHour: 200 L',
    to: 'maxPerHour: 200 kWh',
    says: [
      [
        'SW-CFG-018',
        'slackwater.yaml:26:69: counters.feed.total.maxPerHour: the meter reads L, but maxPerHour is an energy.',
        'Write it as a volume, such as 200 L.',
      ],
    ],
  },
  {
    name: 'a level above the rim',
    from: 'normalLevel: 20 cm',
    to: 'normalLevel: 20 in',
    says: [
      [
        'SW-CFG-018',
        'slackwater.yaml:5:42: tank.sump.normalLevel: the normal level of 50.8 cm is not below the rim at 38 cm.',
        'Measure both from the floor of the sump.',
      ],
    ],
  },
  {
    name: 'a rule outside its safe range',
    from: 'rules: { K7: { wait: 90 s } }',
    to: 'rules: { K7: { wait: 5 s } }',
    says: [
      [
        'SW-CFG-015',
        'slackwater.yaml:39:22: rules.K7.wait: found "5 s", safe for rule K7 is 30 s to 3 min. The rule is there because a rising sump floods a running skimmer’s cup.',
        'Stay within the range, or leave the key out for the default of 1 min.',
      ],
    ],
  },
  {
    name: 'a rule that has no such setting',
    from: 'rules: { K7: { wait: 90 s } }',
    to: 'rules: { K7: { waiting: 90 s } }',
    says: [
      [
        'SW-CFG-003',
        'slackwater.yaml:39:16: rules.K7: unknown key "waiting"; allowed here: wait, foam.',
        'Did you mean "wait"?',
      ],
    ],
  },
  {
    name: 'a rule that does not exist',
    from: 'rules: { K7: { wait: 90 s } }',
    to: 'rules: { K77: { wait: 90 s } }',
    says: [
      [
        'SW-CFG-003',
        'slackwater.yaml:39:10: rules: unknown key "K77"; allowed here: K2, K3, K4, K5, K6, K7, K8, K9, K10, K11, K12, K13, K14, K15, K16, K17, K18, K19, K20, K21, K22, K23, K24, K25, K26, K27, K28, K29, K30, K33, K35, K36.',
        'Did you mean "K7"?',
      ],
    ],
  },
  {
    name: 'a rule with nothing to set',
    from: 'rules: { K7: { wait: 90 s } }',
    to: 'rules: { K1: { wait: 90 s } }',
    says: [
      [
        'SW-CFG-018',
        'slackwater.yaml:39:10: rules.K1: this rule has nothing to set.',
        'Remove it: this rule holds as it stands.',
      ],
    ],
  },
  {
    name: 'a driver that is its own plug',
    from: 'driver: { thermostat: climate.display }',
    to: 'driver: { thermostat: switch.heater }',
    says: [
      [
        'SW-CFG-018',
        'slackwater.yaml:18:13: equipment.heater.driver: the driver is the plug itself.',
        'Name what decides, such as the automation or the climate entity, not the plug it switches.',
      ],
    ],
  },
  {
    name: 'a counter without a source',
    from: 'heater-on: { onState: { entity: switch.heater } }',
    to: 'heater-on: { name: Heater }',
    says: [
      [
        'SW-CFG-004',
        'slackwater.yaml:25:3: counters.heater-on: missing; expected one of onState, powerThreshold, total, pulses, runtimeRate, heldPower, grams, actuations.',
        'Add the key, for example `onState: { entity: switch.heater }`.',
      ],
    ],
  },
  {
    name: 'no place for the token',
    from: 'token: { env: SLACKWATER_HUB_TOKEN }',
    to: 'token: {}',
    says: [
      [
        'SW-CFG-004',
        'slackwater.yaml:8:10: hub.token: missing; expected env or file in it.',
        'Add the key, for example `token: { env: SLACKWATER_HUB_TOKEN }`.',
      ],
    ],
  },
  {
    name: `a person's credential for nobody`,
    from: 'kind: machine, tokenFile',
    to: 'kind: person, tokenFile',
    says: [
      [
        'SW-CFG-009',
        'slackwater.yaml:37:3: access.node-red: there is no person "node-red" in this file; there is: robin, sam.',
        'Add the person under `people`, or name one of these with `person`.',
      ],
    ],
  },
  {
    name: 'a day that does not exist',
    from: 'fitted: 2026-01-05',
    to: 'fitted: 2026-02-30',
    says: [
      [
        'SW-CFG-016',
        'slackwater.yaml:30:13: parts.lamp-tubes.fitted: found "2026-02-30", expected a day such as 2026-01-05 or an instant such as 2026-01-05T14:30Z.',
        'Write year, month and day in this order. A day alone means its start in the zone of the tank.',
      ],
    ],
  },
  {
    name: 'a day in another order',
    from: 'fitted: 2026-01-05',
    to: 'fitted: 05.01.2026',
    says: [
      [
        'SW-CFG-016',
        'slackwater.yaml:30:13: parts.lamp-tubes.fitted: found "05.01.2026", expected a day such as 2026-01-05 or an instant such as 2026-01-05T14:30Z.',
        'Write year, month and day in this order. A day alone means its start in the zone of the tank.',
      ],
    ],
  },
];
