import type { Equipment, EquipmentId, Tank } from '../model/index.ts';
import { ROLES, type RuleOverrides, ruleSetting } from '../rules/index.ts';
import {
  type DurationMs,
  formatSpan,
  HOUR_MS,
  type InstantMs,
  type LengthCm,
  MINUTE_MS,
  type TemperatureC,
} from '../units/index.ts';
import type { Bounded } from '../water/index.ts';
import { coolDown, oxygenLeft, startFacts, type TankFacts, warmTo } from './tank-model.ts';
import { timed } from './times.ts';
import type { SessionPlan, Step } from './types.ts';

/** One step as it is expected to go. Null where nothing known of the tank tells. */
export type RehearsedStep = {
  readonly id: string;
  readonly startsMs: DurationMs;
  readonly takesMs: DurationMs;
  /** At the step's end. */
  readonly levelCm: LengthCm | null;
  readonly temperatureC: TemperatureC | null;
  /** Movers that run during it. */
  readonly moving: readonly EquipmentId[];
  /** Where none runs: for how long by then, and how many hours the oxygen would last from there. */
  readonly still: { readonly sinceMs: DurationMs; readonly hoursLeft: Bounded } | null;
};

export type OffTime = {
  readonly equipment: EquipmentId;
  readonly name: string;
  readonly ms: DurationMs;
  /** How long it may be off without worry; null = no limit known. */
  readonly worryMs: DurationMs | null;
};

export type Rehearsal = {
  readonly steps: readonly RehearsedStep[];
  readonly totalMs: DurationMs;
  readonly waitsForYou: number;
  readonly beginsAt: InstantMs | null;
  readonly endsAt: InstantMs | null;
  readonly endBy: InstantMs | null;
  readonly highestCm: LengthCm | null;
  readonly lowestC: TemperatureC | null;
  readonly offTimes: readonly OffTime[];
  /** What needs thought before a hand gets wet. */
  readonly warnings: readonly string[];
  /** What was taken where nothing is known of this tank. */
  readonly assumptions: readonly string[];
};

type World = {
  readonly off: Map<EquipmentId, DurationMs>;
  levelRiseCm: LengthCm;
  fallenCm: LengthCm;
  temperatureC: TemperatureC | null;
  topOffOff: boolean;
};

/** The same plan against the model of the tank: when each step comes, and how level, warmth and oxygen go meanwhile. */
export function rehearse(
  plan: SessionPlan,
  tank: Tank,
  overrides: RuleOverrides = {},
  told: TankFacts = {},
): Rehearsal {
  const { facts, assumptions } = startFacts(tank, told);
  const world: World = {
    off: new Map(),
    levelRiseCm: 0,
    fallenCm: 0,
    temperatureC: facts.heated ? facts.tankC : null,
    topOffOff: false,
  };
  const longest = new Map<EquipmentId, DurationMs>();
  const steps = timed(plan.steps).map(({ step, startsMs, takesMs }) => {
    const endsMs = startsMs + takesMs;
    const moving = moversOf(tank).filter((each) => !world.off.has(each.id));
    live(world, step, endsMs, takesMs, tank, facts, longest);
    const stillSince = moving.length > 0 || moversOf(tank).length === 0 ? null : lastStop(world, tank);
    return {
      id: step.id,
      startsMs,
      takesMs,
      levelCm: tank.sump ? round(tank.sump.normalLevelCm + world.levelRiseCm - world.fallenCm, 1) : null,
      temperatureC: world.temperatureC === null ? null : round(world.temperatureC, 1),
      moving: moving.map((each) => each.id),
      still:
        stillSince === null
          ? null
          : {
              sinceMs: endsMs - stillSince,
              hoursLeft: oxygenLeft(world.temperatureC ?? facts.tankC, endsMs - stillSince),
            },
    };
  });
  const last = steps.at(-1);
  const totalMs = last ? last.startsMs + last.takesMs : 0;
  const levels = steps.flatMap((step) => (step.levelCm === null ? [] : [step.levelCm]));
  const warmths = steps.flatMap((step) => (step.temperatureC === null ? [] : [step.temperatureC]));
  const learned = tank.sump?.drainDownL !== undefined;
  const offTimes = offTimesOf(longest, tank);
  const rehearsal = {
    steps,
    totalMs,
    waitsForYou: plan.steps.filter((step) => step.holdPoint).length,
    beginsAt: told.at ?? null,
    endsAt: told.at === undefined ? null : told.at + totalMs,
    endBy: plan.endBy ?? null,
    highestCm: levels.length === 0 || !learned ? null : Math.max(...levels),
    lowestC: warmths.length === 0 ? null : Math.min(...warmths),
    offTimes,
  };
  return { ...rehearsal, warnings: warningsOf(rehearsal, plan, tank, overrides, facts.tankC), assumptions };
}

const round = (value: number, decimals: number): number => Math.round(value * 10 ** decimals) / 10 ** decimals;

const moversOf = (tank: Tank): readonly Equipment[] => tank.equipment.filter((each) => ROLES[each.role].waterMover);

/** When the last of the movers that are off now went off. */
const lastStop = (world: World, tank: Tank): DurationMs =>
  Math.max(...moversOf(tank).map((each) => world.off.get(each.id) ?? 0));

/** What the tank does during one step, and what the step changes at its end. */
function live(
  world: World,
  step: Step,
  endsMs: DurationMs,
  takesMs: DurationMs,
  tank: Tank,
  facts: ReturnType<typeof startFacts>['facts'],
  longest: Map<EquipmentId, DurationMs>,
): void {
  const heaters = tank.equipment.filter((each) => each.role === 'heater');
  const heating = heaters.filter((each) => !world.off.has(each.id));
  if (world.temperatureC !== null) {
    world.temperatureC =
      heating.length === 0
        ? coolDown(world.temperatureC, takesMs, facts)
        : warmTo(world.temperatureC, takesMs, facts, heating);
  }
  if (world.topOffOff && tank.sump) {
    world.fallenCm += (facts.evaporationLPerDay * takesMs) / (24 * HOUR_MS) / tank.sump.litresPerCm;
  }
  const { equipment } = step;
  if (step.id.startsWith('hands-on:pour-in') && world.temperatureC !== null) {
    world.temperatureC += facts.changeShare * (facts.batchC - world.temperatureC);
  }
  if (equipment === undefined) return;
  if (step.action === 'switch-off') world.off.set(equipment, endsMs);
  if (step.action === 'switch-on') {
    const since = world.off.get(equipment);
    if (since !== undefined) longest.set(equipment, Math.max(longest.get(equipment) ?? 0, endsMs - since));
    world.off.delete(equipment);
  }
  followWater(world, tank, step);
}

function followWater(world: World, tank: Tank, step: Step): void {
  const role = tank.equipment.find((each) => each.id === step.equipment)?.role;
  const returns = tank.equipment.filter((each) => each.role === 'return-pump');
  const allOff = returns.length > 0 && returns.every((each) => world.off.has(each.id));
  const sump = tank.sump;
  world.levelRiseCm = allOff && sump?.drainDownL !== undefined ? sump.drainDownL / sump.litresPerCm : 0;
  if (role !== 'top-off') return;
  world.topOffOff = step.action === 'switch-off' || (world.topOffOff && step.action !== 'switch-on');
  // Its first runs after the start bring the level back.
  if (step.action === 'switch-on') world.fallenCm = 0;
}

function offTimesOf(longest: ReadonlyMap<EquipmentId, DurationMs>, tank: Tank): readonly OffTime[] {
  return [...longest].map(([id, ms]) => {
    const each = tank.equipment.find((one) => one.id === id);
    return { equipment: id, name: each?.name ?? id, ms, worryMs: each ? ROLES[each.role].maxOffMs : null };
  });
}

function warningsOf(
  seen: Omit<Rehearsal, 'warnings' | 'assumptions'>,
  plan: SessionPlan,
  tank: Tank,
  overrides: RuleOverrides,
  tankC: TemperatureC,
): readonly string[] {
  const warnings: string[] = [];
  const over = seen.offTimes.filter((each) => each.worryMs !== null && each.ms > each.worryMs);
  for (const { name, ms, worryMs } of over) {
    warnings.push(
      `${name} is off for about ${formatSpan(ms)}; more than ${formatSpan(worryMs ?? 0)} sounds its alarm.`,
    );
  }
  const still = Math.max(0, ...seen.steps.map((step) => step.still?.sinceMs ?? 0));
  if (still > 0) warnings.push(`Nothing moves the water for about ${formatSpan(still)} (K16).`);
  if (seen.lowestC !== null && tankC - seen.lowestC > 1)
    warnings.push(
      `The tank cools by about ${(tankC - seen.lowestC).toFixed(1)} °C: warm the room, or take less into one sitting.`,
    );
  const rim = tank.sump?.rimLevelCm;
  if (seen.highestCm !== null && rim !== undefined && rim - seen.highestCm < 3)
    warnings.push(`The sump comes within ${(rim - seen.highestCm).toFixed(1)} cm of its rim.`);
  if (plan.handled.length > 0 && seen.totalMs > ruleSetting(overrides, 'K33', 'marginMs') * 6)
    warnings.push(
      `It takes one person about ${formatSpan(Math.round(seen.totalMs / (10 * MINUTE_MS)) * 10 * MINUTE_MS)}: two are faster, and safer.`,
    );
  return warnings;
}

export type { TankFacts };
