// What a hub that is sometimes down keeps of a recorded past.
import { type InstantMs, SECOND_MS } from '../../units/index.ts';
import type { PastRows } from '../hub/index.ts';

export type Span = { readonly from: InstantMs; readonly to: InstantMs };

export type KeptRow = { readonly state: string; readonly updatedAt: InstantMs };

/** Rows of one entity, oldest first. */
export type KeptRows = {
  readonly count: number;
  row(index: number): KeptRow;
  /** Index of the first row strictly after `at`. */
  firstAfter(at: InstantMs): number;
};

/** After a start of the hub an entity first has nothing to say, then its state, dated anew. */
const SILENT_AFTER_MS = 2 * SECOND_MS;
const SHOWN_AFTER_MS = 8 * SECOND_MS;
/** By then the hub says that it runs and has come to rest. */
export const READY_AFTER_MS = 20 * SECOND_MS;

/** Nothing is heard while the hub is down or starting; what it missed it learns as the state it finds. */
export function heardBy(past: PastRows, downs: readonly Span[]): KeptRows {
  const rows: KeptRow[] = [];
  let next = 0;
  let newest = 'unavailable';
  const takeUntil = (at: InstantMs, keep: boolean): void => {
    for (; next < past.count && past.updatedAt(next) < at; next += 1) {
      newest = past.state(next);
      if (keep) rows.push({ state: newest, updatedAt: past.updatedAt(next) });
    }
  };
  for (const { from, to } of downs) {
    takeUntil(from, true);
    takeUntil(to + SHOWN_AFTER_MS, false);
    rows.push({ state: 'unavailable', updatedAt: to + SILENT_AFTER_MS });
    if (newest !== 'unavailable') rows.push({ state: newest, updatedAt: to + SHOWN_AFTER_MS });
  }
  takeUntil(Number.POSITIVE_INFINITY, true);
  return {
    count: rows.length,
    row: (index) => rows[index] ?? { state: 'unavailable', updatedAt: Number.NaN },
    firstAfter: (at) => {
      let [low, high] = [0, rows.length];
      while (low < high) {
        const middle = (low + high) >>> 1;
        if ((rows[middle]?.updatedAt ?? 0) > at) high = middle;
        else low = middle + 1;
      }
      return low;
    },
  };
}
