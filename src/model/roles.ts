/** Roles an equipment can have in the tank; the rule pack says what each one needs, feeds and endangers. */
export const ROLE_IDS = [
  'return-pump',
  'circulation-pump',
  'skimmer',
  'heater',
  'chiller',
  'fan',
  'fluorescent-bank',
  'led-lamp',
  'uv-unit',
  'media-reactor',
  'algae-reactor',
  'algae-lamp',
  'calcium-reactor',
  'limewater-doser',
  'dosing-pump',
  'top-off',
  'ro-unit',
  'mixing-pump',
  'mixing-heater',
  'feeder',
  'air-pump',
  'battery-backup',
  'hub-network',
] as const;
export type RoleId = (typeof ROLE_IDS)[number];

/** Lamps over the animals; what grows algae for export, or burns germs, bleaches nobody. */
export const DISPLAY_LAMPS: readonly RoleId[] = ['fluorescent-bank', 'led-lamp'];

/** What a sensor of the tank tells. */
export const SENSOR_KINDS = [
  'display-temperature',
  'sump-temperature',
  'barrel-temperature',
  'room-temperature',
  'sump-level',
  'low-float',
  'high-float',
  'store-low-float',
  'barrel-high-float',
  'salinity',
  'ph',
  'feed-tds',
  'ro-tds',
  'product-tds',
  'feed-litres',
  'product-litres',
  'lux',
  'leak',
  'door',
] as const;
export type SensorKind = (typeof SENSOR_KINDS)[number];

/** Amounts a limit can be set on. Unit of the number: see MEASURE_UNITS. */
export const MEASURES = ['on-hours', 'starts', 'litres', 'energy', 'days', 'grams', 'actuations'] as const;
export type Measure = (typeof MEASURES)[number];

/** The unit in which an amount of each measure is kept. */
export const MEASURE_UNITS: Readonly<Record<Measure, string>> = {
  'on-hours': 'h',
  starts: 'starts',
  litres: 'L',
  energy: 'kWh',
  days: 'd',
  grams: 'g',
  actuations: 'actuations',
};
