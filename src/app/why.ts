import { whyRows } from '../count/index.ts';
import { MEASURE_UNITS, type Measure, type Part, type PartLife } from '../model/index.ts';
import { type CounterView, lifeUsage, type UsageSources } from '../record/index.ts';
import type { UsageWhy } from './types.ts';

/** A usage broken into stretches of one origin, so that a person can follow where it came from. */
export function whyOf(part: Part, life: PartLife | null, sources: UsageSources, now: number): readonly UsageWhy[] {
  const found: UsageWhy[] = [];
  for (const [measure, counter] of Object.entries(part.usageFrom) as [Measure, string][]) {
    const view = sources.counters.get(counter);
    if (view === undefined) continue;
    const since = view.folded.countingSince;
    const carried = life?.carried?.[measure];
    const fittedAt = life?.fittedAt ?? since ?? now;
    const from = carried?.until ?? fittedAt;
    const rows: Row[] = [...whyRows(sources.slices(counter, measure, from), measure), ...tail(view, measure, now)];
    const before = life === null || life.number === 1 ? part.usedBefore[measure] : undefined;
    if (carried !== undefined) {
      const { low, best, high, origin = life?.spare === undefined ? 'person' : 'earlier stints' } = carried;
      rows.unshift({ from: fittedAt, to: from, origin, low, best, high });
    } else if (before !== undefined)
      rows.unshift({ from, to: from, origin: 'person', low: before, best: before, high: before });
    rows.unshift(...unseen({ part, life, measure, sources, now }, rows, from, since));
    found.push({ part: part.id, measure, unit: MEASURE_UNITS[measure], counter, source: describe(view), rows });
  }
  return found;
}

type Row = UsageWhy['rows'][number];

type Asked = {
  readonly part: Part;
  readonly life: PartLife | null;
  readonly measure: Measure;
  readonly sources: UsageSources;
  readonly now: number;
};

/** The stretch before counting began, of which nobody knows: what is left of the usage when all the rest is told. */
function unseen(
  { part, life, measure, sources, now }: Asked,
  rows: readonly Row[],
  from: number,
  since: number | null,
) {
  if (since === null || from >= since) return [];
  const usage = lifeUsage(part, life, now, sources).find((one) => one.measure === measure);
  if (usage === undefined || usage.countingSince === null) return [];
  const rest = (pick: (one: { low: number; best: number; high: number }) => number): number =>
    Math.max(0, pick(usage) - rows.reduce((sum, row) => sum + pick(row), 0));
  const [low, best, high] = [rest((one) => one.low), rest((one) => one.best), rest((one) => one.high)];
  return high > 0 ? [{ from, to: since, origin: 'assumed', low, best, high }] : [];
}

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
