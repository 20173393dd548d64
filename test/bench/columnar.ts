import assert from 'node:assert/strict';
import { type DuckDBConnection, DuckDBInstance } from '@duckdb/node-api';
import { type Column, foldColumns, initialStates } from '../../src/count/index.ts';
import type { CounterDef, CounterSource, EntityId } from '../../src/model/index.ts';

export type ColumnarBench = {
  readonly rows: number;
  /** Through the product's columnar fold, an entity a column as the hub's history gives it: on-time with bounds, starts, hours. */
  readonly columnarObservationsPerS: number;
  /** The same from one mixed table such as the query reads, parting it by entity included. */
  readonly columnarFromTableObservationsPerS: number;
  /** DuckDB's window query for on-time alone, on the rows in its own memory, parted and in order. */
  readonly duckdbWindowObservationsPerS: number;
  readonly duckdbThreads: number;
  readonly columnarRatio: number;
  readonly columnarFromTableRatio: number;
};

const SWITCHES = 40;
const ENTITIES = 60;
const START = Date.UTC(2026, 0, 1);
const ON_ABOVE_W = 10;
const ROUNDS = 7;
const THREADS = 2;

const entityName = (index: number): string => (index < SWITCHES ? `switch.device_${index}` : `sensor.power_${index}`);

const defs: readonly CounterDef[] = Array.from({ length: ENTITIES }, (_, index): CounterDef => {
  const entity = entityName(index);
  const source: CounterSource =
    index < SWITCHES
      ? { kind: 'on-state', entity }
      : { kind: 'power-threshold', entity, onAboveW: ON_ABOVE_W, offBelowW: 5, minOnMs: 5_000, minOffMs: 20_000 };
  return { id: `counter-${index}`, name: entity, source, measures: ['on-hours', 'starts'] };
});

/** One mixed table, entities in turn: what both sides start from. */
type Table = { readonly entity: Uint8Array; readonly at: Float64Array; readonly value: Float64Array };

/** Repeatable numbers in [0, 1); quality is of no matter here. */
function generator(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 4_294_967_296;
  };
}

/** Power readings lie clearly on either side of the threshold, since the query knows no hysteresis. */
function tableOf(rows: number): Table {
  const random = generator(1);
  const next = new Float64Array(ENTITIES).fill(START);
  const level = new Uint8Array(ENTITIES);
  const table = { entity: new Uint8Array(rows), at: new Float64Array(rows), value: new Float64Array(rows) };
  for (let row = 0; row < rows; row++) {
    const index = row % ENTITIES;
    const at = (next[index] ?? START) + 1_000 + Math.floor(random() * 59_000);
    next[index] = at;
    if (index < SWITCHES || random() < 0.2) level[index] = 1 - (level[index] ?? 0);
    const on = level[index] === 1;
    table.entity[row] = index;
    table.at[row] = at;
    table.value[row] = index < SWITCHES ? (on ? 1 : 0) : on ? 40 + Math.floor(random() * 200) / 10 : random() * 2;
  }
  return table;
}

/** Parts the table by entity; its order of time within each is kept. */
function columnsOf({ entity, at, value }: Table): ReadonlyMap<EntityId, Column> {
  const counts = new Uint32Array(ENTITIES);
  for (let row = 0; row < entity.length; row++) counts[entity[row] ?? 0] = (counts[entity[row] ?? 0] ?? 0) + 1;
  const columns = Array.from(counts, (count) => ({
    at: new Float64Array(count),
    value: new Float64Array(count),
    origin: 'history' as const,
  }));
  const filled = new Uint32Array(ENTITIES);
  for (let row = 0; row < entity.length; row++) {
    const index = entity[row] ?? 0;
    const column = columns[index];
    const place = filled[index] ?? 0;
    if (column === undefined) continue;
    column.at[place] = at[row] ?? 0;
    column.value[place] = value[row] ?? 0;
    filled[index] = place + 1;
  }
  return new Map(columns.map((column, index) => [entityName(index), column]));
}

type Timed = { readonly ms: number; readonly onTimeMs: number };

function foldOnce(columns: () => ReadonlyMap<EntityId, Column>): Timed {
  const startedAt = performance.now();
  const { states } = foldColumns(defs, initialStates(defs), columns());
  const ms = performance.now() - startedAt;
  const parts = [...states.values()].map(
    ({ memory }) => (memory['on-hours.wholeLow'] ?? 0) * 3_600_000 + (memory['on-hours.restLow'] ?? 0),
  );
  return { ms, onTimeMs: parts.reduce((sum, part) => sum + part, 0) };
}

/** In the order that suits the query best: by entity, then time. Mixed rows cost it a sixth more. */
async function filled(connection: DuckDBConnection, columns: ReadonlyMap<EntityId, Column>): Promise<void> {
  await connection.run(`SET threads = ${THREADS}`);
  await connection.run('SET preserve_insertion_order = false');
  await connection.run('CREATE TABLE seen (entity UTINYINT, ms BIGINT, value DOUBLE)');
  const appender = await connection.createAppender('seen');
  for (const [index, { at, value }] of [...columns.values()].entries()) {
    for (let row = 0; row < at.length; row++) {
      appender.appendUTinyInt(index);
      appender.appendBigInt(BigInt(at[row] ?? 0));
      appender.appendDouble(value[row] ?? 0);
      appender.endRow();
    }
  }
  appender.closeSync();
}

const QUERY = `
  SELECT sum(CASE WHEN before > CASE WHEN entity < ${SWITCHES} THEN 0 ELSE ${ON_ABOVE_W} END THEN ms - since END)::BIGINT AS on_ms
  FROM (SELECT entity, ms, lag(value) OVER w AS before, lag(ms) OVER w AS since
        FROM seen WINDOW w AS (PARTITION BY entity ORDER BY ms))`;

async function queryOnce(connection: DuckDBConnection): Promise<Timed> {
  const startedAt = performance.now();
  const reader = await connection.runAndReadAll(QUERY);
  const ms = performance.now() - startedAt;
  return { ms, onTimeMs: Number(reader.getRows()[0]?.[0]) };
}

/**
 * Best of a few rounds each, in turn, in one process; all must give the same on-time to the millisecond. The database
 * has its rows beforehand, in memory, and both cores; the fold runs on one thread and gives starts, bounds and hours besides.
 */
export async function benchColumnar(rows = 3_000_000): Promise<ColumnarBench> {
  const table = tableOf(rows);
  const columns = columnsOf(table);
  const instance = await DuckDBInstance.create(':memory:');
  const connection = await instance.connect();
  await filled(connection, columns);
  const best = { columns: Number.POSITIVE_INFINITY, table: Number.POSITIVE_INFINITY, query: Number.POSITIVE_INFINITY };
  for (let round = 0; round < ROUNDS; round++) {
    const fromColumns = foldOnce(() => columns);
    const fromTable = foldOnce(() => columnsOf(table));
    const queried = await queryOnce(connection);
    assert.ok(queried.onTimeMs > 0);
    assert.equal(fromColumns.onTimeMs, queried.onTimeMs);
    assert.equal(fromTable.onTimeMs, queried.onTimeMs);
    best.columns = Math.min(best.columns, fromColumns.ms);
    best.table = Math.min(best.table, fromTable.ms);
    best.query = Math.min(best.query, queried.ms);
  }
  connection.closeSync();
  instance.closeSync();
  const perS = (ms: number): number => Math.round((rows / ms) * 1000);
  const ratio = (ms: number): number => Math.round((best.query / ms) * 100) / 100;
  return {
    rows,
    columnarObservationsPerS: perS(best.columns),
    columnarFromTableObservationsPerS: perS(best.table),
    duckdbWindowObservationsPerS: perS(best.query),
    duckdbThreads: THREADS,
    columnarRatio: ratio(best.columns),
    columnarFromTableRatio: ratio(best.table),
  };
}
