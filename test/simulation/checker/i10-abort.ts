import { reportedRunning } from './evidence.ts';
import type { Check } from './watcher.ts';
import { energised, factsOf, nameOf, truthOf, type World } from './world.ts';

// I10: abort never energises anything outside the agreed life-support list, and never stops the last water mover.
// Giving something that we switched off back to its driver energises it as well.

export const i10: Check<null> = {
  kinds: ['person', 'command', 'driver'],
  memory: () => null,
  copy: () => null,
  watch: (_, report) => ({
    before: (entry, world) => {
      if (world.abortedAt === null || entry.kind !== 'command' || entry.turn !== 'off') return;
      if (factsOf(world, entry.equipment).kind !== 'mover') return;
      report.arm();
      if (othersRun(world, entry.equipment)) return;
      report.fail(`the abort stops ${nameOf(world, entry.equipment)}, the last water mover`);
    },
    after: (entry, world) => {
      if (entry.kind === 'person' && entry.act === 'aborts' && entry.accepted) report.arm();
      if (world.abortedAt === null) return;
      const on = entry.kind === 'command' && entry.turn === 'on';
      const handed = entry.kind === 'driver' && entry.turn === 'resume' && leftOff(world, entry.equipment);
      if (!on && !handed) return;
      report.arm();
      if (on && world.agreed.includes(entry.equipment)) return;
      report.fail(`after the abort ${nameOf(world, entry.equipment)} is ${on ? 'switched on' : 'given to its driver'}`);
    },
  }),
};

const leftOff = (world: World, equipment: string): boolean => world.commands.get(equipment)?.turn === 'off';

const othersRun = (world: World, stopped: string): boolean =>
  Object.entries(world.header.equipment).some(
    ([id, facts]) =>
      id !== stopped &&
      facts.kind === 'mover' &&
      reportedRunning(world, id) === null &&
      energised(truthOf(world, id)) &&
      truthOf(world, id).running,
  );
