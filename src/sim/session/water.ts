// Water and heat of any tank: drain-down and refill, evaporation and top-off, litres a person moves, two lumps of heat.
import type { DurationMs, LengthCm, TemperatureC, VolumeL } from '../../units/index.ts';
import { DAY_MS, HOUR_MS, SECOND_MS } from '../../units/index.ts';
import { leftToDrainL, stillDownL, WH_PER_L_C } from '../tank/index.ts';
import type { SessionTank } from './tanks.ts';

export type Water = {
  readonly levelOf: (sumpL: VolumeL) => LengthCm;
  readonly normalSumpL: VolumeL;
  readonly normalCm: LengthCm;
  readonly netL: VolumeL;
  /** Down in the sump because no return runs, and how much that becomes in the end. */
  downL: VolumeL;
  drainDownL: VolumeL;
  /** Evaporated and not yet replaced; negative after too much top-off. */
  missingL: VolumeL;
  /** Out of the tank or lifted: a skimmer's body, what was siphoned off. */
  liftedL: VolumeL;
  takenL: VolumeL;
  /** Fresh water the top-off gave, in all; its store holds no more than so much. */
  toppedL: VolumeL;
  displayC: TemperatureC;
  sumpC: TemperatureC;
  salinityPpt: number;
  /** The low float asks for water; it may hang. */
  wantsTopOff: boolean;
  floatHangs: boolean;
  /** A person holds this float for a test: the low one down, or the high one up. */
  heldFloat: 'low' | 'high' | null;
  leaks: boolean;
  levelCm: LengthCm;
  hasFlow: boolean;
};

const PLAIN_L_PER_CM = 2;
const PLAIN_NORMAL_CM = 18;

export function createWater(home: SessionTank, drainDownL: VolumeL): Water {
  const { sump, volumeL } = home.tank;
  const perCm = sump?.litresPerCm ?? PLAIN_L_PER_CM;
  const normalCm = sump?.normalLevelCm ?? PLAIN_NORMAL_CM;
  const straight = (sumpL: VolumeL): LengthCm => Math.max(0, sumpL / perCm);
  const levelOf = home.levelCm ?? straight;
  // The litres at which the sump stands at its usual level.
  const normalSumpL = home.levelCm === undefined ? normalCm * perCm : litresAt(home.levelCm, normalCm);
  return {
    levelOf,
    normalSumpL,
    normalCm: levelOf(normalSumpL),
    netL: volumeL,
    downL: 0,
    drainDownL,
    missingL: 0,
    liftedL: 0,
    takenL: 0,
    toppedL: 0,
    displayC: 25.49,
    sumpC: 25.47,
    salinityPpt: 35,
    wantsTopOff: false,
    floatHangs: false,
    heldFloat: null,
    leaks: false,
    levelCm: levelOf(normalSumpL),
    hasFlow: true,
  };
}

function litresAt(levelOf: (sumpL: VolumeL) => LengthCm, cm: LengthCm): VolumeL {
  let low = 0;
  let high = 1_000;
  for (let i = 0; i < 50; i++) {
    const middle = (low + high) / 2;
    if (levelOf(middle) < cm) low = middle;
    else high = middle;
  }
  return high;
}

export type Flows = {
  /** A return runs. */
  readonly hasReturn: boolean;
  readonly toppingOff: boolean;
  readonly heaterW: number;
  readonly otherW: number;
};

const EVAPORATION_L_PER_DAY = 6;
const STORE_L = 40;
const TOP_OFF_L_PER_S = 0.0175;
const FLOAT_BAND_CM = 0.14;
const LEAK_L_PER_MIN = 0.05;

/** Moves water and heat on by `dtMs`; exact for any length, so that quiet hours cost no more than busy seconds. */
export function moveWater(water: Water, flows: Flows, dtMs: DurationMs): void {
  if (dtMs <= 0) return;
  const { downL, drainDownL } = water;
  water.downL = flows.hasReturn
    ? stillDownL(downL, 1, dtMs)
    : Math.max(downL, drainDownL - leftToDrainL(Math.max(0, drainDownL - downL), drainDownL, dtMs));
  const evaporatedL = (EVAPORATION_L_PER_DAY * dtMs) / DAY_MS;
  const wantedL = flows.toppingOff && water.wantsTopOff ? (TOP_OFF_L_PER_S * dtMs) / SECOND_MS : 0;
  const toppedL = Math.min(wantedL, Math.max(0, STORE_L - water.toppedL));
  const leakedL = water.leaks ? (LEAK_L_PER_MIN * dtMs) / 60_000 : 0;
  water.missingL += evaporatedL + leakedL - toppedL;
  water.toppedL += toppedL;
  water.salinityPpt *= 1 + (evaporatedL - toppedL) / water.netL;
  water.hasFlow = flows.hasReturn;
  moveHeat(water, flows, dtMs);
  look(water);
}

/** Level and float, as they follow from the litres. */
export function look(water: Water): void {
  // What is taken from the display is missing in the sump when the return runs again.
  const missingL = water.missingL + water.liftedL + (water.hasFlow ? water.takenL : 0);
  water.levelCm = water.levelOf(water.normalSumpL + water.downL - missingL);
  const { normalCm } = water;
  if (water.heldFloat !== null) water.wantsTopOff = water.heldFloat === 'low';
  else if (water.floatHangs) water.wantsTopOff = true;
  else if (water.levelCm < normalCm - FLOAT_BAND_CM) water.wantsTopOff = true;
  else if (water.levelCm > normalCm + FLOAT_BAND_CM) water.wantsTopOff = false;
}

const ROOM_C = 20;
const LOSS_W_PER_C = 30;
const SUMP_SHARE = 0.2;
const COUPLING_W_PER_C = 3_000;

function moveHeat(water: Water, flows: Flows, dtMs: DurationMs): void {
  const hours = dtMs / HOUR_MS;
  const sumpL = water.netL * SUMP_SHARE + water.downL;
  const displayL = Math.max(20, water.netL - sumpL);
  const displayW = flows.otherW - LOSS_W_PER_C * (1 - SUMP_SHARE) * (water.displayC - ROOM_C);
  const sumpW = flows.heaterW - LOSS_W_PER_C * SUMP_SHARE * (water.sumpC - ROOM_C);
  const displayC = water.displayC + (displayW * hours) / (WH_PER_L_C * displayL);
  const sumpC = water.sumpC + (sumpW * hours) / (WH_PER_L_C * sumpL);
  // Exchanged exactly over the step, so that a long one cannot swing.
  const meanC = (displayC * displayL + sumpC * sumpL) / (displayL + sumpL);
  const rate = flows.hasReturn ? (COUPLING_W_PER_C * (1 / displayL + 1 / sumpL)) / WH_PER_L_C : 0;
  const kept = Math.exp(-rate * hours);
  water.displayC = meanC + (displayC - meanC) * kept;
  water.sumpC = meanC + (sumpC - meanC) * kept;
}
