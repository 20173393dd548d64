import type { BadCase } from './good-configuration.ts';

/** Words, entities, ids and drivers. */
export const BAD_WORDS: readonly BadCase[] = [
  {
    name: 'an unknown role',
    from: 'role: return-pump',
    to: 'role: return_pumps',
    says: [
      [
        'SW-CFG-008',
        'slackwater.yaml:11:11: equipment.return-pump.role: found "return_pumps", which is not a known role; known: return-pump, circulation-pump, skimmer, heater, chiller, fan, fluorescent-bank, led-lamp, uv-unit, media-reactor, algae-reactor, algae-lamp, calcium-reactor, limewater-doser, dosing-pump, top-off, ro-unit, mixing-pump, mixing-heater, feeder, air-pump, battery-backup, hub-network.',
        'Did you mean "return-pump"?',
      ],
    ],
  },
  {
    name: 'an unknown kind of sensor',
    from: 'kind: sump-level',
    to: 'kind: water-level',
    says: [
      [
        'SW-CFG-008',
        'slackwater.yaml:21:23: sensors.sump-level.kind: found "water-level", which is not a known kind of sensor; known: display-temperature, sump-temperature, barrel-temperature, room-temperature, sump-level, low-float, high-float, store-low-float, barrel-high-float, salinity, ph, feed-tds, ro-tds, product-tds, feed-litres, product-litres, lux, leak, door.',
        'Choose one of these.',
      ],
    ],
  },
  {
    name: 'an unknown kind of part',
    from: 'kind: fluorescent-tubes',
    to: 'kind: flourescent-tubes',
    says: [
      [
        'SW-CFG-008',
        'slackwater.yaml:29:11: parts.lamp-tubes.kind: found "flourescent-tubes", which is not a known kind of part; known: sediment-cartridge, carbon-block, ro-membrane, di-resin, booster-pump, inlet-solenoid, ro-shut-off, ro-tubing, water-meters, mixing-pump, activated-carbon, phosphate-binder, calcium-media, limewater-powder, doser-tube, algae-harvest, return-pump-wet-end, circulation-wet-end, skimmer-neck-cup, skimmer-body, top-off-floats, top-off-pump, siphon-break-hole, check-valve, weir-strainers, filter-sock, air-pump-diaphragm, hoses-unions, heater, plug-relay, fluorescent-tubes, led-lamp, lamp-fan, uv-lamp, uv-sleeve, algae-lamp, ph-electrode, salinity-probe, temperature-probe, chiller-service, backup-battery, rcd-leak-sensors.',
        'Did you mean "fluorescent-tubes"?',
      ],
    ],
  },
  {
    name: 'a zone that does not exist',
    from: 'zone: Europe/London',
    to: 'zone: Europe/Londn',
    says: [
      [
        'SW-CFG-012',
        'slackwater.yaml:3:9: tank.zone: found "Europe/Londn", which is not a time zone of the IANA data.',
        'Did you mean "Europe/London"?',
      ],
    ],
  },
  {
    name: 'a city for a zone',
    from: 'zone: Europe/London',
    to: 'zone: New York',
    says: [
      [
        'SW-CFG-012',
        'slackwater.yaml:3:9: tank.zone: found "New York", which is not a time zone of the IANA data.',
        'Did you mean "America/New_York"?',
      ],
    ],
  },
  {
    name: 'an entity that is none',
    from: 'switch: switch.return_pump',
    to: 'switch: Return Pump',
    says: [
      [
        'SW-CFG-011',
        'slackwater.yaml:13:13: equipment.return-pump.switch: found "Return Pump", expected an entity of the hub whose id begins with switch, light, fan or input_boolean.',
        'Copy the entity id from the hub, where it stands in the settings of the entity.',
      ],
    ],
  },
  {
    name: 'an entity of the wrong kind',
    from: 'power: sensor.return_pump_power',
    to: 'power: switch.return_pump',
    says: [
      [
        'SW-CFG-011',
        'slackwater.yaml:14:12: equipment.return-pump.power: found "switch.return_pump", expected an entity of the hub whose id begins with sensor, number or input_number.',
        'Copy the entity id from the hub, where it stands in the settings of the entity.',
      ],
    ],
  },
  {
    name: 'the same plug twice',
    from: 'switch: switch.heater',
    to: 'switch: switch.return_pump',
    says: [
      [
        'SW-CFG-018',
        'slackwater.yaml:19:13: equipment.heater.switch: switch.return_pump already belongs to return-pump.',
        'A plug has one equipment, else a claim on one would leave the other free to switch it.',
      ],
    ],
  },
  {
    name: 'an id given twice',
    from: '  sam: { name: Sam }',
    to: '  robin: { name: Sam }',
    says: [
      [
        'SW-CFG-010',
        'slackwater.yaml:35:3: people: "robin" is given twice; first at line 34.',
        'Give each one a name of its own, or remove one of the two.',
      ],
    ],
  },
  {
    name: 'a badly formed id',
    from: `  heater:
`,
    to: `  Heater_Left:
`,
    says: [
      [
        'SW-CFG-022',
        'slackwater.yaml:16:3: equipment: found "Heater_Left", expected a name of lower-case letters, digits and dashes, such as heater-left.',
        'Rename it, and every place that refers to it.',
      ],
    ],
  },
  {
    name: 'a driver without its entity',
    from: 'driver: { thermostat: climate.display }',
    to: 'driver: thermostat',
    says: [
      [
        'SW-CFG-004',
        'slackwater.yaml:18:13: equipment.heater.driver.thermostat: missing; expected the entity of the hub that a session suspends while it has this equipment.',
        'Add the key, for example `driver: { thermostat: climate.display }`.',
      ],
    ],
  },
  {
    name: 'a driver group left empty',
    from: 'driver: { thermostat: climate.display }',
    to: 'driver: { thermostat: }',
    says: [
      [
        'SW-CFG-004',
        'slackwater.yaml:18:13: equipment.heater.driver.thermostat: missing; expected the entity of the hub that a session suspends while it has this equipment.',
        'Add the key, for example `driver: { thermostat: climate.display }`.',
      ],
    ],
  },
  {
    name: 'an unknown driver',
    from: 'driver: always-on',
    to: 'driver: allways-on',
    says: [
      [
        'SW-CFG-008',
        'slackwater.yaml:12:13: equipment.return-pump.driver: found "allways-on", which is not a known driver; known: always-on, own-controller, { schedule: entity }, { thermostat: entity }.',
        'Did you mean "always-on"?',
      ],
    ],
  },
];
