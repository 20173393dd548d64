// The simulator keeps its own account of what ran and flowed, apart from anything a plug or meter reported. What the
// service counted from the hub's entities is held against it, part by part.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { PartUsage } from '../../src/app/index.ts';
import type { PlugKey, SimTruth, WaterKind } from '../../src/sim/index.ts';
import { formatNumber, HOUR_MS, type InstantMs } from '../../src/units/index.ts';
import { demoService } from './demo-service.ts';

type Counted = {
  readonly part: string;
  readonly measure: 'on-hours' | 'starts' | 'litres';
  readonly of: (truth: SimTruth, from: InstantMs, to: InstantMs) => number;
  /** What no counting could know better, since it is lost between the device and the hub. */
  readonly blur: (truth: SimTruth, from: InstantMs, to: InstantMs) => number;
};

/**
 * The simulated plugs report an edge 0 to 4 s late, and lose three reports in a thousand, the next of which comes within a
 * minute. Over many runs the lateness of on and off cancels but for its spread; six times that is allowed.
 */
const EDGE_SPREAD_MS = 4_000 / Math.sqrt(6);
const LOST_SHARE = 0.003;
const NEXT_REPORT_MS = 60_000;
const reportBlurMs = (runs: number): number =>
  6 * EDGE_SPREAD_MS * Math.sqrt(runs) + 2 * runs * LOST_SHARE * NEXT_REPORT_MS;

/** The litre meters tell tenths. */
const PULSE_L = 0.1;

const hours = (part: string, plug: PlugKey): Counted => ({
  part,
  measure: 'on-hours',
  of: (truth, from, to) => truth.onMs(plug, from, to) / HOUR_MS,
  blur: (truth, from, to) => reportBlurMs(truth.starts(plug, from, to)) / HOUR_MS,
});
const starts = (part: string, plug: PlugKey): Counted => ({
  part,
  measure: 'starts',
  of: (truth, from, to) => truth.starts(plug, from, to),
  blur: () => 0,
});
const litres = (part: string, water: WaterKind): Counted => ({
  part,
  measure: 'litres',
  of: (truth, from, to) => truth.litres(water, from, to),
  blur: () => 2 * PULSE_L,
});

const COUNTED: readonly Counted[] = [
  hours('lamp-1-tubes', 'lamp_bank_1'),
  hours('lamp-2-tubes', 'lamp_bank_2'),
  hours('uv-lamp', 'uv_unit'),
  hours('doser-tubes', 'doser'),
  starts('heater-1', 'heater_1'),
  starts('heater-2', 'heater_2'),
  litres('resin', 'product'),
  litres('sediment', 'feed'),
  litres('carbon-block', 'feed'),
];

/** From the configuration of the demo tank: what was on the parts before the hub kept records. */
const USED_BEFORE: Readonly<Record<string, number>> = { 'heater-1': 6_200, 'heater-2': 14_000 };

function measured(usages: readonly PartUsage[], { part, measure }: Counted) {
  const found = usages.find((one) => one.part === part);
  const usage = found?.measures.find((one) => one.measure === measure);
  if (usage === undefined || usage.countingSince === null) throw new Error(`${part} counts no ${measure}`);
  return { ...usage, countingSince: usage.countingSince };
}

for (const seed of [1, 7])
  test(`seed ${seed}: the truth lies within the bounds of every counted part`, async (t) => {
    const demo = await demoService({ seed });
    try {
      const { hub } = demo.home;
      // Time runs on while this looks: what was true before must not be above, what is true after not below.
      const before = hub.tank().at;
      const usages = demo.service.app.usage();
      const after = demo.system.clock.now();
      t.diagnostic(`${'part'.padEnd(14)} ${'truth'.padStart(10)} ${'counted'.padStart(10)}  low to high`);
      for (const one of COUNTED) {
        const usage = measured(usages, one);
        const known = USED_BEFORE[one.part] ?? 0;
        const [least, most] = [before, after].map((to) => known + one.of(hub.truth, usage.countingSince, to));
        assert.ok(least !== undefined && most !== undefined && most >= least);
        const blur = one.blur(hub.truth, usage.countingSince, after);
        const told = [most, usage.best, usage.low, usage.high].map((n) => formatNumber(n, 2));
        t.diagnostic(
          `${one.part.padEnd(14)} ${told[0]?.padStart(10)} ${told[1]?.padStart(10)}  ${told[2]} to ${told[3]} ${usage.unit}, reports blur ${formatNumber(blur, 2)}`,
        );
        assert.ok(most > 0, `${one.part} did something`);
        assert.ok(usage.low <= most + blur, `${one.part}: at least ${usage.low}, in truth ${most}`);
        assert.ok(usage.high >= least - blur, `${one.part}: at most ${usage.high}, in truth ${least}`);
        // The best figure is no accident of wide bounds.
        assert.ok(Math.abs(usage.best - most) <= 0.02 * most, `${one.part}: ${usage.best}, in truth ${most}`);
      }
    } finally {
      await demo.stop();
    }
  });
