// Rows of one entity as the recorder kept them, in typed arrays: time and value, NaN where it was unavailable.
import type { InstantMs } from '../../units/index.ts';

export type RowBuilder = {
  readonly count: number;
  push(at: InstantMs, value: number): void;
  at(index: number): InstantMs;
  value(index: number): number;
};

export function rowBuilder(): RowBuilder {
  let times = new Float64Array(256);
  let values = new Float64Array(256);
  let count = 0;
  return {
    get count() {
      return count;
    },
    push(at, value) {
      if (count === times.length) {
        const more = new Float64Array(count * 2);
        more.set(times);
        times = more;
        const moreValues = new Float64Array(count * 2);
        moreValues.set(values);
        values = moreValues;
      }
      times[count] = at;
      values[count] = value;
      count += 1;
    },
    at: (index) => times[index] ?? Number.NaN,
    value: (index) => values[index] ?? Number.NaN,
  };
}

export type Gap = { readonly from: InstantMs; readonly to: InstantMs };

/**
 * What the hub kept: within a gap one "unavailable", after it whatever holds by then. Rows whose text would not differ
 * from the one before are not kept either, and times are made strictly growing.
 */
export function keptRows(rows: RowBuilder, gaps: readonly Gap[], shown: (value: number) => string): RowBuilder {
  const kept = rowBuilder();
  let lastShown: string | null = null;
  let lastAt = Number.NEGATIVE_INFINITY;
  const keep = (at: InstantMs, value: number): void => {
    const text = Number.isNaN(value) ? 'unavailable' : shown(value);
    if (text === lastShown) return;
    lastShown = text;
    lastAt = Math.max(at, lastAt + 1);
    kept.push(lastAt, value);
  };
  let nextGap = 0;
  let newest = Number.NaN;
  const passGaps = (until: InstantMs): void => {
    for (let gap = gaps[nextGap]; gap !== undefined && gap.from <= until; gap = gaps[nextGap]) {
      keep(gap.from, Number.NaN);
      if (until < gap.to) return;
      keep(gap.to, newest);
      nextGap += 1;
    }
  };
  for (let index = 0; index < rows.count; index += 1) {
    const at = rows.at(index);
    passGaps(at);
    newest = rows.value(index);
    const gap = gaps[nextGap];
    if (gap !== undefined && at >= gap.from && at < gap.to) continue;
    keep(at, newest);
  }
  passGaps(Number.POSITIVE_INFINITY);
  return kept;
}
