// A full pass of forecasts over what the demonstration tank counted in eighteen months: `node test/bench/forecast.ts [--json]`.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { loadConfig } from '../../src/config/index.ts';
import { conditionReach, dailyUseOf, foresee, SEASON_DAYS } from '../../src/forecast/index.ts';
import { openStore } from '../../src/io/store/index.ts';
import { virtualSystem } from '../../src/io/system/index.ts';
import type { Measure, Part } from '../../src/model/index.ts';
import { DEMO_NOW, demoTankYaml, prng } from '../../src/sim/index.ts';
import { DAY_MS } from '../../src/units/index.ts';
import { demoService } from '../scenarios/demo-service.ts';

export type ForecastFigures = {
  readonly forecastSlices: number;
  readonly forecastDays: number;
  /** Processor time of every counted limit dated anew, hours of two years read from the store, as once a day. */
  readonly forecastPassMs: number;
  /** Of that, the reading. */
  readonly forecastReadMs: number;
  readonly forecastLimits: number;
  /** Ninety days of steady watts, with a trend that leads to the limit. */
  readonly conditionDateMs: number;
  readonly forecastHeapGrowthMb: number;
};

const ROUNDS = 20;
const median = (list: readonly number[]): number => list.toSorted((a, b) => a - b)[list.length >> 1] ?? Number.NaN;

export async function benchForecast(): Promise<ForecastFigures> {
  const folder = mkdtempSync(join(tmpdir(), 'slackwater-bench-forecast-'));
  try {
    await (await demoService({ folder: join(folder, 'demo') })).stop();
    return measure(join(folder, 'demo'));
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

function measure(folder: string): ForecastFigures {
  const { config } = loadConfig(demoTankYaml('http://127.0.0.1:8123'), join(folder, 'slackwater.yaml'));
  const store = openStore(config.storeFile, virtualSystem(DEMO_NOW));
  const limits = config.tank.parts.flatMap((part) => part.limits.flatMap((limit) => counted(part, limit)));
  const heapBefore = heapMb();
  let [slices, days] = [0, 0];
  const passes: number[] = [];
  const reads: number[] = [];
  for (let round = 0; round < ROUNDS; round += 1) {
    [slices, days] = [0, 0];
    const begun = cpuMs();
    let reading = 0;
    for (const { counter, measure: of, amount } of limits) {
      const from = cpuMs();
      const rows = store.slices(counter, of, DEMO_NOW - (SEASON_DAYS + 2) * DAY_MS);
      const dailyUse = dailyUseOf(rows, rows[0]?.hour ?? null, DEMO_NOW, SEASON_DAYS);
      reading += cpuMs() - from;
      slices += rows.length;
      days += dailyUse.length;
      foresee({
        used: { low: amount / 2, best: amount / 2, high: amount / 2 },
        limit: amount,
        now: DEMO_NOW,
        dailyUse,
      });
    }
    passes.push(cpuMs() - begun);
    reads.push(reading);
  }
  const heapGrowth = heapMb() - heapBefore;
  store.close();
  return {
    forecastSlices: slices,
    forecastDays: days,
    forecastPassMs: median(passes),
    forecastReadMs: median(reads),
    forecastLimits: limits.length,
    conditionDateMs: conditionDate(),
    forecastHeapGrowthMb: heapGrowth,
  };
}

function counted(part: Part, limit: { readonly measure: Measure; readonly amount: number }) {
  const counter = part.usageFrom[limit.measure];
  return counter === undefined ? [] : [{ counter, ...limit }];
}

function conditionDate(): number {
  const random = prng(1);
  const values = Array.from({ length: 90 }, (_, day) => 48 + 0.04 * day + 0.1 * random.gaussian());
  const times = Array.from({ length: ROUNDS }, () => {
    const begun = cpuMs();
    conditionReach({ values, limit: 52.5, now: DEMO_NOW });
    return cpuMs() - begun;
  });
  return median(times);
}

/** Of this process: what else runs on the machine does not count. */
function cpuMs(): number {
  const { user, system } = process.cpuUsage();
  return (user + system) / 1000;
}

function heapMb(): number {
  globalThis.gc?.();
  return process.memoryUsage().heapUsed / 2 ** 20;
}

if (import.meta.main) {
  const figures = await benchForecast();
  if (process.argv.includes('--json')) process.stdout.write(`${JSON.stringify(figures)}\n`);
  else for (const [name, value] of Object.entries(figures)) process.stdout.write(`${name.padEnd(24)} ${value}\n`);
  process.exit(0);
}
