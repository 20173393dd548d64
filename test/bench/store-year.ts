import type { CounterState, Slice } from '../../src/count/index.ts';
import type { Measure } from '../../src/model/index.ts';
import type { MinutePower } from '../../src/observe/index.ts';
import type { MinuteCommit, StorePort } from '../../src/ports/index.ts';
import { HOUR_MS, MINUTE_MS } from '../../src/units/index.ts';

// A year of a large system, invented: 60 plugs that report tenths of a watt every ten seconds, and 200 counters on them.

const START = Date.UTC(2026, 0, 1);
const EQUIPMENT = 60;
const SAMPLES = 6;

/** Repeatable numbers in [0, 1). */
function generator(seed: number): () => number {
  let state = seed >>> 0;
  return () => {
    state = (state + 0x6d2b_79f5) >>> 0;
    let mixed = Math.imul(state ^ (state >>> 15), state | 1);
    mixed ^= mixed + Math.imul(mixed ^ (mixed >>> 7), mixed | 61);
    return ((mixed ^ (mixed >>> 14)) >>> 0) / 4_294_967_296;
  };
}

type Random = () => number;
/** Watts at a moment of the day (hours), before noise. */
type Load = (hourOfDay: number, minute: number, random: Random) => number;

const steady =
  (watts: number): Load =>
  () =>
    watts;
const waves =
  (low: number, high: number): Load =>
  (_, __, random) =>
    random() < 0.5 ? low : high;
const lamp =
  (watts: number, from: number, to: number): Load =>
  (hour) =>
    hour >= from && hour < to ? watts : 0.4;
const ramp =
  (watts: number, from: number, to: number): Load =>
  (hour) =>
    hour <= from || hour >= to ? 0.6 : 0.6 + watts * Math.min(1, (hour - from) / 2, (to - hour) / 2);
const thermostat =
  (watts: number, cycle: number, share: number): Load =>
  (_, minute) =>
    minute % cycle < cycle * share ? watts : 0.2;
const doser =
  (watts: number, every: number): Load =>
  (_, minute, random) =>
    minute % every === 0 && random() < 0.5 ? watts : 0.3;
const idle = (): Load => () => 0;

/** What a large reef system has running: see the counts. */
function loads(): readonly Load[] {
  return [
    ...Array.from({ length: 18 }, (_, index) => steady(12 + index * 5)),
    ...Array.from({ length: 8 }, (_, index) => waves(6 + index, 22 + 3 * index)),
    ...Array.from({ length: 6 }, (_, index) => lamp(110 + 30 * index, 10, 19 + (index % 2))),
    ...Array.from({ length: 4 }, (_, index) => ramp(120 + 25 * index, 9, 21)),
    ...Array.from({ length: 8 }, (_, index) => thermostat(150 + 25 * index, 24 + index, 0.25)),
    ...Array.from({ length: 10 }, (_, index) => doser(3 + index, 60)),
    ...Array.from({ length: 6 }, idle),
  ];
}

const ON_ABOVE_W = 2;
const tenths = (watts: number): number => Math.round(watts * 10) / 10;

/** A plug's noise: a hundredth of the load. */
function minuteOf(load: Load, at: number, random: Random): MinutePower {
  const minute = (at - START) / MINUTE_MS;
  let [minW, maxW, sum] = [Number.POSITIVE_INFINITY, 0, 0];
  for (let sample = 0; sample < SAMPLES; sample++) {
    const plain = load((minute / 60) % 24, minute, random);
    const noise = plain < 2 ? 0 : plain * 0.01 * (random() + random() + random() - 1.5) * 2;
    const watts = Math.max(0, tenths(plain + noise));
    minW = Math.min(minW, watts);
    maxW = Math.max(maxW, watts);
    sum += watts;
  }
  return { minute: at, knownMs: MINUTE_MS, minW, meanW: sum / SAMPLES, maxW };
}

type CounterShape = { readonly id: string; readonly measures: readonly Measure[]; readonly equipment: number };

/** On-time and starts by watts and by switch, energy, litres. */
function counterShapes(): readonly CounterShape[] {
  const of = (count: number, name: string, measures: readonly Measure[]): CounterShape[] =>
    Array.from({ length: count }, (_, equipment) => ({ id: `${name}-${equipment}`, measures, equipment }));
  return [
    ...of(EQUIPMENT, 'runs', ['on-hours', 'starts']),
    ...of(EQUIPMENT, 'switched', ['on-hours', 'starts']),
    ...of(EQUIPMENT, 'energy', ['energy']),
    ...of(20, 'litres', ['litres']),
  ];
}

function slicesOf(shape: CounterShape, hour: number, minutes: readonly MinutePower[], random: Random): Slice[] {
  const on = minutes.filter(({ meanW }) => meanW > ON_ABOVE_W).length;
  const edges = minutes.filter(
    ({ meanW }, index) => meanW > ON_ABOVE_W && (minutes[index - 1]?.meanW ?? 99) <= ON_ABOVE_W,
  ).length;
  const wattMinutes = minutes.reduce((sum, { meanW }) => sum + meanW, 0);
  const amounts: Readonly<Partial<Record<Measure, number>>> = {
    'on-hours': on * MINUTE_MS + (on > 0 && on < 60 ? Math.floor(random() * 20_000) : 0),
    starts: edges,
    energy: Math.round(wattMinutes * 6e7),
    litres: Math.floor(random() * 9_000) * 3_600,
  };
  const origin = 'live' as const;
  return shape.measures.flatMap((measure) => {
    const amount = amounts[measure] ?? 0;
    // Now and then an hour has a gap in it.
    const high = random() < 0.01 ? amount + Math.floor(random() * 900_000) : amount;
    const add = { low: amount, best: amount, high };
    return amount === 0 && high === 0 ? [] : [{ counter: shape.id, measure, hour, origin, add }];
  });
}

const stateOf = ({ id, measures }: CounterShape, at: number): CounterState => ({
  id,
  amounts: Object.fromEntries(measures.map((measure) => [measure, { low: at / 7e9, best: at / 7e9, high: at / 6e9 }])),
  countingSince: START,
  lastAt: at,
  memory: Object.fromEntries(Array.from({ length: 12 }, (_, index) => [`field ${index}`, at - index])),
});

export type Filled = {
  readonly counters: readonly string[];
  readonly entities: readonly string[];
  readonly end: number;
};

/** Writes hour by hour, as live counting does, so that pages are left as they are in service. */
export function fillStore(store: StorePort, days: number): Filled {
  const random = generator(1);
  const plugs = loads();
  const shapes = counterShapes();
  const entities = plugs.map((_, index) => `sensor.plug_${index}_power`);
  for (let hour = 0; hour < days * 24; hour++) {
    const at = START + hour * HOUR_MS;
    const minutes = plugs.map((load) =>
      Array.from({ length: 60 }, (_, minute) => minuteOf(load, at + minute * MINUTE_MS, random)),
    );
    const commits: MinuteCommit[] = minutes.map((ones, index) => ({ entity: entities[index] ?? '', minutes: ones }));
    const slices = shapes.flatMap((shape) => slicesOf(shape, at, minutes[shape.equipment] ?? [], random));
    const states = hour % 24 === 0 ? shapes.map((shape) => stateOf(shape, at + HOUR_MS)) : [];
    const cursors = new Map(entities.map((entity) => [entity, at + HOUR_MS]));
    store.commitCounts({ states, slices, resets: [], cursors, minutes: commits });
    // In service a commit comes every few seconds, and each packs a little.
    for (let again = 0; again < 16; again++)
      store.commitCounts({ states: [], slices: [], resets: [], cursors: new Map() });
    if (hour % 6 === 0)
      store.append({ v: 1, kind: 'reading', at, what: 'alkalinity', value: 8, unit: 'dKH', by: 'Ann' });
  }
  return { counters: shapes.map(({ id }) => id), entities, end: START + days * 24 * HOUR_MS };
}
