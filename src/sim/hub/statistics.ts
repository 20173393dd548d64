// The hub's long-term statistics: one row an hour for entities that say how they are to be summed up, kept without end.
import { HOUR_MS, type InstantMs } from '../../units/index.ts';

/** What hours are made from: rows of one entity, oldest first. */
type HourSource = {
  readonly count: number;
  row(index: number): { readonly state: string | null; readonly updatedAt: InstantMs };
  firstAfter(at: InstantMs): number;
};

export type HourRow = {
  readonly start: InstantMs;
  readonly end: InstantMs;
  readonly state: number | null;
  readonly sum: number | null;
  readonly min: number | null;
  readonly mean: number | null;
  readonly max: number | null;
};

export type StatisticKind = 'total' | 'measurement';

/** How an entity with these attributes is summed up; null = not at all. */
export function statisticKind(attributes: Readonly<Record<string, unknown>>): StatisticKind | null {
  const stateClass = attributes['state_class'];
  if (stateClass === 'measurement') return 'measurement';
  return stateClass === 'total' || stateClass === 'total_increasing' ? 'total' : null;
}

/** Hours that begin in [from, to) and are over at `now`. As on the hub, a value is drawn across time it was unavailable. */
export function hourlyRows(
  rows: HourSource,
  kind: StatisticKind,
  { from, to, now }: { readonly from: InstantMs; readonly to: InstantMs; readonly now: InstantMs },
): readonly HourRow[] {
  const found: HourRow[] = [];
  if (rows.count === 0) return found;
  const first = Math.ceil(Math.max(from, rows.row(0).updatedAt - HOUR_MS) / HOUR_MS) * HOUR_MS;
  let next = rows.firstAfter(first - 1);
  let held: number | null = next === 0 ? null : numeric(rows.row(next - 1).state);
  const base = baseOf(rows);
  for (let start = first; start < to && start + HOUR_MS <= now; start += HOUR_MS) {
    const end = start + HOUR_MS;
    let [min, max, area, at, value] = [
      held ?? Number.POSITIVE_INFINITY,
      held ?? Number.NEGATIVE_INFINITY,
      0,
      start,
      held,
    ];
    let seenFrom = held === null ? null : start;
    for (; next < rows.count && rows.row(next).updatedAt < end; next += 1) {
      const row = rows.row(next);
      const read = numeric(row.state);
      held = read;
      if (read === null) continue;
      if (value !== null) area += value * (row.updatedAt - at);
      seenFrom ??= row.updatedAt;
      [value, at] = [read, row.updatedAt];
      min = Math.min(min, read);
      max = Math.max(max, read);
    }
    if (value === null || seenFrom === null) continue;
    const mean = (area + value * (end - at)) / (end - seenFrom);
    found.push(
      kind === 'total'
        ? { start, end, state: value, sum: value - base, min: null, mean: null, max: null }
        : { start, end, state: null, sum: null, min, mean, max },
    );
  }
  return found;
}

function baseOf(rows: HourSource): number {
  for (let index = 0; index < rows.count; index += 1) {
    const value = numeric(rows.row(index).state);
    if (value !== null) return value;
  }
  return 0;
}

function numeric(state: string | null): number | null {
  if (state === null || state.trim() === '') return null;
  const value = Number(state);
  return Number.isFinite(value) ? value : null;
}
