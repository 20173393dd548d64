import { reportedOff, reportedRunning } from './evidence.ts';
import type { Check, Report } from './watcher.ts';
import { factsOf, nameOf, type World } from './world.ts';

// I4: adders off before levels change, back last.
// Before a stop that moves the level every adder is reported off since our command, or in a person's hand or seen off.
// An adder comes back when everything that moves water is back; the top-off when everything else is too.

export const i4: Check<null> = {
  kinds: ['command', 'driver'],
  memory: () => null,
  copy: () => null,
  watch: (_, report) => ({
    after: (entry, world) => {
      if (entry.kind === 'command' && entry.turn === 'off' && factsOf(world, entry.equipment).movesLevel)
        if (entry.origin === 'session') addersOff(world, entry.equipment, report);
      const adderBack =
        (entry.kind === 'command' && entry.turn === 'on') || (entry.kind === 'driver' && entry.turn === 'resume');
      if (
        adderBack &&
        factsOf(world, entry.equipment).kind === 'adder' &&
        wasStopped(world, entry.equipment, entry.kind)
      )
        backLast(world, entry.equipment, report);
    },
  }),
};

const wasStopped = (world: World, adder: string, kind: 'command' | 'driver'): boolean =>
  world.touched.has(adder) && (kind === 'command' || world.commands.get(adder)?.turn === 'off');

function addersOff(world: World, stopped: string, report: Report): void {
  for (const [adder, facts] of Object.entries(world.header.equipment)) {
    if (facts.kind !== 'adder') continue;
    report.arm();
    const doubt = reportedOff(world, adder);
    if (doubt !== null) report.fail(`${nameOf(world, stopped)} is stopped before ${facts.name} is off: ${doubt}`);
  }
}

/** Ours and still off: not back on by our word or its reports, not given back to a driver, not left to a person. */
function stillOut(world: World, equipment: string): boolean {
  if (!world.touched.has(equipment) || world.listed.includes(equipment) || world.wasOff.has(equipment)) return false;
  if (world.claims.has(equipment)) return true;
  const command = world.commands.get(equipment);
  if (command?.turn !== 'off') return false;
  if (!factsOf(world, equipment).driven) return reportedRunning(world, equipment, command.at) !== null;
  return world.suspended.has(equipment);
}

function backLast(world: World, adder: string, report: Report): void {
  report.arm();
  const toppingOff = factsOf(world, adder).toppingOff === true;
  for (const [other, facts] of Object.entries(world.header.equipment)) {
    if (other === adder || !stillOut(world, other)) continue;
    const waitsFor =
      facts.kind === 'mover' || facts.movesLevel || (toppingOff && (facts.kind !== 'adder' || !facts.toppingOff));
    if (waitsFor) report.fail(`${nameOf(world, adder)} comes back before ${facts.name}`);
  }
}
