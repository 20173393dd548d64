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
import {
  initialMinutes,
  type MinutePower,
  type MinuteState,
  type Observation,
  type Reading,
  takeMinutes,
} from '../observe/index.ts';
import type { HubPort, StorePort, System } from '../ports/index.ts';
import { DAY_MS, type DurationMs, HOUR_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import type { Loop } from './loop.ts';

/** Setting of the store: what the detectors remember, and which lives they know. */
const MEMORY = 'condition';
/** A first start asks the hub so far back: enough to learn what is usual. */
const ASK_BACK_MS: DurationMs = 45 * DAY_MS;
/** What the store keeps by the minute is read from the last service of the part on, so far back at most. */
const LOOK_BACK_MS: DurationMs = 400 * DAY_MS;
/** Reports of a minute may come a little later than it. */
const LAG_MS: DurationMs = MINUTE_MS;
const KEEP_EVERY_MS: DurationMs = HOUR_MS;
/** Filled in by so much at a time, so that little is held in memory and the loop can breathe. */
const PIECE_MS: DurationMs = DAY_MS;

type Seen = Pick<Observation, 'entity' | 'at' | 'value'>;

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
  readonly hub: Pick<HubPort, 'history'>;
  readonly store: StorePort;
  readonly system: System;
  readonly loop: Loop;
  readonly lives: () => ReadonlyMap<PartId, PartLife>;
  /** Something new was found, or something is over. */
  readonly onChange: () => void;
};

type Kept = { readonly memory: ConditionMemory; readonly lives: Readonly<Record<PartId, number>> };

type Inside = Deps & {
  readonly monitor: Monitor;
  readonly powers: ReadonlySet<EntityId>;
  readonly entities: readonly EntityId[];
  knownLives: Record<PartId, number>;
  minutes: Map<EntityId, MinuteState>;
  /** Came in, and not yet judged. */
  pending: Seen[];
  newest: Map<EntityId, Seen>;
  phase: 'down' | 'filling' | 'live';
  keptAt: InstantMs;
};

function read(store: StorePort): Kept {
  const text = store.setting(MEMORY);
  if (text === null) return { memory: newCondition(), lives: {} };
  try {
    const kept = JSON.parse(text) as Kept;
    if (kept.memory.v === 1) return kept;
  } catch {
    // Learned anew from history; nothing else rests on it.
  }
  return { memory: newCondition(), lives: {} };
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
    knownLives: { ...kept.lives },
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
      filled = fill(inside, signal).catch((error: unknown) => {
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

/** Parts that got a new life: what was learned of them is out of date. */
function serviced(inside: Inside, from: InstantMs): readonly ServiceMark[] {
  const marks: ServiceMark[] = [];
  for (const [id, life] of inside.lives()) {
    const known = inside.knownLives[id];
    inside.knownLives[id] = life.number;
    const part = inside.tank.parts.find((one) => one.id === id);
    if (part === undefined || known === life.number) continue;
    // At the very first look only what was fitted since the record begins is news.
    if (known === undefined && life.fittedAt < from) continue;
    const about = part.equipment === undefined ? {} : { equipment: part.equipment };
    marks.push({ at: life.fittedAt, what: 'serviced', part: part.kind, ...about });
  }
  return marks;
}

/** Judges all that came in before `to`; a value that was not renewed still holds while the link is up. */
function judge(inside: Inside, to: InstantMs): void {
  const until = to - (to % MINUTE_MS);
  const { takenTo } = inside.monitor.memory;
  if (takenTo !== null && until <= takenTo) return;
  const due = inside.pending.filter((one) => one.at < until);
  inside.pending = inside.pending.filter((one) => one.at >= until);
  take(inside, due, until, serviced(inside, takenTo ?? until));
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
  const kept: Kept = { memory: inside.monitor.memory, lives: inside.knownLives };
  inside.store.putSetting(MEMORY, JSON.stringify(kept));
}

/** From where it was left, or as far back as is needed to learn, up to now; then live readings follow. */
async function fill(inside: Inside, signal: AbortSignal): Promise<void> {
  const { loop, system, monitor, store } = inside;
  const now = system.clock.now();
  const to = now - (now % MINUTE_MS);
  // What the store keeps by the minute need not be asked of the hub again.
  const stored = [...inside.powers].filter((entity) => store.minuteStates().has(entity));
  const asked = inside.entities.filter((entity) => !stored.includes(entity));
  const from = monitor.memory.takenTo ?? beginning(inside, stored, now);
  const first = from - (from % MINUTE_MS);
  const askFrom = Math.max(first, to - ASK_BACK_MS);
  const services = await loop.run('condition', () => serviced(inside, first));
  const piece = createPieces(inside, { first, stored, services });
  for (const until of piece.ends(askFrom)) {
    if (signal.aborted) return;
    await loop.run('condition', () => piece.take(until));
  }
  for await (const batch of inside.hub.history({ entities: asked, from: askFrom, to, signal })) {
    if (signal.aborted) return;
    const last = batch.at(-1)?.at ?? askFrom;
    await loop.run('condition', () => piece.add(batch));
    for (const until of piece.ends(last)) await loop.run('condition', () => piece.take(until));
  }
  if (signal.aborted) return;
  for (const until of piece.ends(to)) await loop.run('condition', () => piece.take(until));
  await loop.run('condition', () => {
    if (signal.aborted) return;
    piece.take(to);
    // What holds now, of those that were silent all the while.
    for (const seen of inside.newest.values()) if (seen.at < to) inside.pending.push({ ...seen, at: to });
    inside.pending.sort((a, b) => a.at - b.at);
    inside.phase = 'live';
    keep(inside, to);
  });
}

/** The last service of whatever the store keeps minutes of. */
function beginning({ tank, lives }: Inside, stored: readonly EntityId[], now: InstantMs): InstantMs {
  const kept = tank.equipment.filter(({ powerEntity }) => powerEntity !== undefined && stored.includes(powerEntity));
  const fitted = tank.parts
    .filter(({ equipment }) => kept.some(({ id }) => id === equipment))
    .flatMap(({ id }) => lives().get(id)?.fittedAt ?? []);
  return Math.max(now - LOOK_BACK_MS, Math.min(now - ASK_BACK_MS, ...fitted));
}

/** Takes a past in pieces of a day: rows of the hub's history beside minutes of the store. */
function createPieces(
  inside: Inside,
  { first, stored, services }: { first: InstantMs; stored: readonly EntityId[]; services: readonly ServiceMark[] },
) {
  let rows: Seen[] = [];
  let marks = services;
  let takenTo: InstantMs | null = null;
  return {
    add(batch: readonly Observation[]): void {
      rows.push(...batch);
    },
    /** Ends of the whole pieces that lie before `last`. */
    *ends(last: InstantMs): Iterable<InstantMs> {
      const begun = takenTo ?? first;
      for (let end = begun - (begun % PIECE_MS) + PIECE_MS; end <= last; end += PIECE_MS) yield end;
    },
    take(until: InstantMs): void {
      const { monitor, store } = inside;
      const from = Math.max(monitor.memory.takenTo ?? first, first);
      if (until <= from) return;
      const due = rows.filter((row) => row.at < until);
      rows = rows.filter((row) => row.at >= until);
      const kept = stored.map((entity) => ({ entity, minutes: store.minutePower(entity, from, until) }));
      const own = [...inside.powers].filter((entity) => !stored.includes(entity));
      const told = own.map((entity) => ({ entity, minutes: minutesOf(inside, entity, due, until) }));
      const observations = due.filter((row) => !inside.powers.has(row.entity));
      monitor.take({
        minutes: [...kept, ...told],
        observations,
        services: marks.filter((mark) => mark.at < until),
        until,
      });
      marks = marks.filter((mark) => mark.at >= until);
      takenTo = until;
    },
  };
}

/** Held to the end of the last minute, so that it is told although nothing changed. */
function minutesOf(inside: Inside, entity: EntityId, due: readonly Seen[], until: InstantMs): readonly MinutePower[] {
  const state = inside.minutes.get(entity) ?? initialMinutes;
  const own = due.filter((one) => one.entity === entity);
  const hold = { at: until, value: own.at(-1)?.value ?? state.watts };
  const taken = takeMinutes(state, state.at === null && own.length === 0 ? [] : [...own, hold]);
  inside.minutes.set(entity, taken.state);
  return taken.minutes;
}
