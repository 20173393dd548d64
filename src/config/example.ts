import { Document, isMap, isPair, isScalar, type Pair, type YAMLMap } from 'yaml';
import { helpOf, schemaAt } from './meta.ts';
import { SCHEMA } from './schema.ts';

/** A small tank with one of most things. Entity names are invented. */
const EXAMPLE = {
  tank: {
    name: 'Hallway reef',
    zone: 'Europe/London',
    volume: '210 L',
    sump: { litresPerCm: '1.8 L/cm', normalLevel: '20 cm', rim: '38 cm', drainDown: '11 L' },
  },
  hub: { url: 'http://127.0.0.1:8123', token: { env: 'SLACKWATER_HUB_TOKEN' } },
  equipment: {
    'return-pump': {
      name: 'Return pump',
      role: 'return-pump',
      driver: 'always-on',
      switch: 'switch.return_pump',
      power: 'sensor.return_pump_power',
      normalPower: '32 W',
    },
    'circulation-left': {
      role: 'circulation-pump',
      driver: 'always-on',
      switch: 'switch.circulation_left',
      power: 'sensor.circulation_left_power',
      normalPower: '14 W',
    },
    skimmer: {
      role: 'skimmer',
      driver: 'always-on',
      switch: 'switch.skimmer',
      power: 'sensor.skimmer_power',
      normalPower: '18 W',
    },
    'heater-left': {
      role: 'heater',
      driver: { thermostat: 'climate.display' },
      switch: 'switch.heater_left',
      power: 'sensor.heater_left_power',
      normalPower: '98 W',
      pair: 'heaters',
    },
    'heater-right': {
      role: 'heater',
      driver: { thermostat: 'climate.display' },
      switch: 'switch.heater_right',
      power: 'sensor.heater_right_power',
      normalPower: '98 W',
      pair: 'heaters',
    },
    lamp: {
      role: 'fluorescent-bank',
      driver: { schedule: 'automation.lamp' },
      switch: 'switch.lamp',
      power: 'sensor.lamp_power',
      normalPower: '86 W',
    },
    'top-off': { role: 'top-off', driver: 'own-controller', switch: 'switch.top_off', power: 'sensor.top_off_power' },
    'ro-unit': { role: 'ro-unit', driver: { schedule: 'automation.fill_store' }, switch: 'switch.ro_unit' },
    feeder: { role: 'feeder', driver: 'own-controller' },
  },
  sensors: {
    'sump-level': { kind: 'sump-level', entity: 'sensor.sump_level', maxAge: '120 s' },
    'display-temperature': { kind: 'display-temperature', entity: 'sensor.display_temperature' },
    'leak-cabinet': { kind: 'leak', entity: 'binary_sensor.leak_cabinet', maxAge: '12 h' },
  },
  counters: {
    'lamp-lit': {
      name: 'Lamp hours',
      powerThreshold: { entity: 'sensor.lamp_power', onAbove: '40 W', offBelow: '10 W', minOn: '30 s', minOff: '30 s' },
    },
    'heater-left-on': { onState: { entity: 'switch.heater_left' } },
    feed: { total: { entity: 'sensor.ro_feed_litres', unit: 'L', maxPerHour: '200 L' } },
    product: { pulses: { entity: 'sensor.ro_product_pulses', each: '0.1 L' } },
    'store-filling': { runtimeRate: { entity: 'switch.ro_unit', rate: '75 gal/d' } },
    'return-energy': { heldPower: { entity: 'sensor.return_pump_power', maxHold: '10 min', maxPower: '60 W' } },
  },
  parts: {
    'lamp-tubes': {
      name: 'Lamp tubes',
      kind: 'fluorescent-tubes',
      equipment: 'lamp',
      pieces: 2,
      fitted: '2026-01-05',
      used: { 'on-hours': '120 h' },
      limits: { 'on-hours': '3,600 h', days: '12 mo' },
      counts: { 'on-hours': 'lamp-lit' },
      leadTime: '10 d',
    },
    'heater-left': {
      kind: 'heater',
      equipment: 'heater-left',
      fitted: '2025-03-01',
      counts: { starts: 'heater-left-on' },
    },
    'heater-right': {
      kind: 'heater',
      equipment: 'heater-right',
      fitted: '2024-11-20',
      limits: { days: '24 mo' },
    },
    'skimmer-cup': { kind: 'skimmer-neck-cup', equipment: 'skimmer', fitted: '2026-02-01' },
    sediment: {
      kind: 'sediment-cartridge',
      equipment: 'ro-unit',
      fitted: '2025-12-10',
      limits: { litres: '2,600 gal', days: '6 mo' },
      counts: { litres: 'feed' },
    },
  },
  people: {
    robin: { name: 'Robin', hubUser: '0123456789abcdef0123456789abcdef', deputy: 'sam' },
    sam: { name: 'Sam' },
  },
  access: {
    robin: { kind: 'person', tokenFile: 'secrets/robin' },
    'node-red': { kind: 'machine', tokenFile: 'secrets/node-red' },
  },
  reminders: { near: '90 %', nearTime: '14 d', later: '3 d', notify: ['notify.mobile_app_phone'] },
  guards: {
    'high-water': { kind: 'high-level', off: ['top-off', 'ro-unit'], above: '30 cm', sensors: ['sump-level'] },
    'water-on-the-floor': { kind: 'leak', off: ['top-off', 'ro-unit'] },
    'top-off-too-long': { kind: 'top-off', off: ['top-off'], run: '60 s' },
    'relay-welded': { kind: 'welded-relay', off: ['heater-left', 'heater-right'] },
  },
  alarms: {
    webhook: { url: { file: 'secrets/alarm-url' } },
    email: {
      host: 'mail.example.org',
      port: 587,
      security: 'starttls',
      user: 'reef@example.org',
      password: { file: 'secrets/mail' },
      from: 'reef@example.org',
      to: ['robin@example.org'],
    },
    heartbeat: { url: { file: 'secrets/heartbeat-url' }, every: '5 min' },
    hubSilent: '10 min',
  },
  rules: { K7: { wait: '90 s' } },
  store: 'data/slackwater.db',
  api: { host: '127.0.0.1', port: 8787 },
  prefix: 'slackwater',
} as const;

const HEAD = [
  ' A complete example of slackwater.yaml: copy it, keep what your tank has, put in the entities of your hub.',
  ' Amounts carry their unit, metric or US: 210 L or 55 gal, 25.5 °C or 78 °F, 90 d or 12 mo.',
  ' Check it with: slackwater check slackwater.yaml',
  ' yaml-language-server: $schema=./slackwater.schema.json',
].join('\n');

/** The file docs/slackwater.example.yaml: the tank above, with the help of each key where it first appears. */
export function exampleYaml(): string {
  const doc = new Document(EXAMPLE);
  doc.commentBefore = HEAD;
  if (isMap(doc.contents)) comment(doc.contents, [], new Set());
  return doc.toString({ lineWidth: 0, flowCollectionPadding: true });
}

function comment(map: YAMLMap, path: readonly string[], said: Set<string>): void {
  for (const [index, pair] of map.items.entries()) {
    if (!isPair(pair) || !isScalar(pair.key)) continue;
    const below = [...path, String(pair.key.value)];
    const text = helpText(below, said);
    if (text !== null) pair.key.commentBefore = text;
    if (path.length === 0 && index > 0) pair.key.spaceBefore = true;
    shape(pair, below, said);
  }
}

/** Small groups of plain values stay on one line; the rest is written out. */
function shape(pair: Pair, path: readonly string[], said: Set<string>): void {
  if (!isMap(pair.value)) return;
  const plain = pair.value.items.every((each) => isScalar(each.value));
  if (plain && path.length >= 2 && path.length !== ENTRY_DEPTH) pair.value.flow = true;
  else comment(pair.value, path, said);
}

const ENTRY_DEPTH = 2;

/** Help once a key of the schema, whichever entry shows it first. Ids of the keeper have none. */
function helpText(path: readonly string[], said: Set<string>): string | null {
  const schema = schemaAt(SCHEMA, path);
  const help = schema === null ? null : helpOf(schema);
  if (help === null || said.has(help.description)) return null;
  said.add(help.description);
  return wrap(help.description, 100 - 2 * path.length);
}

function wrap(text: string, width: number): string {
  const lines = [''];
  for (const word of text.split(' ')) {
    const last = lines.length - 1;
    const longer = `${lines[last]} ${word}`;
    if (longer.length > width && lines[last] !== '') lines.push(` ${word}`);
    else lines[last] = longer;
  }
  return lines.join('\n');
}
