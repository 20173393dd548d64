import type { Reading } from '../../../src/observe/index.ts';
import type { SwitchCommand } from '../../../src/procedure/index.ts';
import type { TraceEntry } from '../trace.ts';
import { driverOf, LEAK, LEVEL, NORMAL_CM, PROBES, RISE_CM, TANK } from './tank.ts';

// The tank in coarse time: plugs, watts, one level, and what has gone wrong with them. Plain data, copied on every branch.

/** One look at the tank. */
export const TICK_MS = 20_000;
export const REPORT_EVERY_MS = 40_000;

export type Plug = {
  readonly relay: boolean;
  /** What the plug says of its relay. */
  readonly says: boolean;
  readonly unplugged: boolean;
  /** Says what it was told and switches nothing. */
  readonly echoes: boolean;
  /** Takes no notice of commands. */
  readonly stuck: boolean;
  readonly silent: boolean;
  /** The meter says nothing. */
  readonly blind: boolean;
  /** Once it stops, it only hums. */
  readonly seized: boolean;
  readonly hums: boolean;
};

export type World = {
  readonly at: number;
  readonly plugs: Readonly<Record<string, Plug>>;
  readonly suspended: Readonly<Record<string, boolean>>;
  readonly levelCm: number;
  readonly siphonBlocked: boolean;
  /** Water that does not belong in the sump. */
  readonly extraCm: number;
  readonly wet: boolean;
  readonly levelSilent: boolean;
  readonly probeGapC: number;
  readonly linkUp: boolean;
  readonly handsIn: boolean;
  /** While the link or the service is away: until when. */
  readonly backAt: number | null;
  readonly serviceUp: boolean;
  /** Entities that will report at the next look although they are not due. */
  readonly asked: readonly string[];
  /** Relays and watts as last reported, to see what changed. */
  readonly said: Readonly<Record<string, number | null>>;
  /** How the hub will answer to what it was told; null = never. */
  readonly acks: readonly { readonly command: SwitchCommand; readonly outcome: 'confirmed' | 'refused' | null }[];
  /** The next command is lost on its way, or refused. */
  readonly nextCommand: 'taken' | 'lost' | 'refused';
};

const SOUND: Plug = {
  relay: true,
  says: true,
  unplugged: false,
  echoes: false,
  stuck: false,
  silent: false,
  blind: false,
  seized: false,
  hums: false,
};

export const startWorld = (at: number): World => ({
  at,
  plugs: Object.fromEntries(TANK.equipment.map((each) => [each.id, SOUND])),
  suspended: {},
  levelCm: NORMAL_CM,
  siphonBlocked: false,
  extraCm: 0,
  wet: false,
  levelSilent: false,
  probeGapC: 0,
  linkUp: true,
  handsIn: false,
  backAt: null,
  serviceUp: true,
  asked: [],
  said: {},
  acks: [],
  nextCommand: 'taken',
});

export const plugOf = (world: World, id: string): Plug => world.plugs[id] ?? SOUND;

export const withPlug = (world: World, id: string, change: Partial<Plug>): World => ({
  ...world,
  plugs: { ...world.plugs, [id]: { ...plugOf(world, id), ...change } },
});

const NORMAL_W: Readonly<Record<string, number>> = Object.fromEntries(
  TANK.equipment.map((each) => [each.id, each.normalPowerW ?? 0]),
);

/** The heater calls all the time; the top-off never does while it is looked at. */
export function wattsOf(world: World, id: string): number {
  const plug = plugOf(world, id);
  if (plug.unplugged || !plug.relay) return 0;
  if (plug.hums) return 3;
  return id === 'topoff' ? 0 : (NORMAL_W[id] ?? 0);
}

export const runs = (world: World, id: string): boolean => wattsOf(world, id) > 4;

/** A relay set by whoever does it. */
export function setRelay(world: World, id: string, on: boolean): World {
  const plug = plugOf(world, id);
  return withPlug(world, id, { relay: on, says: on, hums: plug.seized && on && !plug.relay ? true : plug.hums && on });
}

export function obey(world: World, command: SwitchCommand): World {
  const plug = plugOf(world, command.equipment);
  const on = command.turn === 'on';
  if (world.nextCommand !== 'taken') return { ...world, nextCommand: 'taken' };
  if (plug.stuck) return world;
  if (plug.echoes) return withPlug(world, command.equipment, { says: on });
  return setRelay(world, command.equipment, on);
}

/** Time goes by, in looks: the level moves, in tenths so that equal worlds are equal. */
export function pass(world: World, looks: number): World {
  let now = world;
  for (let look = 0; look < looks; look += 1) now = passOne(now);
  return now;
}

function passOne(world: World): World {
  const rise = runs(world, 'return') ? 0 : world.siphonBlocked ? 3 * RISE_CM : RISE_CM;
  const target = NORMAL_CM + rise + world.extraCm;
  const gap = target - world.levelCm;
  const step = Math.abs(gap) <= 0.3 ? gap : gap * 0.5;
  return { ...world, at: world.at + TICK_MS, levelCm: Math.round((world.levelCm + step) * 10) / 10 };
}

export type Telling = {
  readonly readings: readonly Reading[];
  readonly entries: readonly TraceEntry[];
  readonly world: World;
};

/** What reports now: what changed, what is due and what was asked for; nothing while the link is down. */
export function tell(world: World, long = false): Telling {
  const due = long || world.at % REPORT_EVERY_MS === 0;
  const readings: Reading[] = [];
  const entries: TraceEntry[] = [];
  const said: Record<string, number | null> = { ...world.said };
  const report = (entity: string, value: number | null, more: ReportMore): void => {
    if (!due && said[entity] === value && !world.asked.includes(entity)) return;
    said[entity] = value;
    if (!world.linkUp || !world.serviceUp) return;
    readings.push({ entity, value, changedAt: world.at, reportedAt: world.at });
    entries.push({ kind: 'reading', at: world.at, entity, value, reportedAt: world.at, ...more });
  };
  for (const each of TANK.equipment) {
    const plug = plugOf(world, each.id);
    if (plug.silent) continue;
    const echo = plug.echoes && plug.says !== plug.relay ? { echo: true } : {};
    if (each.switchEntity !== undefined)
      report(each.switchEntity, plug.says ? 1 : 0, { about: 'relay', equipment: each.id, ...echo });
    if (each.powerEntity !== undefined)
      report(each.powerEntity, plug.blind ? null : wattsOf(world, each.id), { about: 'watts', equipment: each.id });
    const driver = driverOf(each);
    if (driver !== undefined) report(driver, world.suspended[each.id] ? 0 : 1, { about: 'other' });
  }
  if (!world.levelSilent) report(LEVEL, world.levelCm, { about: 'level' });
  report(PROBES[0], 25.4, { about: 'temperature' });
  report(PROBES[1], 25.4 + world.probeGapC, { about: 'temperature' });
  report(LEAK, world.wet ? 1 : 0, { about: 'wet' });
  return { readings, entries, world: { ...world, asked: [], said } };
}

type ReportMore = {
  readonly about: 'relay' | 'watts' | 'level' | 'temperature' | 'wet' | 'other';
  readonly equipment?: string;
  readonly echo?: boolean;
};

/** What the judge hears of the tank's truth between two worlds. */
export function truthBetween(before: World | null, world: World): TraceEntry[] {
  const entries: TraceEntry[] = [];
  for (const each of TANK.equipment) {
    const id = each.id;
    const plug = plugOf(world, id);
    const watts = wattsOf(world, id);
    const suspended = world.suspended[id] === true;
    const old = before === null ? null : plugOf(before, id);
    const same =
      before !== null && old === plug && wattsOf(before, id) === watts && (before.suspended[id] === true) === suspended;
    if (same) continue;
    entries.push({
      kind: 'truth',
      at: world.at,
      equipment: id,
      pluggedIn: !plug.unplugged,
      relayOn: plug.relay,
      watts,
      running: runs(world, id),
      driverSuspended: suspended,
      immersed: id === 'heater',
    });
  }
  if (before?.levelCm !== world.levelCm || before.plugs !== world.plugs)
    entries.push({
      kind: 'water',
      at: world.at,
      sumpCm: world.levelCm,
      temperatureC: 25.4,
      flow: runs(world, 'return'),
    });
  if ((before?.handsIn ?? false) !== world.handsIn || before?.plugs !== world.plugs)
    entries.push({ kind: 'hands', at: world.at, person: 'Ada', inWater: world.handsIn, holds: holding(world) });
  return entries;
}

const holding = (world: World): string[] => Object.keys(world.plugs).filter((id) => plugOf(world, id).unplugged);
