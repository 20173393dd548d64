import { isFresh, reportedRunning } from './evidence.ts';
import type { Check, Report } from './watcher.ts';
import { energised, factsOf, inSession, nameOf, truthOf, type World } from './world.ts';

// I3: heaters only immersed, with proved flow and believable temperature.
// Judged where we energise one: an "on", or giving one that we had switched off back to its driver. And by the truth of
// the water: none that the service believed off or left on may fall dry while it heats.

type Memory = {
  /** Since when every report that came has shown the mover running; at the moment itself one must be fresh. */
  readonly flowing: Map<string, number>;
  readonly dry: Set<string>;
};

export const i3: Check<Memory> = {
  kinds: ['reading', 'command', 'person', 'driver', 'truth'],
  memory: () => ({ flowing: new Map(), dry: new Set() }),
  copy: ({ flowing, dry }) => ({ flowing: new Map(flowing), dry: new Set(dry) }),
  watch: ({ flowing, dry }, report) => ({
    after: (entry, world) => {
      if (entry.kind === 'reading' && entry.equipment !== undefined) follow(world, entry.equipment, entry.at, flowing);
      if (entry.kind === 'command' && entry.turn === 'off' && isMover(world, entry.equipment))
        flowing.delete(entry.equipment);
      if (entry.kind === 'person' && entry.act === 'sees' && entry.equipment !== undefined)
        follow(world, entry.equipment, entry.at, flowing);
      if (entry.kind === 'command' && entry.turn === 'on' && isHeater(world, entry.equipment))
        judge(world, entry.equipment, flowing, report);
      if (entry.kind === 'driver' && entry.turn === 'resume' && isHeater(world, entry.equipment))
        if (world.commands.get(entry.equipment)?.turn === 'off') judge(world, entry.equipment, flowing, report);
      if (entry.kind === 'truth' && isHeater(world, entry.equipment)) fellDry(world, entry.equipment, dry, report);
    },
  }),
};

const isHeater = (world: World, equipment: string): boolean => factsOf(world, equipment).kind === 'heater';
const isMover = (world: World, equipment: string): boolean => factsOf(world, equipment).kind === 'mover';

/** The movers whose flow passes the heaters: return pumps, or any mover in a tank without one. */
export function flowMovers(world: World): string[] {
  const movers = Object.keys(world.header.equipment).filter((id) => isMover(world, id));
  const returns = movers.filter((id) => factsOf(world, id).movesLevel);
  return returns.length > 0 ? returns : movers;
}

function follow(world: World, equipment: string, at: number, flowing: Map<string, number>): void {
  if (!isMover(world, equipment)) return;
  if (reportedRunning(world, equipment, world.commands.get(equipment)?.at) !== null) flowing.delete(equipment);
  else if (!flowing.has(equipment)) flowing.set(equipment, at);
}

function judge(world: World, heater: string, flowing: ReadonlyMap<string, number>, report: Report): void {
  const name = nameOf(world, heater);
  if (world.claims.has(heater)) return;
  report.arm();
  const truth = truthOf(world, heater);
  if (truth.pluggedIn && !truth.immersed) report.fail(`${name} is energised out of the water`);
  const { flowForMs } = world.header.limits;
  const proved = flowMovers(world).some((mover) => {
    const since = flowing.get(mover);
    return since !== undefined && world.now - since >= flowForMs && reportedRunning(world, mover) === null;
  });
  if (!proved) report.fail(`${name} is energised without flow proved for ${flowForMs / 1000} s`);
  const doubt = temperatureDoubt(world);
  if (doubt !== null) report.fail(`${name} is energised: ${doubt}`);
}

function temperatureDoubt(world: World): string | null {
  const { temperatureEntities, limits } = world.header;
  const values: number[] = [];
  for (const entity of temperatureEntities) {
    const report = world.reports.get(entity)?.at(-1);
    if (!isFresh(world, report) || report.value === null) return `${entity} says nothing lately`;
    if (report.value < limits.temperatureLowC || report.value > limits.temperatureHighC)
      return `${entity} says ${report.value} °C`;
    values.push(report.value);
  }
  const gap = values.length < 2 ? 0 : Math.max(...values) - Math.min(...values);
  return gap > limits.probeGapC + 1e-9 ? `the thermometers differ by ${gap.toFixed(2)} °C` : null;
}

function fellDry(world: World, heater: string, dry: Set<string>, report: Report): void {
  const truth = truthOf(world, heater);
  if (truth.immersed || !energised(truth) || !inSession(world)) {
    dry.delete(heater);
    return;
  }
  if (dry.has(heater)) return;
  dry.add(heater);
  report.arm();
  // Off by our word, or kept off after a person did it: a lie of the plug that no report could show is not ours.
  const keptOff = world.commands.get(heater)?.turn === 'off' || world.listed.includes(heater);
  if (!keptOff) report.fail(`${nameOf(world, heater)} is out of the water and energised`);
}
