import { isFresh, relayOff } from './evidence.ts';
import type { Check, Report } from './watcher.ts';
import { factsOf, inSession, isNewest, listening, nameOf, truthOf, type World } from './world.ts';

// I6: drain-down fits the sump before the return stops; a rise over the learned one ends the stop.
// Fits: a fresh level, or a person's word on the room. Ends: the return comes back, or where it may not, an alarm.

/** One stop under watch: where the water stood, and since when the readings say that it rose too far. */
type Stop = {
  readonly equipment: string;
  readonly levelCm: number;
  over: number;
  since: number | null;
  told: boolean;
  alarmAt: number;
};

const READINGS_OVER = 3;
const MOST_SKEW_MS = 5_000;

export const i6: Check<Map<string, Stop>> = {
  kinds: ['said', 'reading', 'link', 'service', 'started', 'ended'],
  memory: () => new Map(),
  copy: (stops) => new Map([...stops].map(([id, stop]) => [id, { ...stop }])),
  watch: (stops, report) => ({
    before: (entry, world) => {
      late(world, entry.at, stops, report);
      if (entry.kind !== 'command' || !factsOf(world, entry.equipment).movesLevel) return;
      // One return that lifts water again ends what drains down, whichever stopped.
      if (entry.turn === 'on') stops.clear();
      else if (entry.origin === 'session') {
        if (!standsStill(world, entry.equipment)) roomFor(world, entry.equipment, report);
        const level = freshLevel(world);
        if (level !== null && !stops.has(entry.equipment))
          stops.set(entry.equipment, {
            equipment: entry.equipment,
            levelCm: level,
            over: 0,
            since: null,
            told: false,
            alarmAt: Number.NEGATIVE_INFINITY,
          });
      }
    },
    after: (entry, world) => {
      if (entry.kind === 'said' && entry.what === 'alarm')
        for (const stop of stops.values()) {
          stop.told ||= stop.over > 0 && mayNotStart(world, stop.equipment);
          stop.alarmAt = entry.at;
        }
      if (!inSession(world) || !listening(world)) for (const stop of stops.values()) forget(stop);
      else if (entry.kind === 'reading' && entry.entity === world.header.sumpLevelEntity && isNewest(world, entry))
        for (const stop of stops.values()) watchRise(world, stop, entry.value, report);
    },
    end: (world) => late(world, world.now, stops, report),
  }),
};

/** What nobody heard is nothing in a row. */
function forget(stop: Stop): void {
  stop.since = null;
  stop.over = 0;
}

function late(world: World, at: number, stops: ReadonlyMap<string, Stop>, report: Report): void {
  if (stops.size === 0) return;
  for (const stop of stops.values()) {
    const { riseAnswerMs } = world.header.limits;
    if (stop.told || stop.since === null || at <= stop.since + riseAnswerMs) continue;
    stop.told = true;
    const mayNot = mayNotStart(world, stop.equipment);
    // Said a little before three readings in a row told, it is said.
    if (mayNot && stop.alarmAt >= stop.since - riseAnswerMs) continue;
    const what = mayNot ? 'nobody was told' : 'it was not started again';
    report.fail(`the sump rose over what is learned by the stop of ${nameOf(world, stop.equipment)}: ${what}`, at);
  }
}

/**
 * Claimed, unplugged, not agreed on, with a hand at it for all anybody knows, or by a clock so wrong that nothing can be
 * judged fresh: then a person must hear of it instead.
 */
const mayNotStart = (world: World, equipment: string): boolean =>
  world.claims.has(equipment) ||
  !truthOf(world, equipment).pluggedIn ||
  world.abortedAt !== null ||
  Math.abs(world.skewMs) > MOST_SKEW_MS ||
  world.handsAsked !== null ||
  !agreedToStart(world) ||
  [...world.hands.values()].some((hands) => hands.inWater || hands.holds.length > 0);

const agreedToStart = (world: World): boolean => world.agreed.some((id) => factsOf(world, id).movesLevel);

/** Told off before and reported off since: telling it again stops nothing. */
const standsStill = (world: World, equipment: string): boolean =>
  world.commands.get(equipment)?.turn === 'off' && relayOff(world, equipment) === null;

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
function watchRise(world: World, stop: Stop, levelCm: number | null, report: Report): void {
  const { drainDownL, sumpLitresPerCm, limits } = world.header;
  if (levelCm === null || stop.told || drainDownL === undefined || sumpLitresPerCm === undefined) return;
  const allowedCm = (drainDownL / sumpLitresPerCm) * (1 + limits.riseShare);
  stop.over = levelCm - stop.levelCm > allowedCm + 0.25 ? stop.over + 1 : 0;
  if (stop.over === 0) stop.since = null;
  else if (stop.over >= READINGS_OVER && stop.since === null) {
    stop.since = world.now;
    report.arm();
  }
}
