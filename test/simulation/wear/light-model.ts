// Lamp banks, the LED strip with its ramps, and the lux above the tank.
import { prng, seedFor } from '../../../src/sim/index.ts';
import { SECOND_MS } from '../../../src/units/index.ts';
import { sdOf, wattsOf } from './meters.ts';
import type { Minute, Shared } from './world.ts';

export type LightModel = { step(minute: Minute, dip: boolean): void };

const BANK_LUX = 9_400;
const LED_LUX = 6_000;
/** A healthy set loses so much in ninety days. */
const USUAL_FADE = 0.05;

const TIMES = { lamp_bank_1: [570, 1_110], lamp_bank_2: [660, 1_020] } as const;

function ledLevel(ofDayMin: number): number {
  const up = (ofDayMin - 450) / 60;
  const down = (1_260 - ofDayMin) / 60;
  return ofDayMin < 450 || ofDayMin >= 1_260 ? 0 : Math.min(1, Math.max(0.05, Math.min(up, down)));
}

export function createLightModel({ seed, reports, plugs, wornDays }: Shared): LightModel {
  const random = prng(seedFor(seed, 'wear light'));
  const late = { lamp_bank_1: random.between(0, 0.9), lamp_bank_2: random.between(0, 0.9) };
  if (!plugs.has('lamp_bank_1')) return { step: () => {} };
  let daylight = 0;
  return {
    step(minute, dip) {
      const { at, ofDayMin, truth } = minute;
      const mains = dip && ofDayMin > 300 && ofDayMin < 1_300 ? 0.98 : 1;
      let lux = 40 + LED_LUX * ledLevel(ofDayMin);
      for (const key of ['lamp_bank_1', 'lamp_bank_2'] as const) {
        const plug = plugs.get(key);
        if (plug === undefined) continue;
        const [from, to] = TIMES[key];
        const fade = 1 - (USUAL_FADE * wornDays(key, minute)) / 90;
        const isOn = ofDayMin >= from && ofDayMin < to;
        const first = key === 'lamp_bank_1';
        const tubes = first ? (3 - truth.tubesOut) / 3 : 1;
        const dead = first && truth.bankDead;
        const warmUp = 9 * Math.max(0, 1 - (ofDayMin - from) / 3);
        // One tube's ballast share stays with the set.
        const watts = dead ? 0 : (wattsOf(key) * mains + warmUp) * (tubes + (1 - tubes) * 0.06);
        reports.state(`switch.${key}`, at, isOn);
        plug.minute(at, isOn && !dead ? (ofDayMin === from ? 1 - late[key] : 1) : 0, watts, sdOf(key));
        if (isOn && !dead)
          lux += BANK_LUX * tubes * fade * (first ? truth.light : 1) * (ofDayMin - from < 4 ? 0.85 : 1);
      }
      const led = ledLevel(ofDayMin);
      const strip = plugs.get('led_strip');
      if (strip !== undefined) {
        reports.state('switch.led_strip', at, led > 0);
        strip.minute(at, led > 0 ? 1 : 0, wattsOf('led_strip') * led, sdOf('led_strip'));
      }
      // Clouds past the library's windows.
      daylight = 0.98 * daylight + 20 * random.gaussian();
      const sun = ofDayMin > 480 && ofDayMin < 1_080 ? Math.max(0, 250 + daylight) : 0;
      reports.put('sensor.lux', at + 10 * SECOND_MS, Math.round((lux + sun) * (1 + 0.03 * random.gaussian())));
    },
  };
}
