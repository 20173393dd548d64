/** A tank that passes; every case below changes one place in it. Line numbers in the expected messages count from here. */
export const GOOD = `tank:
  name: Hallway reef
  zone: Europe/London
  volume: 210 L
  sump: { litresPerCm: 1.8, normalLevel: 20 cm, rim: 38 cm, drainDown: 11 L }
hub:
  url: http://127.0.0.1:8123
  token: { env: SLACKWATER_HUB_TOKEN }
equipment:
  return-pump:
    role: return-pump
    driver: always-on
    switch: switch.return_pump
    power: sensor.return_pump_power
    normalPower: 32 W
  heater:
    role: heater
    driver: { thermostat: climate.display }
    switch: switch.heater
sensors:
  sump-level: { kind: sump-level, entity: sensor.sump_level, maxAge: 120 s }
counters:
  lamp-lit:
    powerThreshold: { entity: sensor.lamp_power, onAbove: 40 W, offBelow: 10 W }
  heater-on: { onState: { entity: switch.heater } }
  feed: { total: { entity: sensor.feed_litres, unit: L, maxPerHour: 200 L } }
parts:
  lamp-tubes:
    kind: fluorescent-tubes
    fitted: 2026-01-05
    limits: { on-hours: 3600 h, days: 12 mo }
    counts: { on-hours: lamp-lit }
people:
  robin: { name: Robin, deputy: sam }
  sam: { name: Sam }
access:
  node-red: { kind: machine, tokenFile: secrets/node-red }
reminders: { near: 90 % }
rules: { K7: { wait: 90 s } }
`;

export type BadCase = {
  readonly name: string;
  /** This text of GOOD … */
  readonly from: string;
  /** … is written so instead. */
  readonly to: string;
  /** Every finding: code, sentence, what to do. */
  readonly says: readonly (readonly [code: string, message: string, whatToDo: string])[];
};

/** The whole text of a case. */
export function badText({ from, to }: BadCase): string {
  if (!GOOD.includes(from)) throw new Error(`not in the good text: ${from}`);
  return GOOD.replace(from, () => to);
}
