import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { createCounting } from '../../src/app/counting.ts';
import { createLoop } from '../../src/app/loop.ts';
import { foldObservations, initialStates, project } from '../../src/count/index.ts';
import { openStore } from '../../src/io/store/index.ts';
import { virtualSystem } from '../../src/io/system/index.ts';
import type { Bounds, CounterDef, CounterSource, EntityId, Measure } from '../../src/model/index.ts';
import { mergeByTime, type Observation } from '../../src/observe/index.ts';
import {
  atLocal,
  DEMO_DAY,
  DEMO_ZONE,
  heardBy,
  pastOf,
  type ReplayedHub,
  replayedHub,
  type SimTruth,
  type Span,
} from '../../src/sim/index.ts';
import { DAY_MS, HOUR_MS, type InstantMs, MINUTE_MS } from '../../src/units/index.ts';

/** What is counted, and how the simulator's own account of it is asked. */
type Line = {
  readonly def: CounterDef;
  readonly measure: Measure;
  readonly unit: string;
  readonly truth: (truth: SimTruth, from: InstantMs, to: InstantMs) => number;
};

/** What the water before the resin holds in the simulated home. */
const TDS_MG_PER_L = 9.6;

const lit = (entity: EntityId, onAboveW: number, offBelowW: number, minMs: number): CounterSource => ({
  kind: 'power-threshold',
  entity,
  onAboveW,
  offBelowW,
  minOnMs: minMs,
  minOffMs: minMs,
});

const line = (
  id: string,
  name: string,
  source: CounterSource,
  measure: Measure,
  unit: string,
  truth: Line['truth'],
): Line => ({
  def: { id, name, source, measures: [measure] },
  measure,
  unit,
  truth,
});

export const LINES: readonly Line[] = [
  line(
    'lamp-1',
    'Lamp bank 1, lit',
    lit('sensor.lamp_bank_1_power', 60, 20, 30_000),
    'on-hours',
    'h',
    (truth, a, b) => truth.onMs('lamp_bank_1', a, b) / HOUR_MS,
  ),
  line(
    'lamp-2',
    'Lamp bank 2, lit',
    lit('sensor.lamp_bank_2_power', 60, 20, 30_000),
    'on-hours',
    'h',
    (truth, a, b) => truth.onMs('lamp_bank_2', a, b) / HOUR_MS,
  ),
  line(
    'uv',
    'UV lamp, lit',
    lit('sensor.uv_unit_power', 15, 5, 30_000),
    'on-hours',
    'h',
    (truth, a, b) => truth.onMs('uv_unit', a, b) / HOUR_MS,
  ),
  line('top-off', 'Top-off pump, starts', lit('sensor.top_off_power', 4, 2, 4_000), 'starts', '', (truth, a, b) =>
    truth.starts('top_off', a, b),
  ),
  line('return', 'Return pump, starts', lit('sensor.return_pump_power', 25, 10, 30_000), 'starts', '', (truth, a, b) =>
    truth.starts('return_pump', a, b),
  ),
  line('heater-2', 'Heater 2, starts', { kind: 'on-state', entity: 'switch.heater_2' }, 'starts', '', (truth, a, b) =>
    truth.starts('heater_2', a, b),
  ),
  line(
    'heater-2-on',
    'Heater 2, on',
    { kind: 'on-state', entity: 'switch.heater_2' },
    'on-hours',
    'h',
    (truth, a, b) => truth.onMs('heater_2', a, b) / HOUR_MS,
  ),
  line(
    'product',
    'RO water made',
    { kind: 'total', entity: 'sensor.product_litres', unitsPerReading: 1, maxPerHour: 60 },
    'litres',
    'L',
    (truth, a, b) => truth.litres('product', a, b),
  ),
  line(
    'resin',
    'Solids taken up by the resin',
    {
      kind: 'dissolved',
      entity: 'sensor.product_litres',
      unitsPerReading: 1,
      maxPerHour: 60,
      tdsEntity: 'sensor.ro_tds',
      tdsMaxAgeMs: 6 * HOUR_MS,
      maxTdsMgPerL: 20,
    },
    'grams',
    'g',
    (truth, a, b) => (truth.litres('product', a, b) * TDS_MG_PER_L) / 1000,
  ),
];

export type TenDayRow = {
  readonly name: string;
  readonly unit: string;
  readonly truth: number;
  /** The same count fed with everything the plugs ever said to the hub, without a single absence: low and high of it. */
  readonly heard: Bounds;
  readonly ours: Bounds;
  /** Ours (best) against the simulator's truth, in per cent. */
  readonly errorPercent: number;
  readonly width: number;
  /**
   * Whether low ≤ truth ≤ high. `but for the plugs`: outside by no more than the plugs themselves told late, wrong or not
   * at all, which is what "heard" is off by.
   */
  readonly truthInside: 'yes' | 'but for the plugs' | 'NO';
};

export type TenDayRun = {
  readonly days: number;
  readonly absences: readonly { readonly what: string; readonly days: number }[];
  readonly rows: readonly TenDayRow[];
  readonly wallMs: number;
};

const KEEP_DAYS = 10;

type Plan = { readonly downs: readonly Span[]; readonly away: readonly Span[] };

/** Days (from the beginning) and lengths of everything that goes wrong; repeated over the whole time. */
function planned(from: InstantMs, days: number): Plan {
  const downs: Span[] = [];
  const away: Span[] = [];
  const span = (day: number, hours: number, lengthMs: number): Span => ({
    from: from + day * DAY_MS + hours * HOUR_MS,
    to: from + day * DAY_MS + hours * HOUR_MS + lengthMs,
  });
  for (let day = 9; day < days - 2; day += 23) downs.push(span(day, 14.3, 6 * MINUTE_MS));
  for (let day = 40; day < days - 2; day += 131) downs.push(span(day, 10.2, 7 * HOUR_MS));
  for (let day = 5; day < days - 2; day += 11) away.push(span(day, 9.1, 4 * MINUTE_MS));
  for (const [first, every, length] of ABSENCES) {
    for (let day = first; day + length < days - 2; day += every) away.push(span(day, 12.4, length * DAY_MS));
  }
  return { downs: separate(downs), away: separate(away) };
}

/** First day, every so many days, length in days. */
const ABSENCES = [
  [17, 90, 2],
  [30, 110, 8],
  [60, 150, 13],
  [95, 240, 26],
] as const;

/** What would lie inside another is left out. */
function separate(spans: readonly Span[]): readonly Span[] {
  const sorted = [...spans].sort((a, b) => a.from - b.from);
  return sorted.filter((span, index) => sorted.slice(0, index).every((other) => other.to < span.from));
}

/** The last `days` of the demo tank through a hub that keeps ten days, with a service that is mostly there. */
export async function tenDayRun(days: number, seed = 1): Promise<TenDayRun> {
  const began = performance.now();
  const end = atLocal(DEMO_DAY, 10);
  const past = pastOf(seed, end, 547);
  const from = atLocal(DEMO_DAY - days, 10);
  const system = virtualSystem(from);
  const plan = planned(from, days);
  const defs = LINES.map(({ def }) => def);
  const entities = [
    ...new Set(
      defs.flatMap(({ source }) => ('tdsEntity' in source ? [source.entity, source.tdsEntity] : [source.entity])),
    ),
  ];
  const hub = replayedHub({
    past,
    entities,
    clock: system.clock,
    downs: plan.downs,
    keepDays: KEEP_DAYS,
    timeZone: DEMO_ZONE,
  });
  const dir = mkdtempSync(join(tmpdir(), 'slackwater-ten-day-'));
  try {
    const ours = await livedThrough({ hub, defs, plan, from, end, system, storeFile: join(dir, 'slackwater.db') });
    const heard = heardWithoutAbsence(defs, entities, past.rows, from, end);
    const rows = LINES.map((one) => rowOf(one, past.truth, from, end, ours, heard));
    const absences = plan.away
      .map(({ from: a, to: b }) => ({ what: 'service away', days: (b - a) / DAY_MS }))
      .concat(plan.downs.map(({ from: a, to: b }) => ({ what: 'hub down', days: (b - a) / DAY_MS })));
    return { days, absences, rows, wallMs: performance.now() - began };
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

type Amounts = ReadonlyMap<string, Bounds>;

type Life = {
  readonly hub: ReplayedHub;
  readonly defs: readonly CounterDef[];
  readonly plan: Plan;
  readonly from: InstantMs;
  readonly end: InstantMs;
  readonly system: ReturnType<typeof virtualSystem>;
  readonly storeFile: string;
};

/** One run of the service after the other, each with the store the last one left behind. */
async function livedThrough(life: Life): Promise<Amounts> {
  const { plan, from, end } = life;
  let at = from;
  let lastSeenAt: InstantMs | null = null;
  let amounts: Amounts = new Map();
  for (const stop of [...plan.away, { from: end, to: end }]) {
    amounts = await oneRun(life, stop.from, lastSeenAt, at === from ? from : null);
    lastSeenAt = stop.from;
    at = stop.to;
    life.system.advance(stop.to - stop.from);
  }
  return amounts;
}

const STEP_MS = 3 * HOUR_MS;

async function oneRun(
  { hub, defs, system, storeFile, from }: Life,
  until: InstantMs,
  lastSeenAt: InstantMs | null,
  first: InstantMs | null,
): Promise<Amounts> {
  const store = openStore(storeFile, system);
  const faults: string[] = [];
  const loop = createLoop((name, error) => faults.push(`${name}: ${String(error)}`));
  let isUp = false;
  const counting = createCounting({
    defs,
    hub,
    store,
    system,
    loop,
    historyFrom: first ?? from,
    heardAt: lastSeenAt,
    watchedUntil: lastSeenAt,
    onCounted: () => {},
    onCaughtUp: () => {},
  });
  await hub.start({
    onObservations: (batch) => loop.enqueue('observations', () => counting.take(batch)),
    onReadings: () => {},
    onPress: () => {},
    onChange: () => {},
    onLink: (link) => {
      isUp = link.up;
      loop.enqueue('link', () => (link.up ? counting.linkUp(link) : counting.linkDown(link.at)));
    },
    onRefused: () => {},
  });
  const settle = async (): Promise<void> => {
    await loop.idle();
    if (isUp) await counting.whenLive();
    await loop.idle();
  };
  await settle();
  for (let now = system.clock.now(); now < until; now = system.clock.now()) {
    system.advance(Math.min(until, now + STEP_MS, hub.nextBoundary(now)) - now);
    hub.catchUp();
    await settle();
  }
  const { counters } = counting.sources(until);
  const amounts = new Map(
    defs.map((def) => [def.id, counters.get(def.id)?.projected.amounts[def.measures[0] ?? 'days'] ?? NOTHING]),
  );
  await hub.stop();
  counting.stop();
  loop.stop();
  store.close();
  if (faults.length > 0) throw new Error(faults.join('\n'));
  return amounts;
}

const NOTHING: Bounds = { low: 0, best: 0, high: 0 };

function heardWithoutAbsence(
  defs: readonly CounterDef[],
  entities: readonly EntityId[],
  rows: ReturnType<typeof pastOf>['rows'],
  from: InstantMs,
  end: InstantMs,
): Amounts {
  const streams = entities.map((entity): readonly Observation[] => {
    const past = rows(entity);
    if (past === undefined) return [];
    const kept = heardBy(past, []);
    const found: Observation[] = [];
    const held = kept.firstAfter(from) - 1;
    for (let index = Math.max(0, held); index < kept.count; index += 1) {
      const { updatedAt, state } = kept.row(index);
      const at = Math.max(from, Math.floor(updatedAt));
      const value = state === 'on' ? 1 : state === 'off' ? 0 : state === 'unavailable' ? null : Number(state);
      if (at < end) found.push({ entity, value, at, receivedAt: at, origin: 'live' });
    }
    return found;
  });
  const { states } = foldObservations(defs, initialStates(defs), mergeByTime(streams));
  return new Map(
    defs.map((def) => {
      const state = states.get(def.id);
      const amounts = state === undefined ? {} : project(def, state, end);
      return [def.id, amounts[def.measures[0] ?? 'days'] ?? NOTHING];
    }),
  );
}

function rowOf(
  { def, unit, truth, measure }: Line,
  account: SimTruth,
  from: InstantMs,
  end: InstantMs,
  ours: Amounts,
  heard: Amounts,
): TenDayRow {
  const real = truth(account, from, end);
  const mine = ours.get(def.id) ?? NOTHING;
  const all = heard.get(def.id) ?? NOTHING;
  const plugError = Math.abs(all.best - real);
  const inside = (by: number): boolean => real >= mine.low - by && real <= mine.high + by;
  const grain = measure === 'litres' ? 0.1 : 0;
  return {
    name: def.name,
    unit,
    truth: real,
    heard: all,
    ours: mine,
    errorPercent: real === 0 ? 0 : ((mine.best - real) / real) * 100,
    width: mine.high - mine.low,
    truthInside: inside(0) ? 'yes' : inside(plugError + grain) ? 'but for the plugs' : 'NO',
  };
}

/** The run as a table for people. */
export function tenDayTable({ days, absences, rows, wallMs }: TenDayRun): string {
  const longest = (what: string): string =>
    absences
      .filter((one) => one.what === what)
      .map((one) => one.days)
      .sort((a, b) => a - b)
      .map((one) =>
        one < 0.1 ? `${Math.round(one * 24 * 60)} min` : one < 1 ? `${(one * 24).toFixed(0)} h` : `${one.toFixed(0)} d`,
      )
      .join(', ');
  const cell = (value: number): string => value.toFixed(value >= 1_000 ? 0 : 1);
  return [
    `${days} days through a hub that keeps ${KEEP_DAYS}; ${(wallMs / 1000).toFixed(0)} s`,
    `service away: ${longest('service away')}`,
    `hub down: ${longest('hub down')}`,
    '',
    '| what | truth | heard, no absence | low | best | high | error of best | width | truth inside |',
    '| --- | ---: | ---: | ---: | ---: | ---: | ---: | ---: | --- |',
    ...rows.map(
      ({ name, unit, truth, heard, ours, errorPercent, width, truthInside }) =>
        `| ${name}${unit === '' ? '' : ` (${unit})`} | ${cell(truth)} | ${cell(heard.best)} | ${cell(ours.low)} | ${cell(ours.best)} | ${cell(ours.high)} | ${errorPercent.toFixed(2)} % | ${cell(width)} | ${truthInside} |`,
    ),
  ].join('\n');
}
