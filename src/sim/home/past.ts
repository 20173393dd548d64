// Joins the recorded past with the live home: meters go on where the record ends, truth spans both.
import type { InstantMs } from '../../units/index.ts';
import { createPast, type RecordedPast, type SimTruth, type WaterKind } from '../history/index.ts';
import { plugOfEntity } from '../tank/index.ts';
import type { Devices } from './devices.ts';
import { meterGain, powerAttributes, switchAttributes } from './plug.ts';
import { sensorAttributes } from './sensors.ts';

export function pastOf(seed: number, endsAt: InstantMs, days: number): RecordedPast {
  return createPast({
    seed,
    endsAt,
    days,
    meterGain: (key) => meterGain(seed, key),
    attributes: (entity) => {
      const key = plugOfEntity(entity);
      if (key === undefined) return sensorAttributes(entity);
      return entity.startsWith('switch.') ? switchAttributes(key) : powerAttributes(key);
    },
  });
}

export function joinTruth(past: RecordedPast, devices: Devices): SimTruth {
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
