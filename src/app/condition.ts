import {
  type ConditionMemory,
  conditionEntities,
  conditionSetup,
  createMonitor,
  type Finding,
  type Monitor,
  newCondition,
  type ServiceMark,
} from '../condition/index.ts';
import type { EntityId, EquipmentId, PartId, PartLife, Tank } from '../model/index.ts';
import type { MinuteState, Observation, Reading } from '../observe/index.ts';
import type { HubPort, StorePort, System } from '../ports/index.ts';
import { type DurationMs, HOUR_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import { createNews, type Known, type News } from './condition-news.ts';
import { minutesOf, readPast } from './condition-past.ts';
import type { Loop } from './loop.ts';

/** Setting of the store: what the detectors remember, and which lives they know. */
const MEMORY = 'condition';
/** Reports of a minute may come a little later than it. */
const LAG_MS: DurationMs = MINUTE_MS;
const KEEP_EVERY_MS: DurationMs = HOUR_MS;

export type Seen = Pick<Observation, 'entity' | 'at' | 'value'>;

export type ConditionWatch = {
  /** Live readings, of whatever the hub reports. */
  readings(readings: readonly Reading[]): void;
  /** Counting has caught up with the hub: what passed meanwhile is read, then live readings follow. */
  caughtUp(): void;
  link(isUp: boolean, at: InstantMs): void;
  /** Each minute: judges what has come in. */
  tick(): void;
  findings(): readonly Finding[];
  of(part: PartId): readonly Finding[];
  /** Steady watts by the day since the last service, oldest first; days are counted in UTC. */
  dailyWatts(equipment: EquipmentId): readonly { readonly day: number; readonly value: number }[];
  /** Resolves when the past has been read after the last time the link came up. */
  settled(): Promise<void>;
  stop(): void;
};

type Deps = {
  readonly tank: Tank;
  readonly hub: Pick<HubPort, 'history' | 'reach'>;
  readonly store: StorePort;
  readonly system: System;
  readonly loop: Loop;
  readonly lives: () => ReadonlyMap<PartId, PartLife>;
  /** Something new was found, or something is over. */
  readonly onChange: () => void;
};

type Kept = {
  readonly memory: ConditionMemory;
  /** What was known of lives and meters; what is not yet judged by it. */
  readonly news?: Known;
  /** As an earlier version kept it. */
  readonly lives?: Readonly<Record<PartId, number>>;
};

export type Inside = Deps & {
  readonly monitor: Monitor;
  readonly powers: ReadonlySet<EntityId>;
  readonly entities: readonly EntityId[];
  readonly news: News;
  minutes: Map<EntityId, MinuteState>;
  /** Came in, and not yet judged. */
  pending: Seen[];
  newest: Map<EntityId, Seen>;
  phase: 'down' | 'filling' | 'live';
  keptAt: InstantMs;
};

function read(store: StorePort): Kept {
  const text = store.setting(MEMORY);
  if (text === null) return { memory: newCondition() };
  try {
    const kept = JSON.parse(text) as Kept;
    if (kept.memory.v === 1) return kept;
  } catch {
    // Learned anew from history; nothing else rests on it.
  }
  return { memory: newCondition() };
}

/** The detectors at work: fed from the store's minutes, the hub's history and what comes in live. */
export function createConditionWatch(deps: Deps): ConditionWatch {
  const setup = conditionSetup(deps.tank);
  const { power, other } = conditionEntities(setup);
  const kept = read(deps.store);
  const inside: Inside = {
    ...deps,
    monitor: createMonitor(setup, kept.memory),
    powers: new Set(power),
    entities: [...power, ...other],
    news: createNews(deps, kept.news ?? { lives: kept.lives ?? {} }),
    ...{ minutes: new Map(), pending: [], newest: new Map(), phase: 'down', keptAt: 0 },
  };
  const watched = new Set(inside.entities);
  let abort = new AbortController();
  let filled: Promise<void> = Promise.resolve();
  const now = (): InstantMs => deps.system.clock.now();
  return {
    readings(readings) {
      for (const { entity, value, changedAt } of readings) {
        if (!watched.has(entity)) continue;
        const before = inside.newest.get(entity);
        if (before !== undefined && before.at >= changedAt) continue;
        const seen = { entity, value, at: changedAt };
        inside.newest.set(entity, seen);
        inside.pending.push(seen);
      }
    },
    link(isUp, at) {
      abort.abort();
      if (isUp) return;
      if (inside.phase === 'live') judge(inside, at);
      inside.phase = 'down';
      inside.pending = [];
      inside.newest = new Map();
      inside.minutes = new Map();
    },
    caughtUp() {
      abort.abort();
      abort = new AbortController();
      inside.phase = 'filling';
      const { signal } = abort;
      filled = readPast(inside, signal, (to) => goLive(inside, to)).catch((error: unknown) => {
        if (!signal.aborted)
          deps.system.log.warn(`the past of the tank's condition could not be read: ${String(error)}`);
      });
    },
    tick() {
      if (inside.phase === 'live') judge(inside, now() - LAG_MS);
    },
    findings: () => inside.monitor.findings(),
    of: (part) => inside.monitor.findings().filter((finding) => finding.parts.includes(part)),
    dailyWatts: (equipment) => inside.monitor.memory.watts[equipment]?.drift.days ?? [],
    settled: () => filled,
    stop() {
      abort.abort();
      if (inside.phase === 'live') judge(inside, now() - LAG_MS);
      keep(inside, now());
    },
  };
}

/** Judges all that came in before `to`; a value that was not renewed still holds while the link is up. */
function judge(inside: Inside, to: InstantMs): void {
  const until = to - (to % MINUTE_MS);
  const { takenTo } = inside.monitor.memory;
  if (takenTo !== null && until <= takenTo) return;
  const due = inside.pending.filter((one) => one.at < until);
  inside.pending = inside.pending.filter((one) => one.at >= until);
  inside.news.look(takenTo ?? until);
  take(inside, due, until, inside.news.taken(until));
}

function take(inside: Inside, due: readonly Seen[], until: InstantMs, services: readonly ServiceMark[]): void {
  const { monitor, powers } = inside;
  const before = monitor.findings().length;
  const ended = [...powers].map((entity) => ({ entity, minutes: minutesOf(inside, entity, due, until) }));
  const observations = due.filter((one) => !powers.has(one.entity));
  const news = monitor.take({ minutes: ended, observations, services, until });
  for (const { kind, sure, evidence } of news) inside.system.log.info(`condition, ${kind}, ${sure}: ${evidence}`);
  if (news.length > 0 || monitor.findings().length !== before) inside.onChange();
  if (until - inside.keptAt >= KEEP_EVERY_MS) keep(inside, until);
}

function keep(inside: Inside, at: InstantMs): void {
  inside.keptAt = at;
  const kept: Kept = { memory: inside.monitor.memory, news: inside.news.known() };
  inside.store.putSetting(MEMORY, JSON.stringify(kept));
}

function goLive(inside: Inside, to: InstantMs): void {
  // What holds now, of those that were silent all the while.
  for (const seen of inside.newest.values()) if (seen.at < to) inside.pending.push({ ...seen, at: to });
  inside.pending.sort((a, b) => a.at - b.at);
  inside.phase = 'live';
  keep(inside, to);
}
