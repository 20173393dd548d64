// Plugs and sensors of the wear simulator as the hub hears them: minutes of power with report noise, edges that get lost.
import type { MinutePower, Observation } from '../../../src/observe/index.ts';
import { PLUGS, type PlugKey, type Prng, prng, seedFor } from '../../../src/sim/index.ts';
import { MINUTE_MS, SECOND_MS } from '../../../src/units/index.ts';

type Seen = Pick<Observation, 'entity' | 'at' | 'value'>;
/** Share of reports that never arrive; the next one comes within a minute. */
const LOST_SHARE = 0.003;

export type Plug = {
  readonly entity: string;
  readonly relay: string;
  minutes: MinutePower[];
  /** On for `share` of this minute, at `watts` while on; `sd` in watts. */
  minute(at: number, share: number, watts: number, sd: number): void;
  gap(): void;
};

export function createPlug(seed: number, key: PlugKey): Plug {
  const random = prng(seedFor(seed, `wear ${key}`));
  const gain = random.between(0.98, 1.01);
  const openW = random.between(0, 0.6);
  const phase = random.next();
  let reading = 0;
  let wasOn = false;
  let lostEdge = false;
  const plug: Plug = {
    entity: `sensor.${key}_power`,
    relay: `switch.${key}`,
    minutes: [],
    minute(at, share, watts, sd) {
      const isOn = share > 0;
      const isEdge = (share > 0 && share < 1) || isOn !== wasOn;
      // A lost report of an edge: the meter is heard at its old value for this minute.
      if (isEdge && !lostEdge && random.next() < LOST_SHARE) {
        lostEdge = true;
        const held = wasOn ? reading : openW;
        plug.minutes.push({ minute: at, knownMs: MINUTE_MS, minW: held, meanW: held, maxW: held });
        wasOn = isOn && share === 1;
        return;
      }
      lostEdge = false;
      const isLost = share > 0 && wasOn && random.next() < LOST_SHARE;
      const fresh = share <= 0 ? 0 : isLost ? reading : Math.max(0, watts * gain + sd * random.gaussian());
      const before = wasOn && reading > 0 ? reading : fresh;
      if (share >= 1) {
        const meanW = phase * before + (1 - phase) * fresh;
        plug.minutes.push({
          minute: at,
          knownMs: MINUTE_MS,
          minW: Math.min(before, fresh),
          meanW,
          maxW: Math.max(before, fresh),
        });
      } else if (share <= 0)
        plug.minutes.push({ minute: at, knownMs: MINUTE_MS, minW: openW, meanW: openW, maxW: openW });
      else
        plug.minutes.push({
          minute: at,
          knownMs: MINUTE_MS,
          minW: openW,
          meanW: openW + share * (fresh - openW),
          maxW: fresh,
        });
      reading = fresh;
      wasOn = isOn;
    },
    gap() {
      wasOn = false;
    },
  };
  return plug;
}

export type Reports = {
  observations: Seen[];
  put(entity: string, at: number, value: number | null): void;
  /** On and off of a plug's relay or a float, told when it changes. */
  state(entity: string, at: number, on: boolean): void;
  /** After a gap everything is told anew. */
  forget(): void;
};

export function createReports(random: Prng): Reports {
  const known = new Map<string, boolean>();
  const reports: Reports = {
    observations: [],
    forget: () => known.clear(),
    put(entity, at, value) {
      reports.observations.push({ entity, at, value });
    },
    state(entity, at, on) {
      if (known.get(entity) === on) return;
      known.set(entity, on);
      reports.put(entity, at + random.between(0.2, 1.5) * SECOND_MS, on ? 1 : 0);
    },
  };
  return reports;
}

export const sdOf = (key: PlugKey): number => PLUGS[key].sdW;
export const wattsOf = (key: PlugKey): number => PLUGS[key].powerW;
