import type { TraceHeader } from '../trace.ts';
import { reportedRunning } from './evidence.ts';
import type { Check, Report } from './watcher.ts';
import { factsOf, inSession, listening, nameOf, type World } from './world.ts';

// I5: at least one water mover runs, or the all-stop clock does and ends in the declared safe state.
// A mover is stopped by us only where fresh reports show another one running, or where the plan said that all stop. Then
// the hard limit must find agreed life support switched on again, or an alarm. Whenever the reports show no mover
// running and no such clock runs, a person must be told.

const ANSWER_MS = 15_000;

type Clock = { stoppedAt: number; alarmed: boolean; hardAnswered: boolean };

type Memory = { clock: Clock | null; noneSince: number | null; toldAt: number | null };

export const i5: Check<Memory> = {
  kinds: ['said', 'command', 'reading', 'link', 'service', 'started', 'ended'],
  memory: () => ({ clock: null, noneSince: null, toldAt: null }),
  copy: (memory) => ({ ...memory }),
  watch: (memory, report) => ({
    before: (entry, world) => {
      memory.clock = atHardLimit(world, entry.at, memory.clock, report);
      const { moverAlarmMs } = world.header.limits;
      const due = memory.noneSince === null || isTold(memory, moverAlarmMs) ? null : memory.noneSince + moverAlarmMs;
      if (due !== null && entry.at > due) {
        report.fail('no water mover is seen running, and nobody was told', due);
        memory.toldAt = due;
      }
      if (entry.kind === 'command' && entry.turn === 'off' && isMover(world, entry.equipment))
        memory.clock = stopping(world, entry.equipment, entry.at, memory.clock, report);
    },
    after: (entry, world) => {
      if (entry.kind === 'said' && entry.what === 'alarm') {
        memory.toldAt = world.now;
        const { clock } = memory;
        if (clock !== null) memory.clock = { ...clock, alarmed: true, hardAnswered: pastHard(world, clock) };
      }
      if (entry.kind === 'command' && entry.turn === 'on' && isMover(world, entry.equipment)) memory.clock = null;
      if (!inSession(world) || !listening(world) || memory.clock !== null) memory.noneSince = null;
      else if (entry.kind === 'reading' && entry.equipment !== undefined && isMover(world, entry.equipment))
        lookForOne(world, memory, entry.at, report);
    },
    end: (world) => {
      atHardLimit(world, world.now, memory.clock, report);
    },
  }),
};

function lookForOne(world: World, memory: Memory, at: number, report: Report): void {
  if (movers(world).some((id) => reportedRunning(world, id) === null)) {
    memory.noneSince = null;
    memory.toldAt = null;
  } else if (movers(world).every((id) => hasVoice(world, id))) {
    if (memory.noneSince === null) report.arm();
    memory.noneSince ??= at;
  }
}

/** A word from the moment before the service was deaf for a while need not be said again. */
const isTold = ({ noneSince, toldAt }: Memory, moverAlarmMs: number): boolean =>
  noneSince !== null && toldAt !== null && toldAt >= noneSince - moverAlarmMs;

const isMover = (world: World, equipment: string): boolean => factsOf(world, equipment).kind === 'mover';
const known = new WeakMap<TraceHeader, readonly string[]>();
function movers(world: World): readonly string[] {
  const list = known.get(world.header) ?? Object.keys(world.header.equipment).filter((id) => isMover(world, id));
  known.set(world.header, list);
  return list;
}
const hasVoice = (world: World, id: string): boolean => factsOf(world, id).switchEntity !== undefined;

const pastHard = (world: World, clock: Clock): boolean =>
  world.header.allStop !== undefined && world.now >= clock.stoppedAt + world.header.allStop.hardMs - ANSWER_MS;

function stopping(world: World, mover: string, at: number, clock: Clock | null, report: Report): Clock | null {
  report.arm();
  const other = movers(world).find((id) => id !== mover && reportedRunning(world, id, onSince(world, id)) === null);
  if (other !== undefined) return clock;
  if (world.header.allStop !== undefined) return clock ?? { stoppedAt: at, alarmed: false, hardAnswered: false };
  const why = movers(world)
    .filter((id) => id !== mover)
    .map((id) => reportedRunning(world, id) ?? `${nameOf(world, id)} has not shown that it runs since it came on`);
  report.fail(
    `${nameOf(world, mover)} is stopped with no other water mover proved: ${why.join('; ') || 'there is none'}`,
  );
  return clock;
}

const onSince = (world: World, id: string): number | undefined => {
  const command = world.commands.get(id);
  return command?.turn === 'on' ? command.at : undefined;
};

function atHardLimit(world: World, at: number, clock: Clock | null, report: Report): Clock | null {
  const limits = world.header.allStop;
  if (clock === null || limits === undefined || !inSession(world)) return clock;
  if (!clock.alarmed && at > clock.stoppedAt + limits.alarmMs + ANSWER_MS && listening(world)) {
    report.fail('every water mover has been off past the alarm limit, and nobody was told', at);
    return { ...clock, alarmed: true };
  }
  if (clock.hardAnswered || at <= clock.stoppedAt + limits.hardMs + ANSWER_MS || !listening(world)) return clock;
  report.fail('the hard limit of the all-stop passed: nothing was restarted and nobody was told', at);
  return { ...clock, hardAnswered: true };
}
