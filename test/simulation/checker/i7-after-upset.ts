import type { CommandSent, DriverSent } from '../trace.ts';
import { isFresh } from './evidence.ts';
import type { Check, Report } from './watcher.ts';
import { factsOf, listening, nameOf, type World } from './world.ts';

// I7: after a crash, hub loss or clock jump nothing is energised without re-reading and the agreed consent or a person's
// word. Re-read: every entity of the equipment, and the sump level where it moves that, got since and fresh. A short hub
// loss asks for re-reading alone. Agreed life support restarts only unclaimed and with nobody's hands in.

export const i7: Check<null> = {
  kinds: ['command', 'driver'],
  memory: () => null,
  copy: () => null,
  watch: (_, report) => ({
    after: (entry, world) => {
      if (entry.kind === 'command' && entry.turn === 'on') judge(world, entry, report);
      if (entry.kind === 'driver' && entry.turn === 'resume' && world.commands.get(entry.equipment)?.turn === 'off')
        judge(world, entry, report);
    },
  }),
};

function judge(world: World, entry: CommandSent | DriverSent, report: Report): void {
  const { equipment } = entry;
  const name = nameOf(world, equipment);
  if (!listening(world)) report.fail(`${name} is energised while nothing can be read`);
  if (entry.kind === 'command' && entry.origin === 'all-stop') lifeSupport(world, equipment, report);
  const { upset } = world;
  if (upset === null) return;
  report.arm();
  const spoke = world.lastWord !== null && world.lastWord > upset.since;
  const agreed = world.agreed.includes(equipment) && entry.kind === 'command';
  if (upset.needsPerson && !spoke && !agreed)
    report.fail(`${name} is energised after ${upset.what}, without a person's word or agreed consent`);
  const unread = entitiesOf(world, equipment).filter((entity) => {
    const last = world.reports.get(entity)?.at(-1);
    return last === undefined || last.at < upset.since || !isFresh(world, last) || last.value === null;
  });
  if (unread.length > 0)
    report.fail(`${name} is energised after ${upset.what} without re-reading ${unread.join(', ')}`);
}

function entitiesOf(world: World, equipment: string): string[] {
  const facts = factsOf(world, equipment);
  const level = facts.movesLevel ? world.header.sumpLevelEntity : undefined;
  return [facts.switchEntity, facts.powerEntity, level].filter((entity) => entity !== undefined);
}

function lifeSupport(world: World, equipment: string, report: Report): void {
  report.arm();
  const name = nameOf(world, equipment);
  if (!world.agreed.includes(equipment)) report.fail(`${name} is restarted as life support and nobody agreed to that`);
  for (const [person, hands] of world.hands)
    if (hands.inWater || hands.holds.includes(equipment))
      report.fail(`${name} is restarted by itself while ${person} has hands in`);
}
