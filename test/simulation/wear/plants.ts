// The conditions that are planted: how each one comes on, what it needs to be seen by, and what must be said of it.
import type { FindingKind } from '../../../src/condition/index.ts';
import type { PlugKey } from '../../../src/sim/index.ts';
import type { Truth } from './truth.ts';

export type Expected = { readonly kind: FindingKind; readonly equipment?: string };

export type Plant = {
  readonly name: string;
  /** `days` since it began, 0 or more. */
  apply(truth: Truth, days: number): void;
  readonly season: 'winter' | 'summer' | 'any';
  /** Plugs beside the sensors that the window carries. */
  readonly plugs: readonly PlugKey[];
  readonly expected: readonly Expected[];
  /** True of it as well, and no false alarm. */
  readonly also?: readonly Expected[];
  /** It begins no later than this day of the window, so that there is time to see it. */
  readonly latestDay: number;
  /** Then somebody put it right. */
  readonly lastsDays?: number;
};

const ramp = (days: number, over: number, to: number): number => to * Math.min(1, days / over);

const LAMPS: readonly PlugKey[] = ['lamp_bank_1', 'lamp_bank_2', 'led_strip'];
const WATER: readonly PlugKey[] = ['return_pump', 'top_off'];
const HEAT: readonly PlugKey[] = ['return_pump', 'heater_1', 'heater_2', 'fans'];

const lampPlants: readonly Plant[] = [
  {
    name: 'one tube of three dies',
    apply: (truth) => (truth.tubesOut = 1),
    ...{ season: 'any', plugs: LAMPS, latestDay: 80 },
    expected: [{ kind: 'dead-lamp', equipment: 'lamp-bank-1' }],
  },
  {
    name: 'a whole bank stays dark',
    apply: (truth) => (truth.bankDead = true),
    ...{ season: 'any', plugs: LAMPS, latestDay: 80 },
    expected: [{ kind: 'no-draw', equipment: 'lamp-bank-1' }],
  },
  {
    name: 'UV lamp goes out, its ballast stays',
    apply: (truth) => (truth.uvOut = true),
    ...{ season: 'any', plugs: ['uv_unit'], latestDay: 80 },
    expected: [{ kind: 'dead-lamp', equipment: 'uv-unit' }],
  },
  {
    name: 'tubes fade by 28 % in 45 days',
    apply: (truth, days) => (truth.light = 1 - ramp(days, 45, 0.28)),
    ...{ season: 'any', plugs: LAMPS, latestDay: 35 },
    expected: [{ kind: 'lamp-fading', equipment: 'lamp-bank-1' }],
  },
];

const pumpPlants: readonly Plant[] = [
  {
    name: 'circulation pump scales up, +16 % in 36 days',
    apply(truth, days) {
      truth.circulation.watts = 1 + ramp(days, 36, 0.16);
      truth.circulation.spread = 1 + ramp(days, 36, 1);
    },
    ...{ season: 'any', plugs: ['circulation_left', 'circulation_right'], latestDay: 40 },
    expected: [{ kind: 'pump-fouling', equipment: 'circulation-left' }],
  },
  {
    name: 'circulation pump does not turn after a pause',
    apply: (truth) => (truth.circulation.still = true),
    ...{ season: 'any', plugs: ['circulation_left', 'circulation_right'], latestDay: 80 },
    expected: [{ kind: 'pump-not-turning', equipment: 'circulation-left' }],
  },
  {
    name: 'return pump clogs, −12 % in 20 days',
    apply: (truth, days) => (truth.returnPump.watts = 1 - ramp(days, 20, 0.12)),
    ...{ season: 'any', plugs: ['return_pump'], latestDay: 60 },
    expected: [{ kind: 'pump-fouling', equipment: 'return-pump' }],
  },
  {
    name: 'return pump draws air',
    apply: (truth) => (truth.returnPump.dry = true),
    lastsDays: 2,
    ...{ season: 'any', plugs: ['return_pump'], latestDay: 80 },
    expected: [{ kind: 'pump-dry', equipment: 'return-pump' }],
    also: [{ kind: 'pump-fouling', equipment: 'return-pump' }],
  },
  {
    name: 'skimmer air line salts up, +12 % in 25 days',
    apply: (truth, days) => (truth.skimmer = 1 + ramp(days, 25, 0.12)),
    ...{ season: 'any', plugs: ['skimmer'], latestDay: 50 },
    expected: [{ kind: 'skimmer-air', equipment: 'skimmer' }],
  },
  {
    name: 'one of two fans stands still',
    apply: (truth) => (truth.fan = 6.1 / 12),
    ...{ season: 'summer', plugs: HEAT, latestDay: 75 },
    expected: [{ kind: 'dead-fan', equipment: 'fans' }],
  },
];

const heatPlants: readonly Plant[] = [
  {
    name: 'heater loses 15 % of its watts',
    apply: (truth) => (truth.heater2.watts = 0.85),
    ...{ season: 'winter', plugs: HEAT, latestDay: 70 },
    expected: [{ kind: 'heater-watts', equipment: 'heater-2' }],
  },
  {
    name: 'only 60 % of the heat reaches the water',
    apply: (truth) => (truth.heater2.intoWater = 0.6),
    ...{ season: 'winter', plugs: HEAT, latestDay: 65 },
    expected: [{ kind: 'heater-duty' }],
    also: [{ kind: 'heater-no-warming', equipment: 'heater-2' }],
  },
  {
    name: 'heater out of the water',
    apply: (truth) => (truth.heater2.intoWater = 0.03),
    ...{ season: 'winter', plugs: HEAT, latestDay: 75 },
    expected: [{ kind: 'heater-no-warming', equipment: 'heater-2' }],
    also: [{ kind: 'heater-duty' }],
  },
  {
    name: 'plug relay of a heater welds',
    apply: (truth) => (truth.heater2.welded = true),
    lastsDays: 2,
    ...{ season: 'winter', plugs: HEAT, latestDay: 80 },
    expected: [{ kind: 'welded-relay', equipment: 'heater-2' }],
    also: [{ kind: 'heater-duty' }],
  },
  {
    name: 'display probe drifts −0.07 °C a day to −1.4 °C',
    apply: (truth, days) => (truth.displayProbeC = -ramp(days, 20, 1.4)),
    ...{ season: 'winter', plugs: HEAT, latestDay: 60 },
    expected: [{ kind: 'probe-disagreement' }],
    also: [{ kind: 'heater-duty' }],
  },
  {
    name: 'display probe falls out',
    apply: (truth) => (truth.displayProbeC = -4),
    lastsDays: 2,
    ...{ season: 'winter', plugs: HEAT, latestDay: 80 },
    expected: [{ kind: 'probe-disagreement' }],
    also: [{ kind: 'heater-duty' }, { kind: 'no-draw' }, { kind: 'heater-no-warming' }],
  },
];

const waterPlants: readonly Plant[] = [
  {
    name: 'low float jams',
    apply: (truth) => (truth.floatStuck = true),
    lastsDays: 2,
    ...{ season: 'any', plugs: WATER, latestDay: 80 },
    expected: [{ kind: 'sticky-float', equipment: 'top-off' }],
  },
  {
    name: 'low float hangs in one run of eight',
    apply: (truth) => (truth.floatHangs = 0.125),
    ...{ season: 'any', plugs: WATER, latestDay: 70 },
    expected: [{ kind: 'sticky-float', equipment: 'top-off' }],
  },
  {
    name: 'growth on the floats, the line sinks 12 mm in 50 days',
    apply(truth, days) {
      truth.lineFallCm = ramp(days, 50, 1.2);
      truth.band = 1 + ramp(days, 50, 0.3);
    },
    ...{ season: 'any', plugs: WATER, latestDay: 35 },
    expected: [{ kind: 'float-growth', equipment: 'top-off' }],
    also: [{ kind: 'sticky-float', equipment: 'top-off' }],
  },
  {
    name: 'top-off pump gives 40 % less in 20 days',
    apply: (truth, days) => (truth.topOffRate = 1 - ramp(days, 20, 0.4)),
    ...{ season: 'any', plugs: WATER, latestDay: 55 },
    expected: [{ kind: 'top-off-weak', equipment: 'top-off' }],
    also: [{ kind: 'sticky-float', equipment: 'top-off' }],
  },
  {
    name: 'top-off store runs empty',
    apply: (truth) => (truth.storeEmpty = true),
    lastsDays: 1,
    ...{ season: 'any', plugs: WATER, latestDay: 80 },
    expected: [{ kind: 'store-empty', equipment: 'top-off' }],
  },
  {
    name: 'siphon through the top-off hose',
    apply: (truth) => (truth.siphon = true),
    lastsDays: 2,
    ...{ season: 'any', plugs: WATER, latestDay: 80 },
    expected: [{ kind: 'siphon', equipment: 'top-off' }],
  },
  {
    name: 'siphon-break hole blocked',
    apply: (truth) => (truth.rise = 2.2),
    ...{ season: 'any', plugs: WATER, latestDay: 78 },
    expected: [{ kind: 'siphon-hole' }],
  },
  {
    name: 'siphon-break hole grows shut, rise +40 % in 40 days',
    apply: (truth, days) => (truth.rise = 1 + ramp(days, 40, 0.4)),
    ...{ season: 'any', plugs: WATER, latestDay: 40 },
    expected: [{ kind: 'siphon-hole' }],
  },
];

const BREAKTHROUGH = [0, 0, 1, 1, 2, 4, 7, 9, 11];
const roPlants: readonly Plant[] = [
  {
    name: 'resin breaks through',
    apply: (truth, days) => (truth.productMgPerL = BREAKTHROUGH[Math.min(8, Math.floor(days))] ?? 0),
    ...{ season: 'any', plugs: ['ro_unit'], latestDay: 75 },
    expected: [{ kind: 'resin-breakthrough', equipment: 'ro-unit' }],
  },
  {
    name: 'rejection falls from 97 to 94.5 % in 45 days',
    apply: (truth, days) => (truth.rejection = 0.97 - ramp(days, 45, 0.025)),
    ...{ season: 'any', plugs: ['ro_unit'], latestDay: 35 },
    expected: [{ kind: 'rejection-decline', equipment: 'ro-unit' }],
  },
  {
    name: 'RO valve leaks 11 L/h when off',
    apply: (truth) => (truth.leakLPerH = 11),
    lastsDays: 2,
    ...{ season: 'any', plugs: ['ro_unit'], latestDay: 80 },
    expected: [{ kind: 'flow-when-off', equipment: 'ro-unit' }],
  },
];

export const PLANTS: readonly Plant[] = [...lampPlants, ...pumpPlants, ...heatPlants, ...waterPlants, ...roPlants];
