// The tank moves on: a pure step from one state to the next.
import { DAY_MS, HOUR_MS, SECOND_MS, type TemperatureC } from '../../units/index.ts';
import { localTime } from '../calendar.ts';
import { type Prng, prng } from '../random.ts';
import { PLUG_KEYS, PLUGS, type PlugKey } from './plugs.ts';
import { evaporationLPerDay, productLPerHour, roomC } from './seasons.ts';
import { type DeviceState, sumpLitres, type TankInputs, type TankState } from './state.ts';
import {
  BARREL_L,
  leftToDrainL,
  NET_VOLUME_L,
  NORMAL_LEVEL_CM,
  stillDownL,
  sumpLevelCm,
  TOP_OFF_STORE_L,
  WH_PER_L_C,
} from './water.ts';
import { devicePower, isDosing } from './watts.ts';

/** Longer steps are taken in pieces, so that a late timer changes little. */
const LONGEST_PIECE_MS = 2 * SECOND_MS;

export function stepTank(state: TankState, inputs: TankInputs, dtMs: number): TankState {
  let next = state;
  let leftMs = dtMs;
  while (leftMs > 0) {
    const piece = Math.min(leftMs, LONGEST_PIECE_MS);
    next = stepPiece(next, inputs, piece);
    leftMs -= piece;
  }
  return next;
}

function stepPiece(state: TankState, inputs: TankInputs, dtMs: number): TankState {
  const random = prng(state.rng);
  const moved = { ...state, at: state.at + dtMs };
  const watered = moveWater(moved, inputs, dtMs);
  const heated = moveHeat(watered, inputs, dtMs);
  const devices = moveDevices(heated, inputs, dtMs, random);
  let energyWh = heated.totals.energyWh;
  for (const key of PLUG_KEYS) energyWh += (devices[key].meanPowerW * dtMs) / HOUR_MS;
  return { ...heated, devices, rng: random.state(), totals: { ...heated.totals, energyWh } };
}

export const TOP_OFF_L_PER_S = 0.0175;
/** The low float asks below and is content above: one run is about 20 s. */
const FLOAT_LOW_CM = NORMAL_LEVEL_CM - 0.14;
const FLOAT_CONTENT_CM = NORMAL_LEVEL_CM + 0.14;
/** Product is a quarter of the feed. */
export const FEED_PER_PRODUCT = 4;

function moveWater(state: TankState, inputs: TankInputs, dtMs: number): TankState {
  const { powered } = inputs;
  const { day } = localTime(state.at);
  const returnFlow = powered.return_pump ? Math.min(1, state.devices.return_pump.onForMs / 12_000) : 0;
  const downL = powered.return_pump
    ? stillDownL(state.downL, returnFlow, dtMs)
    : state.drainDownL - leftToDrainL(state.drainDownL - state.downL, state.drainDownL, dtMs);
  const evaporatedL = (evaporationLPerDay(day) * dtMs) / DAY_MS;
  const levelCm = sumpLevelCm(sumpLitres({ ...state, downL }));
  const topOffDemand = levelCm < FLOAT_LOW_CM || (state.topOffDemand && levelCm < FLOAT_CONTENT_CM);
  const pumping = powered.top_off && topOffDemand && state.storeL > 0.05;
  const topOffL = pumping ? Math.min(state.storeL, (TOP_OFF_L_PER_S * dtMs) / SECOND_MS) : 0;
  const missingL = state.missingL + evaporatedL - topOffL;

  const roRunning = powered.ro_unit && state.storeL + state.barrelL < TOP_OFF_STORE_L + BARREL_L - 0.01;
  const productL = roRunning ? (productLPerHour(day) * dtMs) / HOUR_MS : 0;
  const intoStore = Math.min(productL, TOP_OFF_STORE_L - (state.storeL - topOffL));
  return {
    ...state,
    downL,
    missingL,
    topOffDemand,
    roRunning,
    storeL: state.storeL - topOffL + intoStore,
    barrelL: Math.min(BARREL_L, state.barrelL + productL - intoStore),
    salinityPpt: (state.salinityPpt * (NET_VOLUME_L - state.missingL)) / (NET_VOLUME_L - missingL),
    totals: {
      ...state.totals,
      evaporatedL: state.totals.evaporatedL + evaporatedL,
      topOffL: state.totals.topOffL + topOffL,
      topOffRuns: state.totals.topOffRuns + (pumping && !isWorking(state, 'top_off') ? 1 : 0),
      feedL: state.totals.feedL + productL * FEED_PER_PRODUCT,
      productL: state.totals.productL + productL,
    },
  };
}

/** Watts lost per degree above the room: with all off, 458 L at 25.5 °C in a 19.5 °C room fall about 0.3 °C an hour. */
const LOSS_W_PER_C = 30;
const SUMP_SHARE = 0.2;
/** Water side of each watt: pumps standing in it give nearly all, lamps above it a little. */
const INTO_WATER: Readonly<Partial<Record<PlugKey, number>>> = {
  return_pump: 0.4,
  circulation_left: 0.8,
  circulation_right: 0.8,
  skimmer: 0.4,
  lamp_bank_1: 0.15,
  lamp_bank_2: 0.15,
  led_strip: 0.15,
  uv_unit: 0.6,
  algae_pump: 0.4,
};
/** Coupling of sump and display by the return's flow, in W per degree. */
const RETURN_COUPLING_W_PER_C = 3_000;
/** Each heater's own upper stop. */
export const HEATER_OWN_STOP_C: TemperatureC = 26.6;
const FAN_COOLING_W = 90;

function moveHeat(state: TankState, inputs: TankInputs, dtMs: number): TankState {
  const hours = dtMs / HOUR_MS;
  const room = roomC(state.at);
  const { devices } = state;
  const sumpL = NET_VOLUME_L * SUMP_SHARE + state.downL;
  const displayL = NET_VOLUME_L - sumpL;
  let displayW = -LOSS_W_PER_C * (1 - SUMP_SHARE) * (state.displayC - room);
  let sumpW = -LOSS_W_PER_C * SUMP_SHARE * (state.sumpC - room);
  for (const [key, share] of Object.entries(INTO_WATER)) displayW += devices[key as PlugKey].meanPowerW * share;
  if (inputs.powered.fans) displayW -= FAN_COOLING_W;
  sumpW += devices.heater_1.meanPowerW + devices.heater_2.meanPowerW;

  const flow = inputs.powered.return_pump ? Math.min(1, devices.return_pump.onForMs / 12_000) : 0;
  let displayC = state.displayC + (displayW * hours) / (WH_PER_L_C * displayL);
  let sumpC = state.sumpC + (sumpW * hours) / (WH_PER_L_C * sumpL);
  // Exchanged exactly over the step, so that a long one cannot swing.
  const meanC = (displayC * displayL + sumpC * sumpL) / (displayL + sumpL);
  const rate = (RETURN_COUPLING_W_PER_C * flow * (1 / displayL + 1 / sumpL)) / WH_PER_L_C;
  const kept = Math.exp(-rate * hours);
  displayC = meanC + (displayC - meanC) * kept;
  sumpC = meanC + (sumpC - meanC) * kept;

  const barrelWh = WH_PER_L_C * Math.max(5, state.barrelL);
  const barrelW = devices.mixing_heater.meanPowerW - 6 * (state.barrelC - room);
  return { ...state, displayC, sumpC, barrelC: state.barrelC + (barrelW * hours) / barrelWh };
}

function isWorking(state: TankState, key: PlugKey): boolean {
  return state.devices[key].powerW > 0.5;
}

function hasWork(state: TankState, key: PlugKey): boolean {
  switch (key) {
    case 'heater_1':
    case 'heater_2':
      return state.sumpC < HEATER_OWN_STOP_C;
    case 'top_off':
      return state.topOffDemand && state.storeL > 0.05;
    case 'ro_unit':
      return state.roRunning;
    case 'mixing_heater':
      return state.barrelC < 25.5;
    case 'doser':
      return isDosing(state.at);
    default:
      return true;
  }
}

/** How slowly the draw wanders: one deviation takes about this long to be forgotten. */
const WANDER_MS = 20_000;

function moveDevices(
  state: TankState,
  inputs: TankInputs,
  dtMs: number,
  random: Prng,
): Readonly<Record<PlugKey, DeviceState>> {
  const kept = Math.exp(-dtMs / WANDER_MS);
  const fresh = Math.sqrt(1 - kept * kept);
  const devices = {} as Record<PlugKey, DeviceState>;
  for (const key of PLUG_KEYS) {
    const old = state.devices[key];
    const wander = old.wander * kept + random.gaussian() * fresh;
    const onForMs = inputs.powered[key] ? old.onForMs + dtMs : 0;
    if (onForMs === 0) {
      devices[key] = { onForMs, powerW: 0, meanPowerW: 0, wander };
      continue;
    }
    const cleanedAt = state.cleanedAt[key] ?? state.at;
    const { powerW, meanPowerW } = devicePower(key, { at: state.at, onForMs, cleanedAt, working: hasWork(state, key) });
    // A device that idles has nothing to wander about.
    const swing = meanPowerW > 0.5 ? wander * PLUGS[key].sdW : 0;
    devices[key] = {
      onForMs,
      powerW: Math.max(0, powerW + swing),
      meanPowerW: Math.max(0, meanPowerW + swing),
      wander,
    };
  }
  return devices;
}
