import type { EnergyWh, PowerW, TemperatureC, VolumeL } from '../units/index.ts';
import type { Bounded } from './instruments.ts';
import { impossible, positive, type Range, ROOM, VOLUME, within, zeroOrMore } from './range.ts';
import { solveRising } from './root.ts';
import { densityKgM3, heatCapacityJKgK, type Water } from './seawater.ts';

export const HEAT_SOURCE = 'Newton’s law of cooling; heat capacity and density from TEOS-10';
/** Tank water, where nothing else is said. */
export const TANK_WATER: Water = { salinityPpt: 35, temperatureC: 25 };

const TANK_C: Range = { argument: 'tank', low: 0, high: 45, unit: '°C', why: 'water', example: '25.5 °C' };
const LOSS: Range = { ...positive('loss', 'W/°C', '12 W/°C', 'a loss for each degree over the room'), high: 1000 };
const HOURS: Range = { ...zeroOrMore('hours', 'h', '8 h'), high: 10_000 };
const POWER: Range = { ...zeroOrMore('heater', 'W', '200 W'), high: 20_000 };

/** Wh to warm so much water by one degree: 1.137 for each litre of tank water. */
export function storeWhPerC(volumeL: VolumeL, water: Water = TANK_WATER): EnergyWh {
  return (within(volumeL, VOLUME) * densityKgM3(water) * heatCapacityJKgK(water)) / 3_600_000;
}

export type Body = {
  readonly volumeL: VolumeL;
  readonly lossWPerC: number;
  readonly roomC: TemperatureC;
  /** Everything that heats: heaters, lamps, pumps. */
  readonly heatW: PowerW;
  readonly water?: Water;
};

function checkedBody({ lossWPerC, roomC, heatW }: Body): void {
  within(lossWPerC, LOSS);
  within(roomC, ROOM);
  within(heatW, POWER);
}

/** Where it ends if nothing changes. */
export function settlesAtC(body: Body): TemperatureC {
  checkedBody(body);
  return body.roomC + body.heatW / body.lossWPerC;
}

/** Hours in which the gap to that end falls to 37 %. */
export function timeConstantH({ volumeL, lossWPerC, water }: Pick<Body, 'volumeL' | 'lossWPerC' | 'water'>): number {
  return storeWhPerC(volumeL, water) / within(lossWPerC, LOSS);
}

/** Temperature after so many hours. */
export function temperatureAfterC(body: Body, fromC: TemperatureC, hours: number): TemperatureC {
  within(fromC, TANK_C);
  const end = settlesAtC(body);
  return end + (fromC - end) * Math.exp(-within(hours, HOURS) / timeConstantH(body));
}

/** Hours until it reaches `toC`; null where it never does. */
export function hoursToC(body: Body, fromC: TemperatureC, toC: TemperatureC): number | null {
  within(fromC, TANK_C);
  within(toC, { ...TANK_C, argument: 'target' });
  if (toC === fromC) return 0;
  const end = settlesAtC(body);
  const left = (toC - end) / (fromC - end);
  return left > 0 && left < 1 ? -timeConstantH(body) * Math.log(left) : null;
}

/** °C an hour at the start. */
export function rateCPerH(body: Body, fromC: TemperatureC): number {
  checkedBody(body);
  within(fromC, TANK_C);
  return (body.heatW - body.lossWPerC * (fromC - body.roomC)) / storeWhPerC(body.volumeL, body.water);
}

/** One night or other steady stretch with known heat, best with the lamps off. */
export type Night = {
  readonly hours: number;
  readonly fromC: TemperatureC;
  readonly toC: TemperatureC;
  readonly roomC: TemperatureC;
  readonly heatWh: EnergyWh;
};

/** Watts lost for each degree over the room, from one stretch: the loss that makes it end where it did. */
export function lossFromNight(volumeL: VolumeL, night: Night, water: Water = TANK_WATER): number {
  const { hours, fromC, toC, roomC, heatWh } = night;
  within(hours, { ...HOURS, above: true });
  within(fromC, TANK_C);
  within(toC, { ...TANK_C, argument: 'target' });
  within(heatWh, zeroOrMore('heat', 'Wh', '480 Wh'));
  within(roomC, ROOM);
  const gained = storeWhPerC(volumeL, water) * (toC - fromC);
  if (heatWh - gained <= 0 || (fromC + toC) / 2 <= roomC)
    throw impossible(
      'room',
      `${roomC} °C`,
      'the tank lost no heat to it over that time',
      'Take a stretch in which the tank was warmer than its room and every source of heat is counted.',
    );
  const heatW = heatWh / hours;
  const colder = (lossWPerC: number): number =>
    -temperatureAfterC({ volumeL, lossWPerC, roomC, heatW, water }, fromC, hours);
  return solveRising(colder, -toC, 1e-6, LOSS.high);
}

/** Median over nights, with the least and the most of them. */
export function learnLoss(volumeL: VolumeL, nights: readonly Night[], water: Water = TANK_WATER): Bounded {
  within(nights.length, {
    argument: 'nights',
    low: 1,
    high: 10_000,
    unit: 'nights',
    why: 'one at least',
    example: '3 nights',
  });
  const all = nights.map((night) => lossFromNight(volumeL, night, water)).toSorted((a, b) => a - b);
  const middle = (all.length - 1) / 2;
  const value = ((all[Math.floor(middle)] ?? Number.NaN) + (all[Math.ceil(middle)] ?? Number.NaN)) / 2;
  return { value, low: all[0] ?? value, high: all.at(-1) ?? value };
}

/** Watts that hold the tank at `targetC`, less than zero where it must be cooled. */
export function holdW(lossWPerC: number, targetC: TemperatureC, roomC: TemperatureC): PowerW {
  return within(lossWPerC, LOSS) * (within(targetC, { ...TANK_C, argument: 'target' }) - within(roomC, ROOM));
}

/** Watts for each litre that heaters come to where nothing was learned: common practice, no source. */
export const HEATER_W_PER_L: Bounded = { value: 0.5, low: 0.3, high: 1 };
/** What a heater should have over its need, so that it does not run without a pause. */
export const HEATER_MARGIN = 1.5;
export const HEATER_SOURCE = 'learned loss for the coldest room, times 1.5, split in two: common practice, no source';

export type HeaterSize = {
  readonly totalW: Bounded;
  /** Two share the work, so that one that sticks on cannot cook the tank and one that fails leaves half. */
  readonly eachW: PowerW;
  /** What one of the two alone holds; null where no loss is known. */
  readonly oneHoldsC: TemperatureC | null;
};

/** Size of the heaters: from the learned loss, or by the litre where there is none. */
export function heaterSize(
  volumeL: VolumeL,
  targetC: TemperatureC,
  coldestRoomC: TemperatureC,
  lossWPerC: Bounded | null,
): HeaterSize {
  within(volumeL, VOLUME);
  if (lossWPerC === null) {
    const { value, low, high } = HEATER_W_PER_L;
    const totalW = { value: value * volumeL, low: low * volumeL, high: high * volumeL };
    return { totalW, eachW: totalW.value / 2, oneHoldsC: null };
  }
  const need = (loss: number): number => Math.max(0, holdW(loss, targetC, coldestRoomC)) * HEATER_MARGIN;
  const totalW = { value: need(lossWPerC.value), low: need(lossWPerC.low), high: need(lossWPerC.high) };
  const eachW = totalW.value / 2;
  return { totalW, eachW, oneHoldsC: coldestRoomC + eachW / lossWPerC.value };
}

/** Up to a fifth more for what a barrel loses meanwhile: common practice, no source. */
export const BATCH_LOSS: Bounded = { value: 1, low: 1, high: 1.2 };

export type BatchHeat = { readonly energyWh: Bounded; readonly hours: Bounded };

/** Energy and time to warm a batch that loses nothing; the high end is with what a barrel loses. */
export function heatBatch(
  volumeL: VolumeL,
  fromC: TemperatureC,
  toC: TemperatureC,
  heaterW: PowerW,
  water: Water = TANK_WATER,
): BatchHeat {
  within(fromC, { ...TANK_C, argument: 'from', example: '14 °C' });
  within(toC, { ...TANK_C, argument: 'to', low: fromC, why: 'a heater only warms' });
  within(heaterW, { ...POWER, above: true });
  const plain = storeWhPerC(volumeL, water) * (toC - fromC);
  const energyWh = { value: plain * BATCH_LOSS.value, low: plain * BATCH_LOSS.low, high: plain * BATCH_LOSS.high };
  const { value, low, high } = energyWh;
  return { energyWh, hours: { value: value / heaterW, low: low / heaterW, high: high / heaterW } };
}
