import type { ReadingGot } from '../trace.ts';
import type { Check, Report } from './watcher.ts';
import { factsOf, inSession, isNewest, listening, nameOf, type World } from './world.ts';

// I2: nothing claimed is energised by us; any other hand raises the alarm.
// "By us" is an "on" or giving it back to its driver. A claim is released by who placed it or that person's deputy. The
// alarm is due two seconds after the report; where only watts tell, after they have lasted.

/** An "on" seen on claimed equipment and not yet alarmed about. `quiet`: told already, until it is seen off again. */
type Foreign = { due: number | null; firstHigh: number | null; quiet: boolean };

export const i2: Check<Map<string, Foreign>> = {
  kinds: ['command', 'driver', 'reading', 'said', 'person', 'link', 'service', 'started', 'ended'],
  memory: () => new Map(),
  copy: (foreign) => new Map([...foreign].map(([id, state]) => [id, { ...state }])),
  watch: (foreign, report) => ({
    before: (entry, world) => {
      overdue(world, entry.at, foreign, report);
      if (entry.kind === 'person' && entry.act === 'releases' && entry.equipment !== undefined)
        checkRelease(world, entry.equipment, entry.person, entry.accepted, report);
    },
    after: (entry, world) => {
      if ((entry.kind === 'command' && entry.turn === 'on') || (entry.kind === 'driver' && entry.turn === 'resume')) {
        if (world.claims.size > 0) report.arm();
        const claim = world.claims.get(entry.equipment);
        if (claim !== undefined) {
          const how = entry.kind === 'command' ? 'switched on' : 'given back to its driver';
          report.fail(`${nameOf(world, entry.equipment)}, claimed by ${claim.person}, is ${how} by us`);
        }
      }
      if (entry.kind === 'reading' && isNewest(world, entry)) seeReading(world, entry, foreign, report);
      if (entry.kind === 'said' && entry.what === 'alarm' && entry.equipment !== undefined) {
        const state = stateOf(foreign, entry.equipment);
        state.due = null;
        state.quiet = true;
      }
      // Until the service hears again nobody can ask it to speak; what it hears then counts from there.
      if (!listening(world) || !inSession(world)) for (const state of foreign.values()) state.due = null;
      if (entry.kind === 'person' && entry.equipment !== undefined && entry.act === 'releases')
        foreign.delete(entry.equipment);
      if (entry.kind === 'link' || entry.kind === 'service') if (world.claims.size > 0) report.arm();
    },
    end: (world) => overdue(world, world.now, foreign, report),
  }),
};

function stateOf(foreign: Map<string, Foreign>, equipment: string): Foreign {
  const kept = foreign.get(equipment) ?? { due: null, firstHigh: null, quiet: false };
  foreign.set(equipment, kept);
  return kept;
}

function overdue(world: World, at: number, foreign: ReadonlyMap<string, Foreign>, report: Report): void {
  if (foreign.size === 0) return;
  for (const [equipment, state] of foreign) {
    if (state.due === null || at <= state.due) continue;
    report.fail(`${nameOf(world, equipment)} is claimed and came on, and nobody was told in time`, state.due);
    state.due = null;
    state.quiet = true;
  }
}

function checkRelease(world: World, equipment: string, person: string, accepted: boolean, report: Report): void {
  const claim = world.claims.get(equipment);
  if (claim === undefined || claim.person === person || world.header.deputies[claim.person] === person) return;
  report.arm();
  if (accepted) report.fail(`${claim.person}'s claim on ${nameOf(world, equipment)} is released by ${person}`);
}

function seeReading(world: World, entry: ReadingGot, foreign: Map<string, Foreign>, report: Report): void {
  const { equipment, value } = entry;
  if (equipment === undefined || value === null || (entry.about !== 'relay' && entry.about !== 'watts')) return;
  const claim = world.claims.get(equipment);
  if (claim === undefined || entry.reportedAt <= claim.at || !inSession(world) || !listening(world)) return;
  const state = stateOf(foreign, equipment);
  const { alarmWithinMs, claimWattsW, claimWattsForMs } = world.header.limits;
  if (entry.about === 'relay') {
    // Off by its relay and alive by its watts is not dead: the alarm of before stands.
    if (value === 0 && state.firstHigh === null) calm(state);
    else if (value === 0) return;
    else if (!state.quiet && state.due === null && cameOn(world, entry)) due(state, entry.at + alarmWithinMs, report);
  } else if (value <= claimWattsW) {
    state.firstHigh = null;
    if (factsOf(world, equipment).switchEntity === undefined) calm(state);
  } else {
    state.firstHigh ??= entry.reportedAt;
    if (!state.quiet && state.due === null && entry.reportedAt - state.firstHigh >= claimWattsForMs)
      due(state, entry.at + alarmWithinMs, report);
  }
}

function calm(state: Foreign): void {
  state.due = null;
  state.firstHigh = null;
  state.quiet = false;
}

function due(state: Foreign, at: number, report: Report): void {
  report.arm();
  state.due = at;
}

/** The report before this one said anything but on: a switch that never opened has not come on. */
function cameOn(world: World, entry: ReadingGot): boolean {
  return (world.reports.get(entry.entity)?.at(-2)?.value ?? null) !== 1;
}
