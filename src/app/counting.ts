import { type CounterState, foldObservations, initialStates, project } from '../count/index.ts';
import type { CounterDef, CounterId, EntityId } from '../model/index.ts';
import { bookRestart, mergeByTime, type Observation } from '../observe/index.ts';
import type { HubPort, StorePort, System } from '../ports/index.ts';
import type { CounterView, UsageSources } from '../record/index.ts';
import { DAY_MS, type InstantMs } from '../units/index.ts';
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
  /** Counters as folded and as they stand at `now`; while the link is down what passes is a gap. */
  sources(now: InstantMs): UsageSources;
  /** 0 to 1 while history is fetched, else null. */
  progress(): number | null;
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
  /** Where the link was lost in an earlier run of the service. */
  readonly lastSeenAt: InstantMs | null;
};

type Phase = { readonly kind: 'down'; readonly since: InstantMs | null } | { readonly kind: 'fetching' | 'live' };

export const sourceEntity = (def: CounterDef): EntityId => def.source.entity;

export function createCounting(deps: Deps): Counting {
  const { defs, hub, store, system, loop } = deps;
  const counting = createFold(deps);
  const entities = [...new Set(defs.map(sourceEntity))];
  let phase: Phase = { kind: 'down', since: deps.lastSeenAt };
  let heldBack: Observation[] = [];
  let fetchRun = 0;
  let done = 0;
  let waitingForLive: (() => void)[] = [];

  const finishFetch = (run: number): void => {
    if (run !== fetchRun) return;
    phase = { kind: 'live' };
    const waiting = heldBack;
    heldBack = [];
    counting.commit(mergeByTime([waiting]));
    deps.onCaughtUp();
    for (const resolve of waitingForLive) resolve();
    waitingForLive = [];
  };

  /** One entity after the other, one query at a time: the hub has other things to do. */
  const fetchEach = async (run: number, to: InstantMs): Promise<void> => {
    for (const entity of entities) {
      const from = store.cursors().get(entity) ?? deps.historyFrom;
      for await (const batch of hub.history({ entities: [entity], from, to })) {
        if (run !== fetchRun) return;
        await loop.run('history', () => counting.commit(batch));
      }
      done += 1;
    }
  };

  /** After a hub restart all rows are needed at once, since any entity's row tells how long the old run lived. */
  const fetchAcrossRestart = async (run: number, link: LinkUp, lastSeenAt: InstantMs): Promise<void> => {
    const rows: Observation[] = [];
    for (const entity of entities) {
      const from = Math.min(store.cursors().get(entity) ?? lastSeenAt, lastSeenAt);
      for await (const batch of hub.history({ entities: [entity], from, to: link.at })) rows.push(...batch);
      if (run !== fetchRun) return;
      done += 1;
    }
    const restartedAt = link.restartedAt ?? link.at;
    const booked = bookRestart({
      entities,
      lastSeenAt: Math.min(lastSeenAt, restartedAt),
      restartedAt,
      readyAt: link.at,
      rows,
      receivedAt: system.clock.now(),
    });
    await loop.run('history', () => counting.commit(booked));
  };

  const fetch = async (link: LinkUp, lastSeenAt: InstantMs | null): Promise<void> => {
    const run = ++fetchRun;
    done = 0;
    phase = { kind: 'fetching' };
    try {
      if (link.hubRestarted && lastSeenAt !== null && store.cursors().size > 0)
        await fetchAcrossRestart(run, link, lastSeenAt);
      else await fetchEach(run, link.at);
      loop.enqueue('history done', () => finishFetch(run));
    } catch (error) {
      if (run === fetchRun)
        system.log.warn(`history could not be read; the next connection tries again: ${String(error)}`);
    }
  };

  return {
    take: (batch) => {
      if (phase.kind !== 'live') heldBack.push(...batch);
      else if (counting.commit(batch)) deps.onCounted();
    },
    linkUp: (link) => {
      const lastSeenAt = phase.kind === 'down' ? phase.since : system.clock.now();
      void fetch(link, lastSeenAt);
    },
    linkDown: (at) => {
      fetchRun += 1;
      heldBack = [];
      phase = { kind: 'down', since: at };
    },
    sources: (now) => counting.sources(now, phase.kind === 'down' ? phase.since : null),
    progress: () => (phase.kind === 'fetching' ? done / Math.max(1, entities.length) : null),
    whenLive: () =>
      phase.kind === 'live' ? Promise.resolve() : new Promise((resolve) => waitingForLive.push(() => resolve())),
    stop: () => {
      fetchRun += 1;
    },
  };
}

/** The fold with its store: what is taken is on disk together with how far it was taken. */
function createFold({ defs, store }: Deps) {
  const stored = store.counterStates();
  let states: ReadonlyMap<CounterId, CounterState> = new Map(
    [...initialStates(defs)].map(([id, state]) => [id, stored.get(id) ?? state]),
  );
  const byEntity = new Map<EntityId, CounterDef[]>();
  for (const def of defs) {
    const list = byEntity.get(sourceEntity(def)) ?? [];
    list.push(def);
    byEntity.set(sourceEntity(def), list);
  }
  const commit = (batch: readonly Observation[]): boolean => {
    const wanted = batch.filter((observation) => byEntity.has(observation.entity));
    if (wanted.length === 0) return false;
    const touched = [...new Set(wanted.map((observation) => observation.entity))].flatMap(
      (entity) => byEntity.get(entity) ?? [],
    );
    const before = new Map(touched.flatMap((def) => [[def.id, states.get(def.id)] as const]));
    const part = new Map([...before].filter((pair): pair is [CounterId, CounterState] => pair[1] !== undefined));
    const result = foldObservations(touched, part, wanted);
    const cursors = new Map<EntityId, InstantMs>();
    for (const { entity, at } of wanted) cursors.set(entity, Math.max(at, cursors.get(entity) ?? at));
    store.commitCounts({
      states: [...result.states.values()],
      slices: result.slices,
      resets: result.resets,
      cursors,
    });
    states = new Map([...states, ...result.states]);
    return true;
  };
  const sources = (now: InstantMs, deadSince: InstantMs | null): UsageSources => {
    const counters = new Map<CounterId, CounterView>();
    for (const def of defs) {
      const folded = states.get(def.id);
      if (folded === undefined) continue;
      const seen = withGap(def, folded, deadSince);
      counters.set(def.id, { def, folded, projected: { ...seen, amounts: project(def, seen, now) } });
    }
    return { counters, slices: (counter, measure, from) => store.slices(counter, measure, from) };
  };
  return { commit, sources };
}

/** Since the link died nothing is known: shown, not stored, because history may still fill it. */
function withGap(def: CounterDef, state: CounterState, deadSince: InstantMs | null): CounterState {
  if (deadSince === null || state.lastAt === null) return state;
  const at = Math.max(deadSince, state.lastAt + 1);
  const gap: Observation = { entity: sourceEntity(def), value: null, at, receivedAt: at, origin: 'assumed' };
  return foldObservations([def], new Map([[def.id, state]]), [gap]).states.get(def.id) ?? state;
}

/** A first start looks back as far as the oldest part, three years at most. */
export function historyStart(fittedAt: readonly (InstantMs | undefined)[], now: InstantMs): InstantMs {
  const oldest = fittedAt.reduce<number>((least, at) => Math.min(least, at ?? least), now - 10 * DAY_MS);
  return Math.max(oldest, now - 3 * 365 * DAY_MS);
}
