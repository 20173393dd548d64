import { whyRows } from '../count/index.ts';
import { MEASURE_UNITS, type Measure, type Part, type PartLife } from '../model/index.ts';
import type { CounterView, UsageSources } from '../record/index.ts';
import type { UsageWhy } from './types.ts';

/** A usage broken into stretches of one origin, so that a person can follow where it came from. */
export function whyOf(part: Part, life: PartLife | null, sources: UsageSources, now: number): readonly UsageWhy[] {
  const found: UsageWhy[] = [];
  for (const [measure, counter] of Object.entries(part.usageFrom) as [Measure, string][]) {
    const view = sources.counters.get(counter);
    if (view === undefined) continue;
    const from = life?.fittedAt ?? view.folded.countingSince ?? now;
    const slices = sources.slices(counter, measure, from);
    const rows: Row[] = [...whyRows(slices, measure), ...tail(view, measure, now)];
    const before = part.usedBefore[measure];
    if (before !== undefined && (life === null || life.number === 1))
      rows.unshift({ from, to: from, origin: 'person', low: before, best: before, high: before });
    found.push({ part: part.id, measure, unit: MEASURE_UNITS[measure], counter, source: describe(view), rows });
  }
  return found;
}

type Row = UsageWhy['rows'][number];

function tail(view: CounterView, measure: Measure, now: number): Row[] {
  const folded = view.folded.amounts[measure];
  const projected = view.projected.amounts[measure];
  if (folded === undefined || projected === undefined || projected.high === folded.high) return [];
  return [
    {
      from: view.folded.lastAt ?? now,
      to: now,
      origin: 'since the last report',
      low: projected.low - folded.low,
      best: projected.best - folded.best,
      high: projected.high - folded.high,
    },
  ];
}

function describe({ def }: CounterView): string {
  const { source } = def;
  switch (source.kind) {
    case 'on-state':
      return `${source.entity} is on`;
    case 'power-threshold':
      return `${source.entity} above ${source.onAboveW} W, until below ${source.offBelowW} W`;
    case 'total':
      return `${source.entity} as a running total`;
    case 'pulses':
      return `${source.entity}, ${source.litresPerPulse} L a pulse`;
    case 'runtime-rate':
      return `${source.entity} on, at ${source.litresPerHour} L/h`;
    case 'held-power':
      return `${source.entity} held for ${source.maxHoldMs / 60_000} min at most`;
    case 'edges':
      return `${source.entity}, ${source.edges === 'both' ? 'every change' : 'each change to on'}`;
    case 'dissolved':
      return `${source.entity} × ${source.tdsEntity}, ${source.maxTdsMgPerL} mg/L where that says nothing`;
  }
}
