import type { DatabaseSync } from 'node:sqlite';
import type { CounterState, ResetEntry, Slice } from '../../count/index.ts';
import type { CounterId, EntityId, Measure } from '../../model/index.ts';
import type { CountCommit } from '../../ports/index.ts';
import { HOUR_MS, type InstantMs } from '../../units/index.ts';
import { STORED_MEASURES, STORED_ORIGINS } from './schema.ts';

export type CountTables = {
  states(): ReadonlyMap<CounterId, CounterState>;
  cursors(): ReadonlyMap<EntityId, InstantMs>;
  /** To be called inside a transaction. */
  write(commit: CountCommit): void;
  slices(counter: CounterId, measure: Measure, from: InstantMs): readonly Slice[];
  resets(counter: CounterId): readonly ResetEntry[];
};

type SliceRow = { hour: number; origin: number; low: number; over_low: number; over_best: number };

const addSlice = `
  INSERT INTO slices (counter, measure, hour, origin, low, over_low, over_best) VALUES (?, ?, ?, ?, ?, ?, ?)
  ON CONFLICT DO UPDATE SET low = low + excluded.low, over_low = over_low + excluded.over_low,
    over_best = over_best + excluded.over_best`;

const readSlices = `
  SELECT hour, origin, low, over_low, over_best FROM slices
  WHERE counter = (SELECT no FROM counters WHERE id = ?) AND measure = ? AND hour >= ? ORDER BY hour, origin`;

const readResets = `
  SELECT at, before, after FROM resets WHERE counter = (SELECT no FROM counters WHERE id = ?) ORDER BY at`;

export function countTables(db: DatabaseSync): CountTables {
  const statements = {
    state: db.prepare(
      'INSERT INTO counters (id, state) VALUES (?, ?) ON CONFLICT (id) DO UPDATE SET state = excluded.state',
    ),
    name: db.prepare('INSERT INTO counters (id) VALUES (?) ON CONFLICT DO NOTHING'),
    number: db.prepare('SELECT no FROM counters WHERE id = ?'),
    slice: db.prepare(addSlice),
    reset: db.prepare(
      'INSERT INTO resets (counter, at, before, after) VALUES (?, ?, ?, ?) ON CONFLICT DO UPDATE SET after = excluded.after',
    ),
    cursor: db.prepare(
      'INSERT INTO cursors (entity, at) VALUES (?, ?) ON CONFLICT DO UPDATE SET at = max(at, excluded.at)',
    ),
    allStates: db.prepare('SELECT id, state FROM counters WHERE state IS NOT NULL ORDER BY no'),
    allCursors: db.prepare('SELECT entity, at FROM cursors'),
    slices: db.prepare(readSlices),
    resets: db.prepare(readResets),
  };
  const numberOf = (id: CounterId): number => {
    statements.name.run(id);
    return Number(statements.number.get(id)?.['no']);
  };
  const write = (commit: CountCommit): void => {
    for (const state of commit.states) statements.state.run(state.id, JSON.stringify(state));
    let counter = -1;
    let last: CounterId | null = null;
    for (const { counter: id, measure, hour, origin, add } of commit.slices) {
      if (id !== last) counter = numberOf(id);
      last = id;
      const m = STORED_MEASURES.indexOf(measure);
      const o = STORED_ORIGINS.indexOf(origin);
      statements.slice.run(counter, m, hour / HOUR_MS, o, add.low, add.best - add.low, add.high - add.best);
    }
    for (const { counter: id, at, before, after } of commit.resets)
      statements.reset.run(numberOf(id), at, before, after);
    for (const [entity, at] of commit.cursors) statements.cursor.run(entity, at);
  };
  return {
    write,
    states: () =>
      new Map(
        statements.allStates.all().map((row) => [String(row['id']), JSON.parse(String(row['state'])) as CounterState]),
      ),
    cursors: () => new Map(statements.allCursors.all().map((row) => [String(row['entity']), Number(row['at'])])),
    slices: (counter, measure, from) =>
      (
        statements.slices.all(
          counter,
          STORED_MEASURES.indexOf(measure),
          Math.floor(from / HOUR_MS),
        ) as unknown as SliceRow[]
      ).map((row) => sliceOf(counter, measure, row)),
    resets: (counter) =>
      statements.resets.all(counter).map((row) => ({
        counter,
        at: Number(row['at']),
        before: Number(row['before']),
        after: Number(row['after']),
      })),
  };
}

function sliceOf(counter: CounterId, measure: Measure, row: SliceRow): Slice {
  const best = row.low + row.over_low;
  return {
    counter,
    measure,
    hour: row.hour * HOUR_MS,
    origin: STORED_ORIGINS[row.origin] ?? 'assumed',
    add: { low: row.low, best, high: best + row.over_best },
  };
}
