// Joins the recorded past with the live home: meters go on where the record ends, truth spans both.
import type { InstantMs } from '../../units/index.ts';
import type { SimTruth, WaterKind } from '../history/index.ts';
import type { PastSource } from '../hub/index.ts';
import type { PlugKey } from '../tank/index.ts';
import type { Devices } from './devices.ts';
import type { MeterStart } from './sensors.ts';

export type Past = {
  /** Where the record ends and the live home begins. */
  readonly endsAt: InstantMs;
  readonly rows: PastSource;
  readonly meters: MeterStart;
  readonly cleanedAt: Readonly<Partial<Record<PlugKey, InstantMs>>>;
  readonly truth: SimTruth;
};

export function pastOf(_seed: number, startAt: InstantMs, _historyDays: number): Past {
  return {
    endsAt: startAt,
    rows: () => undefined,
    meters: { feedL: 0, productL: 0 },
    cleanedAt: { return_pump: startAt - 190 * 86_400_000, skimmer: startAt - 20 * 86_400_000 },
    truth: { onMs: () => 0, starts: () => 0, litres: () => 0 },
  };
}

export function joinTruth(past: Past, devices: Devices): SimTruth {
  // Devices that ran across the opening are in the past's account already.
  const afterStart = (from: InstantMs): InstantMs => Math.max(from, past.endsAt + 1);
  const water = (kind: WaterKind, at: InstantMs): number => devices.liveWater[kind].valueAt(at);
  return {
    onMs: (plug, from, to) =>
      past.truth.onMs(plug, from, to) + devices.liveRuns[plug].onMs(from, Math.min(to, devices.tank().at)),
    starts: (plug, from, to) => past.truth.starts(plug, from, to) + devices.liveRuns[plug].starts(afterStart(from), to),
    litres: (kind, from, to) => past.truth.litres(kind, from, to) + water(kind, to) - water(kind, from),
  };
}
