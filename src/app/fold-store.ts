import {
  type CounterState,
  type FoldResult,
  foldObservations,
  initialStates,
  moveClock,
  passedSlices,
  project,
  type Slice,
  sourceEntities,
} from '../count/index.ts';
import type { CounterDef, CounterId, EntityId } from '../model/index.ts';
import { type HourStatistic, hoursAsObservations, mergeByTime, type Observation } from '../observe/index.ts';
import type { CountCommit, Log, StorePort } from '../ports/index.ts';
import type { CounterView, UsageSources } from '../record/index.ts';
import type { InstantMs } from '../units/index.ts';
import { fallQuestion } from './falls.ts';
import { ASTRAY_MS, type ClockSet } from './hub-clock.ts';
import { createMinutes } from './minutes.ts';
import { createUnitWatch } from './units.ts';

export type Fold = {
  /** Takes a batch and puts what it did on disk; false when none of it feeds a counter. `isLive`: it is waited for. */
  commit(batch: readonly Observation[], isLive?: boolean): boolean;
  /**
   * Takes hours of the hub's statistics, after the gaps they stand in. Each counter takes them in its own way, so they are
   * put on disk together: half of them would draw a state across the rest.
   */
  commitHours(gaps: readonly Observation[], hours: readonly HourStatistic[], receivedAt: InstantMs): void;
  /**
   * The hub's clock was set: until `until` by the old time all held as it was, what it shows now holds from `hubNow` on, and
   * in between nothing is certain. No time is counted that did not pass, and none is lost.
   */
  clockSet(set: ClockSet): void;
  /** Counters at `now`; from `deadSince` on nothing is known (null: the link is up). */
  sources(now: InstantMs, deadSince: InstantMs | null): UsageSources;
};

/** The fold with its store: what is taken is on disk together with how far it was taken. */
export function createFold(defs: readonly CounterDef[], store: StorePort, log: Log): Fold {
  const stored = store.counterStates();
  let states: ReadonlyMap<CounterId, CounterState> = new Map(
    [...initialStates(defs)].map(([id, state]) => [id, stored.get(id) ?? state]),
  );
  const fedBy = readersOf(defs);
  const units = createUnitWatch(defs, store, log);
  const touchedBy = (entities: Iterable<EntityId>): readonly CounterDef[] => [
    ...new Set([...new Set(entities)].flatMap((entity) => fedBy.get(entity) ?? [])),
  ];
  const foldFor = (touched: readonly CounterDef[], batch: readonly Observation[]): FoldResult => {
    const before = touched.map((def) => [def.id, states.get(def.id)] as const);
    const part = new Map(before.filter((pair): pair is [CounterId, CounterState] => pair[1] !== undefined));
    return foldObservations(touched, part, batch);
  };
  const minutes = createMinutes(defs, store);
  const keep = (
    results: readonly FoldResult[],
    taken: readonly Observation[],
    watts: readonly Observation[] = [],
    isLive = false,
  ): void => {
    const doubts = results.flatMap((result) => result.doubts);
    const kept = minutes.take(watts);
    const cursors = new Map<EntityId, InstantMs>();
    for (const { entity, at } of taken) cursors.set(entity, Math.max(at, cursors.get(entity) ?? at));
    store.commitCounts({
      ...together(results),
      cursors,
      minutes: kept.commits,
      isLive,
      doubts,
      questions: doubts.flatMap((doubt) => fallQuestion(doubt, defs)),
    });
    kept.done();
    for (const { counter, kind, before, after } of doubts)
      log.warn(`counter ${counter}: a reading was not taken at its word (${kind}): ${before}, then ${after}`);
    states = new Map([...states, ...results.flatMap((result) => [...result.states])]);
  };
  const commit = (batch: readonly Observation[], isLive = false): boolean => {
    const wanted = units.screen(batch.filter((observation) => fedBy.has(observation.entity)));
    if (wanted.length === 0) return false;
    keep([foldFor(touchedBy(wanted.map((observation) => observation.entity)), wanted)], wanted, wanted, isLive);
    return true;
  };
  const commitHours = (gaps: readonly Observation[], hours: readonly HourStatistic[], receivedAt: InstantMs): void => {
    const touched = touchedBy([...gaps, ...hours].map(({ entity }) => entity));
    const batches = touched.map((def) => {
      const own = new Set(sourceEntities(def));
      const points = hoursAsObservations(hours, def.source, receivedAt);
      return { def, batch: units.screen(mergeByTime([gaps.filter(({ entity }) => own.has(entity)), points])) };
    });
    const taken = batches.flatMap(({ batch }) => batch);
    if (taken.length > 0)
      keep(
        batches.map(({ def, batch }) => foldFor([def], batch)),
        taken,
      );
  };
  const clockSet = (set: ClockSet): void => {
    const isMoved = isMovedBy(set, states);
    const moved = defs.filter(isMoved);
    const results = moved.map((def) => movedBy(set, foldFor([def], gapsFrom(def, set.until, store.cursors()))));
    const lastAt = results.flatMap((result) => [...result.states.values()].map((state) => state.lastAt ?? 0));
    const to = Math.max(set.hubNow, ...lastAt);
    const entities = new Set(moved.flatMap(sourceEntities));
    const kept = minutes.clockSet(to);
    const cursors = new Map([...entities].map((entity) => [entity, to]));
    store.commitCounts({ ...together(results), cursors, clockSet: true, minutes: kept.commits });
    kept.done();
    states = new Map([...states, ...results.flatMap((result) => [...result.states])]);
    commit(set.present.filter(({ entity }) => entities.has(entity)).map((one) => ({ ...one, at: to + 1 })));
  };
  return {
    commit,
    commitHours,
    clockSet,
    sources: (now, deadSince) => viewsOf(defs, states, store, now, deadSince),
  };
}

/** A counter that is ahead of the clock as it was waits for it to be right again: the gap before that is on it already. */
const isMovedBy =
  ({ expected }: ClockSet, states: ReadonlyMap<CounterId, CounterState>) =>
  ({ id }: CounterDef): boolean =>
    (states.get(id)?.lastAt ?? expected) <= expected + ASTRAY_MS;

function movedBy({ expected, hubNow }: ClockSet, result: FoldResult): FoldResult {
  const states = [...result.states].map(([id, state]) => [id, moveClock(state, hubNow - expected)] as const);
  return { ...result, states: new Map(states) };
}

const together = (results: readonly FoldResult[]): Pick<CountCommit, 'states' | 'slices' | 'resets'> => ({
  states: results.flatMap((result) => [...result.states.values()]),
  slices: results.flatMap((result) => result.slices),
  resets: results.flatMap((result) => result.resets),
});

function readersOf(defs: readonly CounterDef[]): ReadonlyMap<EntityId, readonly CounterDef[]> {
  const readers = new Map<EntityId, CounterDef[]>();
  for (const def of defs) {
    for (const entity of sourceEntities(def)) readers.set(entity, [...(readers.get(entity) ?? []), def]);
  }
  return readers;
}

function viewsOf(
  defs: readonly CounterDef[],
  states: ReadonlyMap<CounterId, CounterState>,
  store: StorePort,
  now: InstantMs,
  deadSince: InstantMs | null,
): UsageSources {
  const counters = new Map<CounterId, CounterView>();
  for (const def of defs) {
    const folded = states.get(def.id);
    if (folded === undefined) continue;
    const { state: seen, slices } = withGap(def, folded, deadSince);
    counters.set(def.id, {
      def,
      folded,
      projected: { ...seen, amounts: project(def, seen, now) },
      passed: () => [...slices, ...passedSlices(def, seen, now)],
    });
  }
  return { counters, slices: (counter, measure, from) => store.slices(counter, measure, from) };
}

/** All of a counter's entities fall silent together, after what was taken of each. */
function gapsFrom(def: CounterDef, from: InstantMs, cursors: ReadonlyMap<EntityId, InstantMs>): readonly Observation[] {
  const entities = sourceEntities(def);
  const at = entities.reduce((latest, entity) => Math.max(latest, (cursors.get(entity) ?? 0) + 1), from);
  return entities.map((entity) => ({ entity, value: null, at, receivedAt: at, origin: 'assumed' }));
}

type Seen = { readonly state: CounterState; readonly slices: readonly Slice[] };

/** Since the link died nothing is known: shown, not stored, because history may still fill it. */
function withGap(def: CounterDef, state: CounterState, deadSince: InstantMs | null): Seen {
  if (deadSince === null || state.lastAt === null) return { state, slices: [] };
  const at = Math.max(deadSince, state.lastAt + 1);
  const gaps = sourceEntities(def).map(
    (entity): Observation => ({ entity, value: null, at, receivedAt: at, origin: 'assumed' }),
  );
  const { states, slices } = foldObservations([def], new Map([[def.id, state]]), gaps);
  return { state: states.get(def.id) ?? state, slices };
}
