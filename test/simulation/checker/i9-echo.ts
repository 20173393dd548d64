import type { ReadingGot, StepMark } from '../trace.ts';
import { offLimitW } from './evidence.ts';
import type { Check } from './watcher.ts';
import { factsOf, nameOf, type World } from './world.ts';

// I9: no step passes on its own command's echo.
// A switching step that passes as proved rests on something reported after the command and by other means than the
// command itself: watts, the effect, a person's eyes, the plug in a hand; the switch's own report where the equipment
// has nothing else, and then only if it is no echo.

export const i9: Check<null> = {
  kinds: ['step'],
  memory: () => null,
  copy: () => null,
  watch: (_, report) => ({
    after: (entry, world) => {
      if (entry.kind !== 'step' || entry.result !== 'passed' || entry.equipment === undefined) return;
      const turn = TURNS[entry.action];
      if (turn === undefined) return;
      report.arm();
      const doubt = echoOnly(world, entry, entry.equipment, turn);
      if (doubt !== null) report.fail(`${entry.step} passes: ${doubt}`);
    },
  }),
};

const TURNS: Readonly<Record<string, 'on' | 'off' | undefined>> = { 'switch-off': 'off', 'switch-on': 'on' };

function echoOnly(world: World, mark: StepMark, equipment: string, turn: 'on' | 'off'): string | null {
  const facts = factsOf(world, equipment);
  const name = nameOf(world, equipment);
  if (world.claims.has(equipment)) return null;
  const command = world.commands.get(equipment);
  const since = command?.turn === turn ? command.at : Number.NEGATIVE_INFINITY;
  const seen = world.seen.get(equipment);
  if (seen !== undefined && seen.what === turn && seen.at >= since) return null;
  // Nothing was commanded: then a report of the present is what it rests on.
  const after = (report: ReadingGot): boolean => report.reportedAt >= since && report.echo !== true;
  if (facts.powerEntity !== undefined) {
    const watts = (world.reports.get(facts.powerEntity) ?? []).findLast(
      (report) => after(report) && report.value !== null,
    );
    if (watts?.value !== undefined && watts.value !== null)
      if (turn === 'off' ? watts.value <= offLimitW(world, equipment) : watts.value > offLimitW(world, equipment))
        return null;
  }
  if (facts.effect !== undefined && moved(world, equipment, turn, since)) return null;
  const relay = facts.switchEntity === undefined ? undefined : world.reports.get(facts.switchEntity)?.findLast(after);
  const relayAgrees = relay?.value === (turn === 'on' ? 1 : 0);
  // A cycling load may draw nothing though it is on, and something without a meter has only its switch: rung 2, no more.
  if (relayAgrees && (facts.powerEntity === undefined || facts.cycling) && (mark.rung ?? 2) <= 2) return null;
  return relayAgrees ? `only the switch of ${name} says so` : `nothing but the command says so of ${name}`;
}

function moved(world: World, equipment: string, turn: 'on' | 'off', since: number): boolean {
  const { effect } = factsOf(world, equipment);
  if (effect === undefined) return false;
  const reports = (world.reports.get(effect.entity) ?? []).filter((report) => report.value !== null);
  const before = reports.findLast((report) => report.reportedAt < since)?.value ?? null;
  const last = reports.at(-1);
  if (before === null || last?.value == null || last.reportedAt < since) return false;
  const rise = last.value - before;
  const wanted = (effect.onStop === 'rises') === (turn === 'off') ? rise : -rise;
  return wanted >= effect.atLeast - 1e-9;
}
