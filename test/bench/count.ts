import assert from 'node:assert/strict';
import { DatabaseSync } from 'node:sqlite';
import { createFolder, initialStates } from '../../src/count/index.ts';
import type { CounterDef, CounterSource } from '../../src/model/index.ts';
import type { Observation } from '../../src/observe/index.ts';

export type CountBench = {
  readonly rows: number;
  /** Through the product's own fold: on-time with bounds, starts, hourly slices. */
  readonly observationsPerS: number;
  /** SQLite's window function over the same rows in memory, in the order it needs them: on-time alone. */
  readonly sqliteWindowObservationsPerS: number;
  readonly ratio: number;
};

const SWITCHES = 40;
const METERS = 20;
const ENTITIES = SWITCHES + METERS;
const START = Date.UTC(2026, 0, 1);
const ON_ABOVE_W = 10;
const ROUNDS = 3;

const entityName = (index: number): string => (index < SWITCHES ? `switch.device_${index}` : `sensor.power_${index}`);

function defs(): readonly CounterDef[] {
  return Array.from({ length: ENTITIES }, (_, index): CounterDef => {
    const entity = entityName(index);
    const source: CounterSource =
      index < SWITCHES
        ? { kind: 'on-state', entity }
        : { kind: 'power-threshold', entity, onAboveW: ON_ABOVE_W, offBelowW: 5, minOnMs: 5_000, minOffMs: 20_000 };
    return { id: `counter-${index}`, name: entity, source, measures: ['on-hours', 'starts'] };
  });
}

/** Repeatable numbers in [0, 1); quality is of no matter here. */
function generator(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (Math.imul(state, 1_664_525) + 1_013_904_223) >>> 0;
    return state / 4_294_967_296;
  };
}

/** All entities in turn, in order of time; power readings lie clearly on either side of the threshold. */
function feed(rows: number): readonly Observation[] {
  const random = generator(1);
  const next = Array.from({ length: ENTITIES }, () => START);
  const level = new Uint8Array(ENTITIES);
  return Array.from({ length: rows }, (_, row): Observation => {
    const index = row % ENTITIES;
    const at = (next[index] ?? START) + 1_000 + Math.floor(random() * 59_000);
    next[index] = at;
    if (index < SWITCHES || random() < 0.2) level[index] = 1 - (level[index] ?? 0);
    const on = level[index] === 1;
    const value = index < SWITCHES ? (on ? 1 : 0) : on ? 40 + Math.floor(random() * 200) / 10 : random() * 2;
    return { entity: entityName(index), value, at, receivedAt: at, origin: 'live' };
  });
}

function foldOnce(observations: readonly Observation[]): { readonly ms: number; readonly onTimeMs: number } {
  const counters = defs();
  const startedAt = performance.now();
  const folder = createFolder(counters, initialStates(counters));
  for (const observation of observations) folder.take(observation);
  const { states } = folder.result();
  const ms = performance.now() - startedAt;
  const hours = [...states.values()].map((state) => state.memory['on-hours.wholeLow'] ?? 0);
  const rest = [...states.values()].map((state) => state.memory['on-hours.restLow'] ?? 0);
  const sum = (values: readonly number[]): number => values.reduce((total, value) => total + value, 0);
  return { ms, onTimeMs: sum(hours) * 3_600_000 + sum(rest) };
}

function filledTable(observations: readonly Observation[]): DatabaseSync {
  const db = new DatabaseSync(':memory:');
  db.exec('CREATE TABLE seen (entity INTEGER, at INTEGER, value REAL, PRIMARY KEY (entity, at)) WITHOUT ROWID');
  const numbers = new Map(Array.from({ length: ENTITIES }, (_, index) => [entityName(index), index]));
  const insert = db.prepare('INSERT INTO seen VALUES (?, ?, ?)');
  db.exec('BEGIN');
  for (const { entity, at, value } of observations) insert.run(numbers.get(entity) ?? -1, at, value);
  db.exec('COMMIT');
  return db;
}

function queryOnce(db: DatabaseSync): { readonly ms: number; readonly onTimeMs: number } {
  const startedAt = performance.now();
  const row = db
    .prepare(
      `SELECT sum(CASE WHEN before > CASE WHEN entity < ${SWITCHES} THEN 0 ELSE ${ON_ABOVE_W} END THEN at - since END) AS on_ms
       FROM (SELECT entity, at, lag(value) OVER w AS before, lag(at) OVER w AS since
             FROM seen WINDOW w AS (PARTITION BY entity ORDER BY at))`,
    )
    .get();
  return { ms: performance.now() - startedAt, onTimeMs: Number(row?.['on_ms']) };
}

/** Best of a few rounds each, in turn, in one process; both must give the same on-time to the millisecond. */
export function benchCount(rows = 1_000_000): CountBench {
  const observations = feed(rows);
  const db = filledTable(observations);
  let foldMs = Number.POSITIVE_INFINITY;
  let queryMs = Number.POSITIVE_INFINITY;
  for (let round = 0; round < ROUNDS; round++) {
    const folded = foldOnce(observations);
    const queried = queryOnce(db);
    assert.equal(folded.onTimeMs, queried.onTimeMs);
    assert.ok(folded.onTimeMs > 0);
    foldMs = Math.min(foldMs, folded.ms);
    queryMs = Math.min(queryMs, queried.ms);
  }
  db.close();
  const perS = (ms: number): number => Math.round((rows / ms) * 1000);
  return {
    rows,
    observationsPerS: perS(foldMs),
    sqliteWindowObservationsPerS: perS(queryMs),
    ratio: Math.round((queryMs / foldMs) * 100) / 100,
  };
}
