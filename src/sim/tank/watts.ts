// What each device draws. Shared by the live tank and by the recorded past.
import { DAY_MS, HOUR_MS, type InstantMs, MINUTE_MS, type PowerW } from '../../units/index.ts';
import { localTime } from '../calendar.ts';
import { PLUGS, type PlugKey } from './plugs.ts';

/** Usual draw of a device that has power and something to do, with what scale and salt have added since cleaning. */
export function usualPowerW(key: PlugKey, sinceCleanedMs: number): PowerW {
  const days = Math.max(0, sinceCleanedMs) / DAY_MS;
  const clean = PLUGS[key].powerW;
  if (key === 'return_pump') return clean * (1 + (0.04 * days) / 90);
  if (key === 'skimmer') return clean + days / 30;
  return clean;
}

export type PowerNow = { readonly powerW: PowerW; readonly meanPowerW: PowerW };

export type Load = {
  readonly at: InstantMs;
  readonly onForMs: number;
  readonly cleanedAt: InstantMs;
  /** It has work: heater below its own stop, float asking for water, dose due. */
  readonly working: boolean;
};

const PULSE_PERIOD_MS = 6_000;
const PULSE_LOW_W = 8;
const SOFT_START_MS = 12_000;
const WARM_UP_MS = 3 * MINUTE_MS;
const WARM_UP_EXTRA_W = 9;
const IDLE_DOSER_W = 2;
const DOSING_W = 7;

/** Without noise. */
export function devicePower(key: PlugKey, load: Load): PowerNow {
  const usual = usualPowerW(key, load.at - load.cleanedAt);
  switch (key) {
    case 'return_pump':
      return flat(usual * Math.min(1, load.onForMs / SOFT_START_MS));
    case 'circulation_left':
    case 'circulation_right':
      return { powerW: pulsePowerW(usual, load.at), meanPowerW: usual };
    case 'lamp_bank_1':
    case 'lamp_bank_2':
      return flat(usual + WARM_UP_EXTRA_W * Math.max(0, 1 - load.onForMs / WARM_UP_MS));
    case 'led_strip':
      return flat(usual * ledLevel(load.at));
    case 'doser':
      return flat(load.working ? DOSING_W : IDLE_DOSER_W);
    case 'heater_1':
    case 'heater_2':
    case 'top_off':
    case 'ro_unit':
    case 'mixing_heater':
      return flat(load.working ? usual : 0);
    default:
      return flat(usual);
  }
}

const flat = (powerW: number): PowerNow => ({ powerW, meanPowerW: powerW });

/** High and low for parts of a period such that the mean is the usual draw. */
function pulsePowerW(usual: PowerW, at: InstantMs): PowerW {
  const high = 30;
  const share = (usual - PULSE_LOW_W) / (high - PULSE_LOW_W);
  return (at % PULSE_PERIOD_MS) / PULSE_PERIOD_MS < share ? high : PULSE_LOW_W;
}

const LED_RAMP_MS = 60 * MINUTE_MS;
export const LED_DAY = { fromMs: 7.5 * HOUR_MS, toMs: 21 * HOUR_MS } as const;

/** The strip's own programme: an hour up, an hour down. Below its least step it still draws a little. */
export function ledLevel(at: InstantMs): number {
  const { ofDayMs } = localTime(at);
  const up = (ofDayMs - LED_DAY.fromMs) / LED_RAMP_MS;
  const down = (LED_DAY.toMs - ofDayMs) / LED_RAMP_MS;
  return Math.min(1, Math.max(0.05, Math.min(up, down)));
}

const DOSE_PERIOD_MS = HOUR_MS;
const DOSE_MS = 15_000;
const DOSE_OFFSET_MS = 5 * MINUTE_MS;

/** 24 doses a day, each of 15 s at five past the hour. */
export function isDosing(at: InstantMs): boolean {
  const { ofDayMs } = localTime(at);
  const inHour = (ofDayMs - DOSE_OFFSET_MS + DOSE_PERIOD_MS) % DOSE_PERIOD_MS;
  return inHour < DOSE_MS;
}
