// The whole recorded past: truth made at once, what the hub kept made per entity when first asked for.
import type { InstantMs } from '../../units/index.ts';
import { atLocal, DEMO_DAY, localTime } from '../calendar.ts';
import type { PastRows } from '../hub/index.ts';
import { prng, seedFor } from '../random.ts';
import { PLUG_KEYS, type PlugKey, plugOfEntity, powerOf, switchOf } from '../tank/index.ts';
import { cleanedBefore, METERS_AT_START } from './facts.ts';
import { feedOfProduct, pastRuns, roWindows, topOffTotal } from './past-runs.ts';
import { keptRows, type RowBuilder, rowBuilder } from './rows.ts';
import { meterRows, networkGaps, powerRows, type SeriesSpan, sensorRows, switchRows } from './series.ts';
import type { Runs, SimTruth, Total } from './truth.ts';

export type RecordedPast = {
  /** Where the record ends. */
  readonly endsAt: InstantMs;
  rows(entity: string): PastRows | undefined;
  readonly truth: SimTruth;
  readonly meters: { readonly feedL: number; readonly productL: number };
  readonly cleanedAt: Readonly<Partial<Record<PlugKey, InstantMs>>>;
};

export type PastOptions = {
  readonly seed: number;
  readonly endsAt: InstantMs;
  /** Days before the demo's opening day. */
  readonly days: number;
  /** Entities beside the plugs, with what they are called and measured in. */
  readonly attributes: (entity: string) => Readonly<Record<string, unknown>> | undefined;
  readonly meterGain: (key: PlugKey) => number;
};

type Material = {
  readonly options: PastOptions;
  readonly span: SeriesSpan;
  readonly runs: (key: PlugKey) => Runs;
  readonly product: Total;
  readonly topOff: Total;
};

export function createPast(options: PastOptions): RecordedPast {
  const { seed, endsAt, days } = options;
  const firstDay = DEMO_DAY - days;
  const lastDay = Math.min(DEMO_DAY, localTime(endsAt).day);
  const dayRange = { firstDay, lastDay };
  const runsByPlug = new Map<PlugKey, Runs>();
  const runs = (key: PlugKey): Runs => {
    const known = runsByPlug.get(key) ?? pastRuns(seed, key, dayRange);
    runsByPlug.set(key, known);
    return known;
  };
  const product = roWindows(seed, dayRange).product;
  const topOff = topOffTotal(runs('top_off'));
  const span = { from: atLocal(firstDay, 0), to: endsAt };
  const material: Material = { options, span, runs, product, topOff };
  const gaps = networkGaps(seed, firstDay, lastDay);
  const cache = new Map<string, PastRows | undefined>();
  const rows = (entity: string): PastRows | undefined => {
    if (days <= 0 || endsAt <= span.from) return undefined;
    if (!cache.has(entity)) {
      const made = entityRows(material, entity);
      cache.set(
        entity,
        made === undefined ? undefined : cut(keptRows(made.rows, gaps, made.shown), made, options, entity, span),
      );
    }
    return cache.get(entity);
  };
  const productL = days <= 0 ? METERS_AT_START.productL : product.valueAt(endsAt);
  return {
    endsAt,
    rows,
    truth: pastTruth(material),
    meters: { feedL: feedOfProduct(productL), productL },
    cleanedAt: Object.fromEntries(PLUG_KEYS.map((key) => [key, cleanedBefore(key, endsAt)])),
  };
}

type Made = { readonly rows: RowBuilder; readonly shown: (value: number) => string };

const onOff = (value: number): string => (value === 1 ? 'on' : 'off');
const fixed =
  (digits: number) =>
  (value: number): string =>
    value.toFixed(digits);

const DIGITS: Readonly<Record<string, number>> = { 'sensor.ph': 2, 'sensor.lux': 0, 'sensor.ro_tds': 0 };

function entityRows({ options, span, runs, product }: Material, entity: string): Made | undefined {
  const random = prng(seedFor(options.seed, `series ${entity}`));
  const key = plugOfEntity(entity);
  if (key !== undefined && entity === switchOf(key)) {
    return { rows: switchRows(SWITCHED_ALWAYS.includes(key) ? alwaysOn(span) : runs(key), span, random), shown: onOff };
  }
  if (key !== undefined && entity === powerOf(key)) {
    const meter = { gain: options.meterGain(key), openW: random.between(0, 0.6) };
    return { rows: powerRows(key, runs(key), span, meter, random), shown: fixed(1) };
  }
  if (entity === 'sensor.product_litres')
    return { rows: meterRows(product, (value) => value, random), shown: fixed(1) };
  if (entity === 'sensor.feed_litres') return { rows: meterRows(product, feedOfProduct, random), shown: fixed(1) };
  if (entity === 'binary_sensor.low_float') return { rows: switchRows(runs('top_off'), span, random), shown: onOff };
  const slow = sensorRows(entity, span, random);
  if (slow !== undefined) return { rows: slow, shown: fixed(DIGITS[entity] ?? 1) };
  if (!entity.startsWith('binary_sensor.') || options.attributes(entity) === undefined) return undefined;
  const still = rowBuilder();
  still.push(span.from, 0);
  return { rows: still, shown: onOff };
}

/** These stay switched on and work when their own controller wants it. */
const SWITCHED_ALWAYS: readonly PlugKey[] = ['top_off', 'doser'];

function alwaysOn(span: SeriesSpan): Runs {
  const from = span.from - 1;
  return {
    count: 1,
    from: () => from,
    to: () => Number.POSITIVE_INFINITY,
    begin: () => {},
    end: () => {},
    onMs: (a, b) => b - a,
    starts: () => 0,
  };
}

/** Only what lies within the record: the first row holds at its start, the last before its end. */
function cut(kept: RowBuilder, { shown }: Made, options: PastOptions, entity: string, span: SeriesSpan): PastRows {
  let first = 0;
  while (first + 1 < kept.count && kept.at(first + 1) <= span.from) first += 1;
  let end = kept.count;
  while (end > first && kept.at(end - 1) >= span.to) end -= 1;
  const attributes = options.attributes(entity) ?? {};
  return {
    count: end - first,
    updatedAt: (index) => Math.max(kept.at(first + index), span.from),
    state: (index) => {
      const value = kept.value(first + index);
      return Number.isNaN(value) ? 'unavailable' : shown(value);
    },
    attributes,
  };
}

function pastTruth({ options, span, runs, product, topOff }: Material): SimTruth {
  const within = (at: InstantMs): InstantMs => Math.min(Math.max(at, span.from), Math.max(span.from, options.endsAt));
  const none = options.days <= 0;
  return {
    onMs: (plug, from, to) => (none ? 0 : runs(plug).onMs(within(from), within(to))),
    starts: (plug, from, to) => (none ? 0 : runs(plug).starts(within(from), within(to))),
    litres(water, from, to) {
      if (none) return 0;
      const [a, b] = [within(from), within(to)];
      if (water === 'top-off') return topOff.valueAt(b) - topOff.valueAt(a);
      if (water === 'product') return product.valueAt(b) - product.valueAt(a);
      return feedOfProduct(product.valueAt(b)) - feedOfProduct(product.valueAt(a));
    },
  };
}
