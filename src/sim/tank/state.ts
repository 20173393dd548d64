// The demo tank at one moment, as plain data.
import type { InstantMs, PowerW, SalinityPpt, TemperatureC, VolumeL } from '../../units/index.ts';
import { PLUG_KEYS, type PlugKey } from './plugs.ts';
import { roomC } from './seasons.ts';
import { BLOCKED_DRAIN_DOWN_L, DRAIN_DOWN_L, NORMAL_SUMP_L } from './water.ts';

export type DeviceState = {
  /** How long it has had power without a break; 0 = none. */
  readonly onForMs: number;
  /** Draw at this very moment. */
  readonly powerW: PowerW;
  /** Mean over the meter's window: what a plug can know. */
  readonly meanPowerW: PowerW;
  /** Slow wander around the usual draw, in deviations. */
  readonly wander: number;
};

export type TankState = {
  readonly at: InstantMs;
  /** State of the generator: two runs from the same number are the same run. */
  readonly rng: number;
  readonly devices: Readonly<Record<PlugKey, DeviceState>>;
  /** Last cleaning per device: scale and salt build up from here. */
  readonly cleanedAt: Readonly<Partial<Record<PlugKey, InstantMs>>>;
  /** Litres come down from display and pipe because the return does not run. */
  readonly downL: VolumeL;
  /** What comes down at a stop. */
  readonly drainDownL: VolumeL;
  /** Fresh water missing against the usual sump filling; negative after too much top-off. */
  readonly missingL: VolumeL;
  readonly displayC: TemperatureC;
  readonly sumpC: TemperatureC;
  readonly barrelC: TemperatureC;
  readonly salinityPpt: SalinityPpt;
  readonly storeL: VolumeL;
  readonly barrelL: VolumeL;
  /** The low float asks for water; it has its own hysteresis. */
  readonly topOffDemand: boolean;
  readonly roRunning: boolean;
  /** Totals since the simulation began, the simulator's own truth. */
  readonly totals: {
    readonly evaporatedL: VolumeL;
    readonly topOffL: VolumeL;
    readonly topOffRuns: number;
    readonly feedL: VolumeL;
    readonly productL: VolumeL;
    readonly energyWh: number;
  };
};

export type TankInputs = {
  /** Relay closed and device plugged in. */
  readonly powered: Readonly<Record<PlugKey, boolean>>;
};

export type TankOptions = {
  readonly at: InstantMs;
  readonly seed: number;
  readonly running: Readonly<Partial<Record<PlugKey, boolean>>>;
  readonly cleanedAt?: Readonly<Partial<Record<PlugKey, InstantMs>>>;
  readonly siphonHoleBlocked?: boolean;
};

const LONG_AGO_MS = 86_400_000;

/** A tank that has been in this state for a while: pumps past their soft start, lamps warm. */
export function startTank(options: TankOptions): TankState {
  const device = (on: boolean): DeviceState => ({ onForMs: on ? LONG_AGO_MS : 0, powerW: 0, meanPowerW: 0, wander: 0 });
  const devices = Object.fromEntries(PLUG_KEYS.map((key) => [key, device(options.running[key] === true)]));
  return {
    at: options.at,
    rng: options.seed >>> 0,
    devices: devices as Record<PlugKey, DeviceState>,
    cleanedAt: options.cleanedAt ?? {},
    downL: 0,
    drainDownL: options.siphonHoleBlocked === true ? BLOCKED_DRAIN_DOWN_L : DRAIN_DOWN_L,
    missingL: 0.1,
    displayC: 25.49,
    sumpC: 25.47,
    barrelC: roomC(options.at) - 0.5,
    salinityPpt: 35,
    storeL: 36,
    barrelL: 58,
    topOffDemand: false,
    roRunning: false,
    totals: { evaporatedL: 0, topOffL: 0, topOffRuns: 0, feedL: 0, productL: 0, energyWh: 0 },
  };
}

export const sumpLitres = (state: TankState): VolumeL => NORMAL_SUMP_L + state.downL - state.missingL;
