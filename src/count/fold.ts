import type { Bounds, CounterDef, CounterId, EntityId, Measure } from '../model/index.ts';
import { ZERO } from '../model/index.ts';
import type { Observation } from '../observe/index.ts';
import type { InstantMs } from '../units/index.ts';
import { type Counter, foldedMeasures, freeze, pass, take, takeOfCompanion, thaw } from './counter.ts';
import { amountOf, drainSlices } from './ledger.ts';
import type { MeterLog } from './meter.ts';
import type { CounterSet, CounterState, Doubt, FoldResult, ResetEntry } from './types.ts';

/** The fold with its memory open: for long feeds, where copying the states after each observation would be the main cost. */
export type Folder = {
  /** Observations of one entity come in order of time (`mergeByTime`); older ones than the last taken are dropped. */
  take(observation: Observation): void;
  /** All states as they are now, and what was booked since the last `result`. The folder can go on. */
  result(): FoldResult;
};

export function initialState(def: CounterDef): CounterState {
  const amounts: Partial<Record<Measure, Bounds>> = {};
  for (const measure of foldedMeasures(def)) amounts[measure] = ZERO;
  return { id: def.id, amounts, countingSince: null, lastAt: null, memory: {} };
}

export function initialStates(defs: CounterSet): ReadonlyMap<CounterId, CounterState> {
  return new Map(defs.map((def) => [def.id, initialState(def)]));
}

type Readers = { readonly own: Counter[]; readonly companions: Counter[] };

const groupByEntity = (counters: readonly Counter[]): Map<EntityId, Readers> => {
  const byEntity = new Map<EntityId, Readers>();
  const readersOf = (entity: EntityId): Readers => {
    const readers = byEntity.get(entity) ?? { own: [], companions: [] };
    byEntity.set(entity, readers);
    return readers;
  };
  for (const counter of counters) {
    readersOf(counter.entity).own.push(counter);
    if (counter.companion !== null) readersOf(counter.companion).companions.push(counter);
  }
  return byEntity;
};

/** Counters without a state (new in the configuration) begin from nothing; states without a counter are left out. */
export function createFolder(defs: CounterSet, states: ReadonlyMap<CounterId, CounterState>): Folder {
  const counters = defs.map((def) => thaw(def, states.get(def.id) ?? initialState(def)));
  const byEntity = groupByEntity(counters);
  let resets: ResetEntry[] = [];
  let doubts: Doubt[] = [];
  let late = 0;
  let current: CounterId = '';
  const log: MeterLog = {
    reset: (at, before, after) => resets.push({ counter: current, at, before, after }),
    doubt: (doubt) => doubts.push({ counter: current, ...doubt }),
  };
  return {
    take({ entity, at, value, origin }) {
      const found = byEntity.get(entity);
      if (found === undefined) return;
      for (const counter of found.own) {
        if (at > counter.lastAt && at >= counter.companionAt) {
          current = counter.id;
          take(counter, at, value, origin, log);
        } else if (at !== counter.lastAt) {
          late++;
        }
      }
      for (const counter of found.companions) {
        if (at > counter.companionAt && at >= counter.lastAt) takeOfCompanion(counter, at, value, origin);
        else if (at !== counter.companionAt) late++;
      }
    },
    result() {
      const slices = counters.flatMap((counter) =>
        counter.ledgers.flatMap((ledger) => drainSlices(ledger, counter.id)),
      );
      const result = {
        states: new Map(counters.map((counter) => [counter.id, freeze(counter)])),
        slices,
        resets,
        doubts,
        late,
      };
      resets = [];
      doubts = [];
      late = 0;
      return result;
    },
  };
}

export function foldObservations(
  defs: CounterSet,
  states: ReadonlyMap<CounterId, CounterState>,
  observations: Iterable<Observation>,
): FoldResult {
  const folder = createFolder(defs, states);
  for (const observation of observations) folder.take(observation);
  return folder.result();
}

/**
 * Amounts as they stand at `now`: what has passed since the last observation added, the state left as it is. Observations
 * carry the hub's time; a `now` before the last of them, from a clock of our own that is behind, adds nothing.
 */
export function project(def: CounterDef, state: CounterState, now: InstantMs): CounterState['amounts'] {
  const copy = thaw(def, state);
  pass(copy, Math.max(now, state.lastAt ?? now));
  return Object.fromEntries(copy.ledgers.map((ledger) => [ledger.measure, amountOf(ledger)]));
}
