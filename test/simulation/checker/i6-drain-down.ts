import { isFresh } from './evidence.ts';
import type { Check, Report } from './watcher.ts';
import { factsOf, inSession, listening, nameOf, type World } from './world.ts';

// I6: drain-down fits the sump before the return stops; a rise over the learned one ends the stop.
// Fits: a fresh level, or a person's word on the room. Ends: the return comes back, or where it may not, an alarm.

/** One stop under watch: where the water stood, and since when the readings say that it rose too far. */
type Stop = { readonly equipment: string; readonly levelCm: number; over: number; since: number | null; done: boolean };

const READINGS_OVER = 3;

export const i6: Check = (report) => {
  const stops = new Map<string, Stop>();
  const late = (world: World, at: number): void => {
    for (const stop of stops.values()) {
      if (stop.done || stop.since === null || at <= stop.since + world.header.limits.riseAnswerMs) continue;
      stop.done = true;
      report.fail(
        `the sump rose over what is learned, and ${nameOf(world, stop.equipment)} stayed off unannounced`,
        at,
      );
    }
  };
  return {
    before: (entry, world) => {
      late(world, entry.at);
      if (entry.kind !== 'command' || !factsOf(world, entry.equipment).movesLevel) return;
      if (entry.turn === 'on') stops.delete(entry.equipment);
      else if (entry.origin === 'session') {
        roomFor(world, entry.equipment, report);
        const level = freshLevel(world);
        if (level !== null && !stops.has(entry.equipment))
          stops.set(entry.equipment, { equipment: entry.equipment, levelCm: level, over: 0, since: null, done: false });
      }
    },
    after: (entry, world) => {
      if (entry.kind === 'said' && entry.what === 'alarm')
        for (const stop of stops.values()) stop.done ||= stop.since !== null;
      if (!inSession(world) || !listening(world)) for (const stop of stops.values()) stop.since = null;
      else if (entry.kind === 'reading' && entry.entity === world.header.sumpLevelEntity && entry.value !== null)
        for (const stop of stops.values()) watchRise(world, stop, entry.value, report);
    },
    end: (world) => late(world, world.now),
  };
};

function freshLevel(world: World): number | null {
  const { sumpLevelEntity } = world.header;
  const level = sumpLevelEntity === undefined ? undefined : world.reports.get(sumpLevelEntity)?.at(-1);
  return isFresh(world, level) ? level.value : null;
}

function roomFor(world: World, stopped: string, report: Report): void {
  report.arm();
  const { sumpLevelEntity, sumpRimCm, sumpLitresPerCm, drainDownL, limits } = world.header;
  const name = nameOf(world, stopped);
  const word = world.seen.get(stopped);
  if (word?.what === 'room') return;
  if (
    sumpLevelEntity === undefined ||
    sumpRimCm === undefined ||
    sumpLitresPerCm === undefined ||
    drainDownL === undefined
  ) {
    report.fail(`${name} is stopped; nothing says that its water fits the sump, and nobody was asked`);
    return;
  }
  const level = freshLevel(world);
  if (level === null) {
    report.fail(`${name} is stopped without a fresh sump level`);
    return;
  }
  const freeL = (sumpRimCm - level) * sumpLitresPerCm;
  if (freeL + 1e-9 < limits.headRoomFactor * drainDownL)
    report.fail(`${name} is stopped with ${freeL.toFixed(1)} L free for a drain-down of ${drainDownL} L`);
}

/** Bubbles throw single readings high: three in a row tell. */
function watchRise(world: World, stop: Stop, levelCm: number, report: Report): void {
  const { drainDownL, sumpLitresPerCm, limits } = world.header;
  if (stop.done || drainDownL === undefined || sumpLitresPerCm === undefined) return;
  const allowedCm = (drainDownL / sumpLitresPerCm) * (1 + limits.riseShare);
  stop.over = levelCm - stop.levelCm > allowedCm + 0.25 ? stop.over + 1 : 0;
  if (stop.over === 0) stop.since = null;
  else if (stop.over >= READINGS_OVER && stop.since === null) {
    stop.since = world.now;
    report.arm();
  }
}
