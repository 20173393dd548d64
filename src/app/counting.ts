import { sourceEntities } from '../count/index.ts';
import type { CounterDef, EntityId } from '../model/index.ts';
import { bookRestart, hourlyEntities, mergeByTime, type Observation } from '../observe/index.ts';
import type { HubPort, StorePort, System } from '../ports/index.ts';
import { NO_ENTITY, type UsageSources } from '../record/index.ts';
import { DAY_MS, type DurationMs, type InstantMs, MINUTE_MS, SECOND_MS } from '../units/index.ts';
import { hoursWithin, isUnchanged, type Stretch } from './bridge.ts';
import { createFold, type Fold } from './fold-store.ts';
import { createClockWatch } from './hub-clock.ts';
import type { Loop } from './loop.ts';

export type LinkUp = {
  readonly at: InstantMs;
  readonly hubRestarted: boolean;
  readonly restartedAt: InstantMs | null;
};

export type Counting = {
  /** Live observations. Held back while history is being fetched, so that history comes first. */
  take(batch: readonly Observation[]): void;
  linkUp(link: LinkUp): void;
  linkDown(at: InstantMs): void;
  /** By how much the hub's clock is ahead of ours, as measured: a clock that was set shows here. */
  skew(ms: DurationMs): void;
  /** Whether the two clocks still go together as they did; looks closer where they do not. */
  checkClock(): void;
  /** Counters as folded and as they stand at `now`; while the link is down what passes is a gap. */
  sources(now: InstantMs): UsageSources;
  /** 0 to 1 while history is fetched, else null. */
  progress(): number | null;
  /** Whether all that the hub reported until now is counted. */
  isLive(): boolean;
  /** Resolves once history has been read after the present connection came up. */
  whenLive(): Promise<void>;
  stop(): void;
};

type Deps = {
  readonly defs: readonly CounterDef[];
  readonly hub: HubPort;
  readonly store: StorePort;
  readonly system: System;
  readonly loop: Loop;
  /** A first start asks history from here on. */
  readonly historyFrom: InstantMs;
  /** Amounts may have changed. */
  readonly onCounted: () => void;
  /** History has been read and live observations follow. */
  readonly onCaughtUp: () => void;
  /** When the hub was last heard in an earlier run of the service. */
  readonly heardAt: InstantMs | null;
  /** Up to when an earlier run had counted everything; never after `heardAt`. */
  readonly watchedUntil: InstantMs | null;
};

type Phase =
  | { readonly kind: 'down'; readonly since: InstantMs | null; readonly heardAt: InstantMs | null }
  | { readonly kind: 'fetching' | 'live' }
  /** Something is dated as it cannot be: the hub is asked for its time, and what comes waits. */
  | { readonly kind: 'asking'; readonly since: InstantMs };

type Before = Pick<Deps, 'watchedUntil' | 'heardAt'>;

const beforeLink = (phase: Phase, now: InstantMs): Before =>
  phase.kind === 'down' ? { watchedUntil: phase.since, heardAt: phase.heardAt } : { watchedUntil: now, heardAt: now };

export function createCounting(deps: Deps): Counting {
  const { defs, store, system, loop } = deps;
  const fold = createFold(defs, store, system.log);
  let phase: Phase = { kind: 'down', since: deps.watchedUntil, heardAt: deps.heardAt };
  let heldBack: Observation[] = [];
  let fetching: Fetching | null = null;
  let live = Promise.withResolvers<void>();
  /** Up to here everything was watched, or read back; a link that ended while it was read back does not move it. */
  let watchedUntil = deps.watchedUntil;

  const watch = createClockWatch(deps);
  const askTime = (): void => {
    const asked: Phase = { kind: 'asking', since: system.clock.now() };
    phase = asked;
    void watch.ask().then((set) =>
      loop.enqueue('clock', () => {
        if (phase !== asked) return;
        phase = { kind: 'live' };
        const waiting = heldBack.splice(0);
        if (set === null) fold.commit(mergeByTime([watch.withoutFuture(waiting)]));
        else fold.clockSet(set);
        deps.onCounted();
      }),
    );
  };
  const checkClock = (): void => {
    if (phase.kind === 'live' && !watch.isRight()) askTime();
  };

  const goLive = (finished: Fetching): void => {
    if (finished !== fetching) return;
    phase = { kind: 'live' };
    fetching = null;
    fold.commit(mergeByTime([heldBack.splice(0)]));
    deps.onCaughtUp();
    live.resolve();
    live = Promise.withResolvers();
  };
  const fetch = (link: LinkUp, before: Before): void => {
    const present = (entity: EntityId): Observation | undefined => heldBack.find((one) => one.entity === entity);
    const mine: Fetching = { share: 0, isStale: false, present };
    fetching = mine;
    phase = { kind: 'fetching' };
    watch.begin();
    startFetching(deps, fold, mine, link, before, () => goLive(mine));
  };
  const drop = (): void => {
    if (fetching !== null) fetching.isStale = true;
    fetching = null;
    heldBack = [];
  };

  return {
    take: (batch) => {
      if (phase.kind !== 'live') heldBack.push(...batch);
      else if (!watch.fits(batch)) {
        heldBack.push(...batch);
        askTime();
      } else if (fold.commit(batch, true)) deps.onCounted();
    },
    linkUp: (link) => {
      const before = beforeLink(phase, system.clock.now());
      drop();
      watchedUntil = before.watchedUntil;
      fetch(link, before);
    },
    linkDown: (at) => {
      const since = phase.kind === 'live' ? at : phase.kind === 'asking' ? phase.since : watchedUntil;
      drop();
      phase = { kind: 'down', since, heardAt: at };
    },
    skew: (ms) => {
      watch.skew(ms);
      checkClock();
    },
    checkClock,
    sources: (now) => fold.sources(now, phase.kind === 'down' ? phase.since : null),
    progress: () => fetching?.share ?? null,
    isLive: () => phase.kind === 'live',
    whenLive: () => (phase.kind === 'live' || phase.kind === 'asking' ? Promise.resolve() : live.promise),
    stop: drop,
  };
}

/** The hub's clock may be ahead by what a session would just bear; its rows up to then are asked for. */
const HUB_AHEAD_MS = 5 * SECOND_MS;

/** A hub that restarted while nobody was connected has come to rest by then: it waits five minutes at most for each of its parts. */
const LONGEST_START_MS = 15 * MINUTE_MS;

/** How much earlier than the oldest state it holds now a new run may have begun to write. */
const WAKING_MS = MINUTE_MS;

type Fetching = {
  share: number;
  isStale: boolean;
  /** What the hub showed of an entity when the link came up. */
  readonly present: (entity: EntityId) => Observation | undefined;
};

function startFetching(deps: Deps, fold: Fold, mine: Fetching, link: LinkUp, before: Before, onDone: () => void): void {
  fetchHistory(deps, fold, mine, link, before).then(
    () => deps.loop.enqueue('history done', onDone),
    (error: unknown) => {
      if (!mine.isStale)
        deps.system.log.warn(`history could not be read; the next connection tries again: ${String(error)}`);
    },
  );
}

/** One entity after the other, one query at a time: the hub has other things to do. Those that feed one counter together. */
async function fetchHistory(
  deps: Deps,
  fold: Fold,
  mine: Fetching,
  link: LinkUp,
  { watchedUntil, heardAt }: Before,
): Promise<void> {
  const { defs, hub, store, loop } = deps;
  // A counter whose plug was moved away is fed by nothing until it is given a source.
  const groups = fedTogether(defs.filter(({ source }) => source.entity !== NO_ENTITY));
  const entities = groups.flat();
  const cursors = store.cursors();
  // After a hub restart all rows are needed at once: any entity's row tells how long the old run lived.
  const restart = link.hubRestarted && heardAt !== null && cursors.size > 0 ? { lastSeenAt: heardAt } : null;
  const rows: Observation[] = [];
  const book = async (found: readonly Observation[]): Promise<void> => {
    if (restart === null) await loop.run('history', () => fold.commit(found));
    else rows.push(...found);
  };
  for (const [index, group] of groups.entries()) {
    const starts = group.map((entity) => cursors.get(entity) ?? deps.historyFrom);
    const from = Math.min(...starts, restart?.lastSeenAt ?? Number.MAX_SAFE_INTEGER);
    const begin = (batch: readonly Observation[]) =>
      bridge(deps, fold, mine, { group, batch, from, lastSeenAt: watchedUntil, link });
    let isFirst = true;
    for await (const batch of hub.history({ entities: group, from, to: link.at + HUB_AHEAD_MS })) {
      const open = isFirst ? await begin(batch) : [];
      if (mine.isStale) return;
      isFirst = false;
      await book(open.length === 0 ? batch : mergeByTime([open, batch]));
    }
    if (isFirst) await book(await begin([]));
    if (mine.isStale) return;
    mine.share = (index + 1) / groups.length;
  }
  if (restart === null || mine.isStale) return;
  const booked = bookRestart({
    entities,
    ...restartTimes(link, restart.lastSeenAt),
    rows,
    receivedAt: deps.system.clock.now(),
    takenTo: cursors,
  });
  await loop.run('history', () => fold.commit(booked));
}

/**
 * A new run is known by the oldest of the states it holds now. What it wrote before those, while it woke up, is no longer
 * among them but stands in the history: a plug shown as off for a moment is not the last word of the old run.
 */
export function restartTimes(
  link: LinkUp,
  lastSeenAt: InstantMs,
): { readonly lastSeenAt: InstantMs; readonly restartedAt: InstantMs; readonly readyAt: InstantMs } {
  const heldSince = link.restartedAt ?? link.at;
  const seenAt = Math.min(lastSeenAt, heldSince);
  return {
    lastSeenAt: seenAt,
    restartedAt: Math.min(heldSince, Math.max(seenAt + 1, heldSince - WAKING_MS)),
    readyAt: Math.min(link.at, heldSince + LONGEST_START_MS),
  };
}

type Opening = {
  readonly group: readonly EntityId[];
  /** The first rows of the hub's history. */
  readonly batch: readonly Observation[];
  readonly from: InstantMs;
  readonly lastSeenAt: InstantMs | null;
  readonly link: LinkUp;
};

/**
 * Books what lies between the last that was counted and the first row the hub still has by the hours of its statistics.
 * Gives the gaps where it has none.
 */
async function bridge(deps: Deps, fold: Fold, mine: Fetching, opening: Opening): Promise<readonly Observation[]> {
  const { group, batch, from, lastSeenAt, link } = opening;
  const { defs, hub, store, system, loop } = deps;
  const cursors = store.cursors();
  const gaps: Observation[] = [];
  const stretches: Stretch[] = [];
  await loop.run('history', () => {
    for (const entity of group) {
      const cursor = cursors.get(entity);
      const rows = batch.filter((row) => row.entity === entity);
      if (cursor !== undefined && isUnchanged(cursor, rows, mine.present(entity))) continue;
      const lost = cursor === undefined ? [] : lostBefore(entity, cursor, lastSeenAt, from, rows);
      gaps.push(...lost);
      const begun = cursor === undefined ? from : lost[0]?.at;
      const to = rows[0]?.at ?? link.at;
      const wanted = defs.some((def) => hourlyEntities(def.source).includes(entity));
      if (begun !== undefined && wanted) stretches.push({ entity, from: begun, to });
    }
  });
  const hours = await hoursWithin({ hub, log: system.log }, stretches, () => mine.isStale);
  if (mine.isStale || hours.length === 0) return gaps;
  await loop.run('history', () => fold.commitHours(gaps, hours, system.clock.now()));
  return [];
}

/** Entities in the order they are asked for; those that share a counter in one query, since it needs them in order of time. */
export function fedTogether(defs: readonly CounterDef[]): readonly (readonly EntityId[])[] {
  let groups: EntityId[][] = [];
  for (const def of defs) {
    const wanted = sourceEntities(def);
    const touched = groups.filter((group) => group.some((entity) => wanted.includes(entity)));
    const joined = [...new Set([...touched.flat(), ...wanted])];
    const [first] = touched;
    groups = groups.filter((group) => group === first || !touched.includes(group));
    if (first === undefined) groups.push(joined);
    else groups[groups.indexOf(first)] = joined;
  }
  return groups;
}

/**
 * A hub forgets: where its history does not reach back to what was last counted, the stretch between is unknown, and the
 * state from before it must not be drawn across. It begins where the entity was last watched.
 */
export function lostBefore(
  entity: EntityId,
  cursor: InstantMs,
  lastSeenAt: InstantMs | null,
  from: InstantMs,
  batch: readonly Observation[],
): readonly Observation[] {
  const first = batch[0]?.at;
  if (first !== undefined && first <= from) return [];
  const at = Math.max(cursor, lastSeenAt ?? cursor) + 1;
  if (first !== undefined && first <= at) return [];
  return [{ entity, value: null, at, receivedAt: at, origin: 'assumed' }];
}

/** A first start looks back as far as the oldest part, three years at most. */
export function historyStart(fittedAt: readonly (InstantMs | undefined)[], now: InstantMs): InstantMs {
  const oldest = fittedAt.reduce<number>((least, at) => Math.min(least, at ?? least), now - 10 * DAY_MS);
  return Math.max(oldest, now - 3 * 365 * DAY_MS);
}
