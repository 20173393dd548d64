import type { CounterSource, EntityId, Narrowing } from '../model/index.ts';
import { HOUR_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import { mergeByTime } from './merge.ts';
import type { HourStatistic, Observation } from './types.ts';

/** Entities of which hourly figures say something for a counter with this source. */
export function hourlyEntities(source: CounterSource): readonly EntityId[] {
  switch (source.kind) {
    case 'total':
    case 'pulses':
    case 'held-power':
      return [source.entity];
    case 'power-threshold':
      return [source.entity, ...companion(source)];
    case 'dissolved':
      return [source.entity, source.tdsEntity];
    case 'on-state':
    case 'runtime-rate':
      return companion(source);
    case 'edges':
      return [];
  }
}

const companion = ({ narrowedBy }: { readonly narrowedBy?: Narrowing }): readonly EntityId[] =>
  narrowedBy === undefined ? [] : [narrowedBy.entity];

/**
 * Hours of the hub's statistics as observations for one counter, taken at the hub's word: within an hour it has figures
 * for, the value stayed between its lowest and its highest. What such an hour cannot decide for this counter is a gap, and
 * so is every hour that is missing, with the two beside it, which it may have begun or ended in.
 */
export function hoursAsObservations(
  hours: readonly HourStatistic[],
  source: CounterSource,
  receivedAt: InstantMs,
): readonly Observation[] {
  const streams = hourlyEntities(source).map((entity) =>
    ofOneEntity(
      hours.filter((hour) => hour.entity === entity),
      source,
      receivedAt,
    ),
  );
  return mergeByTime(streams);
}

function ofOneEntity(
  hours: readonly HourStatistic[],
  source: CounterSource,
  receivedAt: InstantMs,
): readonly Observation[] {
  const sorted = [...hours].sort((a, b) => a.from - b.from);
  const rows = sorted.flatMap((hour, index) => {
    const before = sorted[index - 1];
    const after = sorted[index + 1];
    const alone = (before !== undefined && before.to < hour.from) || (after !== undefined && after.from > hour.to);
    return pointsOf(hour, source, alone).map(
      ([at, value]): Observation => ({
        entity: hour.entity,
        value,
        at,
        receivedAt,
        origin: value === null ? 'assumed' : 'statistics',
        ...(hour.unit === undefined ? {} : { unit: hour.unit }),
      }),
    );
  });
  return withGapsClosed(rows);
}

type Point = readonly [at: InstantMs, value: number | null];

function pointsOf(hour: HourStatistic, source: CounterSource, alone: boolean): readonly Point[] {
  // What a counter reads beside its own source is a lifetime meter, or the dissolved solids of the water.
  if (hour.entity !== source.entity) return source.kind === 'dissolved' ? rangeOf(hour) : readingOf(hour, alone);
  switch (source.kind) {
    case 'total':
    case 'pulses':
    case 'dissolved':
      return readingOf(hour, alone);
    case 'power-threshold':
      return [[hour.from, alone ? null : sideOf(hour, source.onAboveW, source.offBelowW)], after(hour)];
    case 'held-power': {
      if (alone || hour.mean === null) return [[hour.from, null], after(hour)];
      const { mean } = hour;
      // Said again as often as the counter wants to hear a reading before it believes it no longer.
      const everyMs = Math.max(MINUTE_MS, Math.min(HOUR_MS, source.maxHoldMs));
      const times = Math.ceil((hour.to - hour.from) / everyMs);
      return [...Array.from({ length: times }, (_, index): Point => [hour.from + index * everyMs, mean]), after(hour)];
    }
    case 'on-state':
    case 'runtime-rate':
    case 'edges':
      return [];
  }
}

/** What the meter said when the hour ended. */
function readingOf(hour: HourStatistic, alone: boolean): readonly Point[] {
  if (hour.state === null) return [];
  return [...(alone ? [[hour.from, null] as const] : []), [hour.to - 1, hour.state]];
}

/** The least, the middle and the most of the hour, so that whatever went by is bounded by them. */
function rangeOf(hour: HourStatistic): readonly Point[] {
  const { min, mean, max } = hour;
  if (min === null || mean === null || max === null) return [];
  return [min, mean, max].map((value, index): Point => [hour.from + index * 20 * MINUTE_MS, value]);
}

const after = (hour: HourStatistic): Point => [hour.to - 1, null];

/** Of an hour that was on one side of the threshold all through; null where it crossed it. */
function sideOf(hour: HourStatistic, onAbove: number, offBelow: number): number | null {
  if (hour.min === null || hour.max === null) return null;
  if (hour.min > onAbove) return hour.min;
  return hour.max < offBelow ? hour.max : null;
}

/** An hour ends in a gap only where no other follows: two in a row leave nothing open between them. */
function withGapsClosed(rows: readonly Observation[]): readonly Observation[] {
  return rows.filter((row, index) => {
    const next = rows[index + 1];
    return row.value !== null || next === undefined || next.at !== row.at + 1;
  });
}
