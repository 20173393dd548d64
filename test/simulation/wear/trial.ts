// One window: simulate, watch, and hold what was said against what was planted.
import {
  type ConditionSetup,
  conditionSetup,
  createMonitor,
  type Finding,
  type Sure,
} from '../../../src/condition/index.ts';
import { loadConfig } from '../../../src/config/index.ts';
import { demoTankYaml } from '../../../src/sim/index.ts';
import type { InstantMs } from '../../../src/units/index.ts';
import { type Expected, PLANTS, type Plant } from './plants.ts';
import { createWorld, type WorldOptions } from './world.ts';

export type Said = Finding & { readonly heardAt: InstantMs };

export type Trial = {
  readonly seed: number;
  readonly plant: string | null;
  readonly onset: InstantMs | null;
  readonly days: number;
  /** First word of the planted condition, and first that it is likely or certain; null = never. */
  readonly first: Said | null;
  readonly likely: Said | null;
  readonly falseAlarms: readonly Said[];
  readonly said: readonly Said[];
};

let demo: ConditionSetup | null = null;
export function demoSetup(): ConditionSetup {
  demo ??= conditionSetup(loadConfig(demoTankYaml('http://127.0.0.1:8123'), 'demo-tank.yaml').config.tank);
  return demo;
}

/** Only what the window carries. */
function setupFor({ plugs }: Plant): ConditionSetup {
  const setup = demoSetup();
  const powers = plugs.map((key) => `sensor.${key}_power`);
  return { ...setup, equipment: setup.equipment.filter((one) => one.power !== null && powers.includes(one.power)) };
}

const isOf = (finding: Finding, list: readonly Expected[]): boolean =>
  list.some(
    ({ kind, equipment }) => kind === finding.kind && (equipment === undefined || equipment === finding.equipment),
  );

const isSure = (sure: Sure): boolean => sure !== 'suspected';

export function runTrial(
  seed: number,
  plant: Plant | null,
  options: Pick<WorldOptions, 'days' | 'fixed' | 'life'> & { readonly whole?: boolean } = {},
): Trial {
  const whole = plant === null || options.whole === true;
  const world = createWorld({
    seed,
    plant,
    ...(whole ? {} : { plugs: plant.plugs }),
    ...(options.days === undefined ? {} : { days: options.days }),
    ...(options.fixed === undefined ? {} : { fixed: options.fixed }),
    ...(options.life === undefined ? {} : { life: options.life }),
  });
  const monitor = createMonitor(whole ? demoSetup() : setupFor(plant));
  const said: Said[] = [];
  for (let day = 0; day < world.days; day += 1) {
    const batch = world.day(day);
    for (const finding of monitor.take(batch)) said.push({ ...finding, heardAt: finding.toldAt });
  }
  const { onset } = world;
  const mine =
    plant === null || onset === null ? [] : said.filter((one) => isOf(one, plant.expected) && one.heardAt >= onset);
  const known = plant === null ? [] : [...plant.expected, ...(plant.also ?? [])];
  // A kind is one alarm, however often it grew surer.
  const wrong = said.filter((one) => onset === null || one.heardAt < onset || !isOf(one, known));
  const falseAlarms = wrong.filter(
    (one, index) => wrong.findIndex((other) => other.kind === one.kind && other.saidAt === one.saidAt) === index,
  );
  return {
    ...{ seed, plant: plant?.name ?? null, onset, days: world.days, said, falseAlarms },
    first: mine[0] ?? null,
    likely: mine.find((one) => isSure(one.sure)) ?? null,
  };
}

export { PLANTS };
