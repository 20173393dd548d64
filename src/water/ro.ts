import type { DissolvedMgL, FlowLPerH, PressureBar, TemperatureC, VolumeL } from '../units/index.ts';
import type { Bounded } from './instruments.ts';
import { impossible, positive, type Range, share, within, zeroOrMore } from './range.ts';

export const RO_SOURCE = 'mass balance; definitions of rejection and recovery as in membrane data sheets';
const FEED: Range = { ...positive('feed', 'mg/L', '320 mg/L', 'tap water'), high: 50_000 };
const PERMEATE: Range = { ...zeroOrMore('permeate', 'mg/L', '9 mg/L', 'RO water'), high: 50_000 };

/** Share of the dissolved solids that the membrane holds back, 0 to 1. */
export function rejection(feedMgL: DissolvedMgL, permeateMgL: DissolvedMgL): number {
  within(feedMgL, FEED);
  within(permeateMgL, PERMEATE);
  if (permeateMgL > feedMgL)
    throw impossible(
      'permeate',
      `${permeateMgL} mg/L`,
      `no membrane adds solids to a feed of ${feedMgL} mg/L`,
      'Check that the two probes are not exchanged, and calibrate them.',
    );
  return 1 - permeateMgL / feedMgL;
}

export function permeateMgL(feedMgL: DissolvedMgL, rejected: number): DissolvedMgL {
  return within(feedMgL, FEED) * (1 - within(rejected, share('rejection', '97 %')));
}

export type Recovery = { readonly recovery: number; readonly feedL: VolumeL; readonly wastePerProduct: number };

/** Share of the feed that becomes product. */
export function recovery(productL: VolumeL, wasteL: VolumeL): Recovery {
  within(productL, positive('product', 'L', '50 L'));
  within(wasteL, zeroOrMore('waste', 'L', '150 L'));
  const feedL = productL + wasteL;
  return { recovery: productL / feedL, feedL, wastePerProduct: wasteL / productL };
}

const RECOVERY: Range = {
  argument: 'recovery',
  low: 0.01,
  high: 1,
  unit: '(as a share)',
  why: 'a share of the feed',
  example: '25 %',
};

/** Litres of feed behind so much product. */
export function feedForProductL(productL: VolumeL, recovered: number): VolumeL {
  return within(productL, zeroOrMore('product', 'L', '45 L')) / within(recovered, RECOVERY);
}

/** mg/L in the waste: what the product does not carry. */
export function concentrateMgL(feedMgL: DissolvedMgL, recovered: number, rejected: number): DissolvedMgL {
  within(recovered, { ...RECOVERY, high: 0.95, why: 'a membrane always sends some water to waste' });
  return (within(feedMgL, FEED) - recovered * permeateMgL(feedMgL, rejected)) / (1 - recovered);
}

// Divide the flow rated at 25 °C by the factor. Three published tables disagree by a third in cold water.
const FIRST_C = 5;
/** General membrane table, 5 to 30 °C (watertreatmentguide.com/temperature_correction.htm). */
const TABLE_A = [
  2.58, 2.38, 2.22, 2.11, 2.0, 1.89, 1.78, 1.68, 1.61, 1.54, 1.47, 1.39, 1.34, 1.29, 1.24, 1.19, 1.15, 1.11, 1.09, 1.04,
  1.0, 0.97, 0.94, 0.91, 0.88, 0.85,
];
/** Table of a maker of RO units, 5 to 30 °C, printed as what to multiply by (scribd.com/doc/81009342). */
// biome-ignore-start lint/suspicious/noApproximativeNumericConstant: 0.707 is printed so and no root
const TABLE_C = [
  0.521, 0.54, 0.56, 0.578, 0.598, 0.62, 0.64, 0.661, 0.684, 0.707, 0.73, 0.754, 0.779, 0.804, 0.83, 0.857, 0.884,
  0.912, 0.941, 0.97, 1.0, 1.031, 1.063, 1.094, 1.127, 1.161,
];
// biome-ignore-end lint/suspicious/noApproximativeNumericConstant: see above
/** Activation temperatures of the thin-film table (scribd.com/document/472189330), which counts with 273 and 298 K. */
const COLD_K = 3020;
const WARM_K = 2640;

export const TCF_SOURCE =
  'three published tables of temperature correction; best: thin-film table exp(U(1/T - 1/298)), U 3020 below 25 °C, 2640 above';
export const FEED_TEMPERATURE: Range = {
  argument: 'temperature',
  low: 5,
  high: 30,
  unit: '°C',
  why: 'the range of the published tables',
  example: '12 °C',
};

/** Thin-film table as its formula: what to divide the flow rated at 25 °C by. */
export function thinFilmDivisor(temperatureC: TemperatureC): number {
  within(temperatureC, FEED_TEMPERATURE);
  return Math.exp((temperatureC < 25 ? COLD_K : WARM_K) * (1 / (273 + temperatureC) - 1 / 298));
}

/** Divisor of one activation temperature with exact kelvins, the form of membrane handbooks. */
export function exponentialDivisor(temperatureC: TemperatureC, activationK: number): number {
  within(temperatureC, { ...FEED_TEMPERATURE, low: 0, high: 50, why: 'water that a membrane stands' });
  within(activationK, { ...positive('activation', 'K', '2640 K'), high: 10_000 });
  return Math.exp(activationK * (1 / (273.15 + temperatureC) - 1 / 298.15));
}

export function generalTableDivisor(temperatureC: TemperatureC): number {
  return between(TABLE_A, temperatureC);
}

export function makerTableDivisor(temperatureC: TemperatureC): number {
  return 1 / between(TABLE_C, temperatureC);
}

/** Straight between whole degrees, as a reader of the table would. */
function between(table: readonly number[], temperatureC: TemperatureC): number {
  const at = within(temperatureC, FEED_TEMPERATURE) - FIRST_C;
  const from = Math.min(Math.floor(at), table.length - 2);
  const [low = Number.NaN, high = Number.NaN] = [table[from], table[from + 1]];
  return low + (high - low) * (at - from);
}

/** What to divide the flow rated at 25 °C by: the thin-film table, between the least and the most of the three. */
export function temperatureDivisor(temperatureC: TemperatureC): Bounded {
  const value = thinFilmDivisor(temperatureC);
  const all = [value, generalTableDivisor(temperatureC), makerTableDivisor(temperatureC)];
  return { value, low: Math.min(...all), high: Math.max(...all) };
}

/** Membranes are rated at 60 psi with 250 mg/L in the feed. */
const RATED_BAR = 4.1;
const RATED_MG_L = 250;
/** A hundredth of the mg/L in psi, a rule of membrane makers. */
const OSMOTIC_BAR_PER_MG_L = 0.06894757293168 / 100;

export const RO_FLOW_SOURCE = `rated flow by net pressure and temperature; ${TCF_SOURCE}`;

export function osmoticBar(tdsMgL: DissolvedMgL): PressureBar {
  return within(tdsMgL, { ...FEED, low: 0 }) * OSMOTIC_BAR_PER_MG_L;
}

export type Membrane = {
  /** Product rated at 25 °C, 4.1 bar and 250 mg/L. */
  readonly ratedLPerH: FlowLPerH;
  readonly pressureBar: PressureBar;
  readonly feedMgL: DissolvedMgL;
  readonly temperatureC: TemperatureC;
};

/** Product flow to expect. */
export function productFlow({ ratedLPerH, pressureBar, feedMgL, temperatureC }: Membrane): Bounded {
  const at25 = productAt25({ ratedLPerH, pressureBar, feedMgL });
  const { value, low, high } = temperatureDivisor(temperatureC);
  return { value: at25 / value, low: at25 / high, high: at25 / low };
}

/** Product flow to expect of water at 25 °C: the rating brought to this pressure and feed. */
export function productAt25({ ratedLPerH, pressureBar, feedMgL }: Omit<Membrane, 'temperatureC'>): FlowLPerH {
  within(ratedLPerH, positive('rated', 'L/h', '15.8 L/h'));
  within(pressureBar, { ...positive('pressure', 'bar', '5.5 bar'), high: 20, why: 'what a home membrane stands' });
  const net = pressureBar - osmoticBar(feedMgL);
  if (net <= 0)
    throw impossible(
      'pressure',
      `${pressureBar} bar`,
      `it does not overcome the osmotic pressure of ${feedMgL} mg/L`,
      'Give the pressure at the membrane, behind the booster.',
    );
  return (ratedLPerH * net) / (RATED_BAR - RATED_MG_L * OSMOTIC_BAR_PER_MG_L);
}

export type Production = { readonly temperatureC: TemperatureC; readonly flowLPerH: FlowLPerH };
export type LearnedFlow = {
  /** At 25 °C. */
  readonly at25: Bounded;
  readonly samples: number;
};
export const LEARNED_FLOW_SOURCE = 'the tank’s own litres per hour and feed temperatures, through the thin-film table';
const LEAST_SAMPLES = 3;

/** Flow brought to 25 °C: what tells an ageing membrane from cold water. */
export function normalisedFlow({ temperatureC, flowLPerH }: Production): FlowLPerH {
  return within(flowLPerH, positive('flow', 'L/h', '12 L/h')) * thinFilmDivisor(temperatureC);
}

/** The same between the least and the most of the published tables: what a single run says of the membrane. */
export function normalisedFlowBand({ temperatureC, flowLPerH }: Production): Bounded {
  const flow = within(flowLPerH, positive('flow', 'L/h', '12 L/h'));
  const { value, low, high } = temperatureDivisor(temperatureC);
  return { value: flow * value, low: flow * low, high: flow * high };
}

/** Median of the tank's own runs, with their tenth and ninetieth percentile. */
export function learnFlow(runs: readonly Production[]): LearnedFlow {
  within(runs.length, {
    argument: 'runs',
    low: LEAST_SAMPLES,
    high: 100_000,
    unit: 'runs',
    why: 'fewer tell nothing of the spread',
    example: '3 runs',
  });
  const all = runs.map(normalisedFlow).toSorted((a, b) => a - b);
  return {
    at25: { value: quantile(all, 0.5), low: quantile(all, 0.1), high: quantile(all, 0.9) },
    samples: all.length,
  };
}

/** Hours to make so many litres at this feed temperature. */
export function hoursToMake(litres: VolumeL, at25: Bounded, temperatureC: TemperatureC): Bounded {
  within(litres, positive('product', 'L', '135 L'));
  const divisor = thinFilmDivisor(temperatureC);
  return {
    value: (litres * divisor) / at25.value,
    low: (litres * divisor) / at25.high,
    high: (litres * divisor) / at25.low,
  };
}

function quantile(sorted: readonly number[], part: number): number {
  const at = part * (sorted.length - 1);
  const from = Math.floor(at);
  const low = sorted[from] ?? Number.NaN;
  const high = sorted[Math.min(from + 1, sorted.length - 1)] ?? low;
  return low + (high - low) * (at - from);
}
