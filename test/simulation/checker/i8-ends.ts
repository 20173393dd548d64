import { isFresh, reportedRunning } from './evidence.ts';
import type { Check, Report } from './watcher.ts';
import { energised, factsOf, nameOf, truthOf, type World } from './world.ts';

// I8: a session ends only with every equipment back under its driver and proved, or listed as out of service on every
// surface until it is.
// Back: not claimed, not left off by us, its driver not suspended, and its reports since show it. The list may come
// within a few seconds of the end; nothing leaves it before it is back by the truth of the tank.

const LIST_MS = 5_000;

/** When the list is due; everything is looked at then, so that what went out with the end has arrived. */
type Memory = { listDue: number | null; judged: boolean };

export const i8: Check<Memory> = {
  kinds: ['ended'],
  memory: () => ({ listDue: null, judged: false }),
  copy: (memory) => ({ ...memory }),
  watch: (memory, report) => ({
    before: (entry, world) => {
      late(world, entry.at, memory, report);
      if (entry.kind === 'listed' && world.endedAt !== null)
        for (const dropped of world.listed.filter((id) => !entry.equipment.includes(id)))
          stillOut(world, dropped, report);
    },
    after: (entry) => {
      if (entry.kind === 'ended') memory.listDue ??= entry.at + LIST_MS;
    },
    end: (world) => late(world, Number.POSITIVE_INFINITY, memory, report),
  }),
};

function late(world: World, at: number, memory: Memory, report: Report): void {
  if (memory.judged || memory.listDue === null || at <= memory.listDue) return;
  memory.judged = true;
  for (const equipment of new Set([...world.header.outOfService, ...world.touched])) {
    report.arm();
    const why = notBack(world, equipment);
    if (why !== null && !world.listed.includes(equipment))
      report.fail(`the session is over and ${nameOf(world, equipment)} is neither back (${why}) nor listed`);
  }
}

function notBack(world: World, equipment: string): string | null {
  const facts = factsOf(world, equipment);
  const truth = truthOf(world, equipment);
  if (world.claims.has(equipment)) return 'claimed';
  if (world.suspended.has(equipment) || truth.driverSuspended) return 'its driver is suspended';
  const command = world.commands.get(equipment);
  if (command === undefined) return null;
  if (command.turn === 'off' && world.wasOff.has(equipment)) return null;
  if (command.turn === 'off' && facts.driven) return relayKnown(world, equipment) ? null : 'left off';
  // Other hands may have brought it back before its turn.
  if (command.turn === 'off') return reportedRunning(world, equipment, command.at) === null ? null : 'left off';
  return proved(world, equipment, command.at);
}

/** A driver decides on it again, and the switch answers: that is being back for what runs by schedule or thermostat. */
function relayKnown(world: World, equipment: string): boolean {
  const { switchEntity } = factsOf(world, equipment);
  const report = switchEntity === undefined ? undefined : world.reports.get(switchEntity)?.at(-1);
  return isFresh(world, report) && report.value !== null;
}

/** On since our command: reports of the switch and, for a load that does not idle by itself, watts. */
function proved(world: World, equipment: string, since: number): string | null {
  const facts = factsOf(world, equipment);
  // A thermostat or a float may have switched it off again since: being answered is all that can be asked.
  if (facts.cycling || facts.driven)
    return relayKnown(world, equipment) || seenOn(world, equipment, since) ? null : 'not proved';
  return reportedRunning(world, equipment, since);
}

const seenOn = (world: World, equipment: string, since: number): boolean => {
  const seen = world.seen.get(equipment);
  return seen?.what === 'on' && seen.at >= since;
};

function stillOut(world: World, equipment: string, report: Report): void {
  report.arm();
  const facts = factsOf(world, equipment);
  const truth = truthOf(world, equipment);
  // Off before the session and given back to its driver, or without one: it is as it was.
  if (world.wasOff.has(equipment) && !world.claims.has(equipment) && !truth.driverSuspended) return;
  if (facts.driven ? truth.driverSuspended || !truth.pluggedIn : !energised(truth))
    report.fail(`${facts.name} left the list of what is out of service before it was back`);
}
