import type { CounterDef, CounterId, EntityId, Origin } from '../model/index.ts';
import { mergeByTime, type Observation } from '../observe/index.ts';
import { columnReader } from './column-readers.ts';
import { freeze, sourceEntities, thaw } from './counter.ts';
import { foldObservations, initialState } from './fold.ts';
import { drainSlices } from './ledger.ts';
import type { CounterSet, CounterState, FoldResult, Slice } from './types.ts';

/** What one entity was, oldest first: UTC ms and value, NaN where nothing is known. All of one origin. */
export type Column = {
  readonly at: Float64Array;
  readonly value: Float64Array;
  readonly origin: Origin;
};

/** As observations, for what has no way of its own through columns. */
function observationsOf(entity: EntityId, { at, value, origin }: Column): readonly Observation[] {
  return Array.from(at, (when, index): Observation => {
    const number = value[index] ?? Number.NaN;
    return { entity, value: Number.isNaN(number) ? null : number, at: when, receivedAt: when, origin };
  });
}

function foldRest(
  defs: CounterSet,
  states: ReadonlyMap<CounterId, CounterState>,
  columns: ReadonlyMap<EntityId, Column>,
): FoldResult {
  const entities = new Set(defs.flatMap(sourceEntities));
  const streams = [...entities].map((entity) => {
    const column = columns.get(entity);
    return column === undefined ? [] : observationsOf(entity, column);
  });
  return foldObservations(defs, states, mergeByTime(streams));
}

/**
 * The same as `foldObservations` over the merged observations, to the last bit, for long histories that come an entity at
 * a time: counters that hang on one switch or one power reading run down their column, others take the usual way.
 */
export function foldColumns(
  defs: CounterSet,
  states: ReadonlyMap<CounterId, CounterState>,
  columns: ReadonlyMap<EntityId, Column>,
): FoldResult {
  const after = new Map<CounterId, CounterState>();
  const slices = new Map<CounterId, readonly Slice[]>();
  const rest: CounterDef[] = [];
  let late = 0;
  for (const def of defs) {
    const counter = thaw(def, states.get(def.id) ?? initialState(def));
    const read = columnReader(counter);
    if (read === null) {
      rest.push(def);
      continue;
    }
    const column = columns.get(def.source.entity);
    if (column !== undefined) late += read(column.at, column.value, column.origin);
    slices.set(
      def.id,
      counter.ledgers.flatMap((ledger) => drainSlices(ledger, counter.id)),
    );
    after.set(def.id, freeze(counter));
  }
  const usual = foldRest(rest, states, columns);
  for (const slice of usual.slices) slices.set(slice.counter, [...(slices.get(slice.counter) ?? []), slice]);
  const stateOf = (id: CounterId): readonly [CounterId, CounterState][] => {
    const state = after.get(id) ?? usual.states.get(id);
    return state === undefined ? [] : [[id, state]];
  };
  return {
    states: new Map(defs.flatMap(({ id }) => stateOf(id))),
    slices: defs.flatMap(({ id }) => slices.get(id) ?? []),
    resets: usual.resets,
    doubts: usual.doubts,
    late: late + usual.late,
  };
}
