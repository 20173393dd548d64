// What the hub kept of the past. Rows from before the simulation started come from `past`, later ones are recorded live.
import type { InstantMs } from '../../units/index.ts';
import type { Attributes, EntityState, States } from './states.ts';
import { secondsOf } from './wire.ts';

/** Rows of one entity, oldest first; `changed` differs from `updated` where only attributes moved. */
export type PastRows = {
  readonly count: number;
  updatedAt(index: number): InstantMs;
  state(index: number): string;
  readonly attributes: Attributes;
};

export type PastSource = (entity: string) => PastRows | undefined;

export type HistoryQuery = {
  readonly from: InstantMs;
  readonly to: InstantMs | null;
  readonly entities: readonly string[];
  readonly includeStart: boolean;
  readonly significantOnly: boolean;
  readonly minimal: boolean;
  readonly noAttributes: boolean;
};

/** A state of null says that the entity was removed. */
type LiveRow = Pick<EntityState, 'attributes' | 'lastChanged' | 'lastUpdated'> & { readonly state: string | null };

type Row = {
  readonly state: string | null;
  readonly updatedAt: InstantMs;
  readonly changedAt: InstantMs;
  readonly attributes: Attributes;
};

export type Recorder = {
  query(query: HistoryQuery): Readonly<Record<string, readonly Attributes[]>>;
  /** Deletes what is older; the hub's own purge. Statistics stay. */
  purgeBefore(at: InstantMs): void;
  /** Everything ever written of these names of one entity, purged or not: what statistics were made from. */
  allRows(names: readonly string[]): Rows;
};

/** Of these the hub counts attribute changes as significant too. */
const SIGNIFICANT_DOMAINS = new Set(['climate', 'humidifier', 'thermostat', 'water_heater']);

export function createRecorder(states: States, past: PastSource, now: () => InstantMs): Recorder {
  const live = new Map<string, LiveRow[]>();
  let purgedBefore = Number.NEGATIVE_INFINITY;
  states.onChange(({ entity, next }) => {
    const rows = live.get(entity);
    const at = Math.max(now(), (rows?.at(-1)?.lastUpdated ?? 0) + 0.001);
    const row = next ?? { state: null, attributes: {}, lastChanged: at, lastUpdated: at };
    if (rows === undefined) live.set(entity, [row]);
    else rows.push(row);
  });

  const rowsOf = (entity: string): Rows => joinedRows(past(entity), live.get(entity) ?? []);
  return {
    query(query) {
      const answer: Record<string, readonly Attributes[]> = {};
      for (const entity of query.entities) {
        const rows = entityHistory(entity, rowsOf(entity), query, purgedBefore);
        if (rows.length > 0) answer[entity] = rows;
      }
      return answer;
    },
    purgeBefore(at) {
      purgedBefore = Math.max(purgedBefore, at);
    },
    allRows(names) {
      const [last = ''] = names.slice(-1);
      const recent = names.flatMap((name) => live.get(name) ?? []).sort((a, b) => a.lastUpdated - b.lastUpdated);
      return joinedRows(names.map((name) => past(name)).find((rows) => rows !== undefined) ?? past(last), recent);
    },
  };
}

function joinedRows(old: PastRows | undefined, recent: readonly LiveRow[]): Rows {
  const oldCount = old?.count ?? 0;
  const rows: Rows = {
    count: oldCount + recent.length,
    firstAfter: (at) => firstAfter(rows, at),
    row(index) {
      if (old !== undefined && index < oldCount) {
        const updatedAt = old.updatedAt(index);
        return { state: old.state(index), updatedAt, changedAt: updatedAt, attributes: old.attributes };
      }
      const row = recent[index - oldCount] as LiveRow;
      return {
        state: row.state,
        updatedAt: row.lastUpdated,
        changedAt: row.lastChanged,
        attributes: row.attributes,
      };
    },
  };
  return rows;
}

function entityHistory(
  entity: string,
  rows: Rows,
  query: HistoryQuery,
  purgedBefore: InstantMs,
): readonly Attributes[] {
  const result: Attributes[] = [];
  const oldest = firstAfter(rows, purgedBefore);
  const first = Math.max(firstAfter(rows, query.from), oldest);
  const significantOnly = query.significantOnly && !SIGNIFICANT_DOMAINS.has(entity.split('.')[0] ?? '');
  const newestBefore = newestBelow(rows, query.from);
  let previous: string | null = null;
  if (query.includeStart && newestBefore >= oldest) {
    // The start row carries the query's start, not its own time: what it was then, not since when.
    const { state, attributes } = rows.row(newestBefore);
    result.push(fullRow({ state, attributes, updatedAt: query.from, changedAt: query.from }, query));
    previous = state;
  }
  for (let index = first; index < rows.count; index += 1) {
    const row = rows.row(index);
    if (query.to !== null && row.updatedAt >= query.to) break;
    if (significantOnly && row.changedAt !== row.updatedAt) continue;
    if (query.minimal && previous !== null) {
      if (row.state === previous) continue;
      result.push({ s: row.state, lu: secondsOf(row.updatedAt) });
    } else {
      result.push(fullRow(row, query));
    }
    previous = row.state;
  }
  return result;
}

function fullRow(row: Row, query: HistoryQuery): Attributes {
  return {
    s: row.state,
    a: query.noAttributes ? {} : row.attributes,
    ...(row.changedAt === row.updatedAt ? {} : { lc: secondsOf(row.changedAt) }),
    lu: secondsOf(row.updatedAt),
  };
}

/** Rows of one entity, oldest first. */
export type Rows = { readonly count: number; row(index: number): Row; firstAfter(at: InstantMs): number };

/** Index of the first row strictly after `at`. */
function firstAfter(rows: Rows, at: InstantMs): number {
  return lowest(rows.count, (index) => rows.row(index).updatedAt > at);
}

/** Index of the newest row strictly before `at`; -1 where there is none. A row exactly at `at` is in neither set. */
function newestBelow(rows: Rows, at: InstantMs): number {
  return lowest(rows.count, (index) => rows.row(index).updatedAt >= at) - 1;
}

function lowest(count: number, holds: (index: number) => boolean): number {
  let low = 0;
  let high = count;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if (holds(middle)) high = middle;
    else low = middle + 1;
  }
  return low;
}
