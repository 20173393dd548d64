import type { ReadingGot } from '../trace.ts';
import { factsOf, type World } from './world.ts';

// What the reports that the service got prove about one equipment, counted afresh from the ladder of evidence: relay
// reports are rung 2, watts that agree 3, the effect 4, a person's eyes 5, the plug in a person's hand 6.

export type Proof = { readonly rung: number; readonly missing: string | null };

/**
 * A report is evidence while it is fresh, says something, and was made after `since`. What happens once a session is over,
 * mains that come back for one, is not the session's.
 */
function latest(world: World, entity: string): ReadingGot | undefined {
  const reports = world.reports.get(entity);
  const { endedAt } = world;
  return endedAt === null ? reports?.at(-1) : reports?.findLast(({ reportedAt }) => reportedAt <= endedAt);
}

export const isFresh = (world: World, report: ReadingGot | undefined): report is ReadingGot =>
  report !== undefined && lookedAt(world) - report.reportedAt <= world.header.limits.freshMs;

/** Once a session is over nobody asks the devices on its behalf: what was fresh at its end stands. */
const lookedAt = (world: World): number => Math.min(world.now, world.endedAt ?? world.now);

export const offLimitW = (world: World, equipment: string): number => {
  const { wattsOffMaxW, wattsOffShare } = world.header.limits;
  const normal = factsOf(world, equipment).normalPowerW ?? 0;
  return Math.min(wattsOffMaxW, Math.max(1, normal * wattsOffShare));
};

/** The switch says off, freshly and in a report made after our "off". */
export function relayOff(world: World, equipment: string): string | null {
  const { switchEntity, name } = factsOf(world, equipment);
  if (switchEntity === undefined) return `${name} has no switch that reports`;
  const report = latest(world, switchEntity);
  if (report === undefined) return `the switch of ${name} never reported`;
  if (!isFresh(world, report)) return `the switch of ${name} reported ${age(world, report)} ago`;
  if (report.value === null) return `the switch of ${name} is unknown`;
  if (report.value !== 0) return `the switch of ${name} says on`;
  const command = world.commands.get(equipment);
  if (command?.turn === 'off' && report.reportedAt < command.at)
    return `the switch of ${name} spoke before the command`;
  return null;
}

const age = (world: World, report: ReadingGot): string => `${Math.round((world.now - report.reportedAt) / 1000)} s`;

/** Watts below the limit in enough fresh reports after our "off", over long enough, none between saying otherwise. */
export function wattsOff(world: World, equipment: string): string | null {
  const { powerEntity, name } = factsOf(world, equipment);
  if (powerEntity === undefined) return `${name} has no meter`;
  const { offReadings, offSpanMs } = world.header.limits;
  const limit = offLimitW(world, equipment);
  const command = world.commands.get(equipment);
  const since = command?.turn === 'off' ? command.at : Number.NEGATIVE_INFINITY;
  const reports = world.reports.get(powerEntity) ?? [];
  const last = reports.at(-1);
  if (last === undefined) return `the meter of ${name} never reported`;
  if (!isFresh(world, last)) return `the meter of ${name} reported ${age(world, last)} ago`;
  if (last.value === null) return `the watts of ${name} are unknown`;
  let oldest = last;
  const instants = new Set<number>();
  for (let at = reports.length - 1; at >= 0; at -= 1) {
    const report = reports[at];
    if (report === undefined || report.value === null || report.value > limit || report.reportedAt < since) break;
    instants.add(report.reportedAt);
    if (report.reportedAt < oldest.reportedAt) oldest = report;
  }
  if (last.value > limit) return `${name} draws ${last.value} W`;
  if (instants.size < offReadings)
    return `${name}: ${instants.size} low reading(s) since the command, not ${offReadings}`;
  const span = Math.max(...instants) - oldest.reportedAt;
  // A report is dated to the second by many devices: one second of grace.
  if (span + 1000 < offSpanMs) return `${name}: low readings over ${span} ms, not ${offSpanMs}`;
  return null;
}

/** The effect that a stop has, where the tank shows one. */
export function effectOff(world: World, equipment: string): string | null {
  const { effect, name } = factsOf(world, equipment);
  if (effect === undefined) return null;
  const before = world.beforeOff.get(equipment)?.effect ?? null;
  const report = latest(world, effect.entity);
  if (!isFresh(world, report) || report.value === null || before === null)
    return `nothing shows whether ${effect.entity} moved when ${name} stopped`;
  const moved = effect.onStop === 'rises' ? report.value - before : before - report.value;
  return moved >= effect.atLeast - 1e-9 ? null : `${effect.entity} moved ${moved.toFixed(2)} when ${name} stopped`;
}

/** Proved off, as far as "may be unplugged" asks: rung 3, and 4 where an effect exists. */
export function provedOff(world: World, equipment: string): Proof {
  const facts = factsOf(world, equipment);
  if (world.claims.has(equipment)) return { rung: 6, missing: null };
  const relay = facts.switchEntity === undefined ? null : relayOff(world, equipment);
  if (relay !== null) return { rung: 0, missing: relay };
  const watts = wattsOff(world, equipment);
  if (watts !== null) return { rung: 2, missing: watts };
  const before = world.beforeOff.get(equipment)?.watts ?? null;
  if (facts.cycling && (before === null || before <= offLimitW(world, equipment)))
    return { rung: 2, missing: `${facts.name} idles at 0 W and no fall was seen at the command` };
  const effect = effectOff(world, equipment);
  if (effect !== null) return { rung: 3, missing: effect };
  return { rung: facts.effect === undefined ? 3 : 4, missing: null };
}

/** Reported off at least (rung 2), or a person saw it or holds the plug. Contrary watts undo it. */
export function reportedOff(world: World, equipment: string): string | null {
  const facts = factsOf(world, equipment);
  if (world.claims.has(equipment)) return null;
  const command = world.commands.get(equipment);
  const seen = world.seen.get(equipment);
  if (seen?.what === 'off' && (command === undefined || seen.at >= command.at)) return null;
  if (facts.switchEntity === undefined) return `nobody saw ${facts.name} off`;
  const power = facts.powerEntity === undefined ? undefined : latest(world, facts.powerEntity);
  if (command?.turn === 'off' && power !== undefined && isFresh(world, power) && power.reportedAt > command.at) {
    if (power.value !== null && power.value > offLimitW(world, equipment))
      return `${facts.name} draws ${power.value} W after the command`;
  }
  // A proof stands until something says otherwise: an older report is good enough once it was made after the command.
  const report = latest(world, facts.switchEntity);
  if (report === undefined) return `the switch of ${facts.name} never reported`;
  if (report.value !== 0)
    return `the switch of ${facts.name} says ${report.value === null ? 'nothing' : 'on'} since the command`;
  if (command?.turn === 'off') return report.reportedAt < command.at ? relayOff(world, equipment) : null;
  return relayOff(world, equipment);
}

/** Does its work as far as fresh reports after `since` tell: watts near normal, or the switch where there is no meter. */
export function reportedRunning(world: World, equipment: string, since = Number.NEGATIVE_INFINITY): string | null {
  const facts = factsOf(world, equipment);
  const seen = world.seen.get(equipment);
  if (seen?.what === 'on' && seen.at >= since) return null;
  if (facts.switchEntity !== undefined) {
    const relay = latest(world, facts.switchEntity);
    if (!isFresh(world, relay)) return `the switch of ${facts.name} has not reported lately`;
    if (relay.value !== 1) return `the switch of ${facts.name} says ${relay.value === null ? 'nothing' : 'off'}`;
    if (facts.powerEntity === undefined && relay.reportedAt < since) return `${facts.name} has not reported since`;
  }
  if (facts.powerEntity === undefined) return facts.switchEntity === undefined ? `nobody saw ${facts.name} on` : null;
  const power = latest(world, facts.powerEntity);
  if (!isFresh(world, power)) return `the meter of ${facts.name} has not reported lately`;
  if (power.reportedAt < since) return `the meter of ${facts.name} has not reported since`;
  if (power.value === null) return `the watts of ${facts.name} are unknown`;
  // A pump that hums at a tenth of its watts does not turn; a pulsing one dips to a third.
  const least = Math.max(offLimitW(world, equipment), 0.25 * (facts.normalPowerW ?? 0));
  return power.value <= least ? `${facts.name} draws ${power.value} W` : null;
}
