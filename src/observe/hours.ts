import type { CounterSource } from '../model/index.ts';
import { HOUR_MS, type InstantMs, MINUTE_MS } from '../units/index.ts';
import type { HourStatistic, Observation } from './types.ts';

/**
 * Hours of the hub's statistics as observations for one counter, taken at the hub's word: within an hour it has figures
 * for, the value stayed between its lowest and its highest. What such an hour cannot decide for this counter is a gap, and
 * so is every hour that is missing, with the two beside it, which it may have begun or ended in. `hours` are of one entity.
 */
export function hoursAsObservations(
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
  switch (source.kind) {
    case 'total':
    case 'pulses':
      return hour.state === null ? [] : [...(alone ? [[hour.from, null] as const] : []), [hour.to - 1, hour.state]];
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
    case 'dissolved':
      // These count edges of a state, or take in a second entity: no hourly figure tells that.
      return [];
  }
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
