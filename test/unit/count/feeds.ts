import fc from 'fast-check';
import type { FoldResult, Slice } from '../../../src/count/index.ts';
import type { Bounds, CounterDef, Narrowing } from '../../../src/model/index.ts';
import type { Observation } from '../../../src/observe/index.ts';
import { HOUR_MS, MINUTE_MS } from '../../../src/units/index.ts';
import { counter, ENTITY, heldPower, lamp, meter, seen, T0 } from './make.ts';

export const TDS = 'sensor.tds';
export const COMPANION = 'sensor.lifetime_energy';

export const narrowing: Narrowing = {
  entity: COMPANION,
  unitsPerReading: 1,
  leastPerHourOn: 0.19,
  mostPerHourOn: 0.2,
  mostPerHourOff: 0.002,
  coarseness: 0.002,
};

/** Counters that hang on one switch or one power reading. */
export const singles: readonly CounterDef[] = [
  { ...lamp, id: 'lamp' },
  { ...counter({ kind: 'on-state', entity: ENTITY }, 'on-hours'), id: 'lamp-hours' },
  {
    ...counter(
      { kind: 'power-threshold', entity: ENTITY, onAboveW: 10, offBelowW: 5, minOnMs: 5_000, minOffMs: 90_000 },
      'on-hours',
      'starts',
    ),
    id: 'threshold',
  },
  { ...heldPower(15 * MINUTE_MS, 300), id: 'energy' },
  { ...counter({ kind: 'runtime-rate', entity: ENTITY, litresPerHour: 7.892 }, 'litres', 'on-hours'), id: 'runtime' },
  { ...counter({ kind: 'edges', entity: ENTITY, edges: 'rising' }, 'actuations'), id: 'rises' },
];

export const every: readonly CounterDef[] = [
  ...singles,
  { ...meter('confirmed', 60), id: 'meter' },
  { ...meter('at-once', 60), id: 'meter-at-once' },
  { ...counter({ kind: 'pulses', entity: ENTITY, litresPerPulse: 1 / 330 }, 'litres'), id: 'pulses' },
  { ...counter({ kind: 'edges', entity: ENTITY, edges: 'both', shortestMs: 2_000 }, 'actuations'), id: 'moves' },
  { ...counter({ kind: 'on-state', entity: ENTITY, narrowedBy: narrowing }, 'on-hours', 'starts'), id: 'narrowed' },
  {
    ...counter(
      {
        kind: 'dissolved',
        entity: ENTITY,
        unitsPerReading: 1,
        maxPerHour: 60,
        tdsEntity: TDS,
        tdsMaxAgeMs: 40 * MINUTE_MS,
        maxTdsMgPerL: 50,
      },
      'grams',
    ),
    id: 'grams',
  },
];

const anyStep = fc.record({
  after: fc.oneof(
    fc.integer({ min: 1, max: 90_000 }),
    fc.integer({ min: 1, max: 5 * HOUR_MS }),
    // Onto full hours, where everything is cut.
    fc.constantFrom(0, 1, 2).map((hours) => -hours - 1),
  ),
  value: fc.oneof(
    fc.constantFrom(0, 1, 0, 1, null, 7, -1, 35.6),
    fc.double({ min: 0, max: 400, noNaN: true }),
    fc.integer({ min: 0, max: 40 }),
  ),
  origin: fc.constantFrom('live' as const, 'history' as const),
});

function stream(entity: string, maxLength: number): fc.Arbitrary<readonly Observation[]> {
  return fc.array(anyStep, { maxLength }).map((steps) => {
    let at = T0;
    return steps.map(({ after, value, origin }) => {
      at = after > 0 ? at + after : at - (at % HOUR_MS) - after * HOUR_MS;
      return seen(at, value, origin, entity);
    });
  });
}

const byTime = (a: Observation, b: Observation): number =>
  a.at - b.at || (a.entity < b.entity ? -1 : a.entity > b.entity ? 1 : 0);

/** Anything a hub might send of the source of all counters, in order of time. */
export const ownFeed: fc.Arbitrary<readonly Observation[]> = stream(ENTITY, 60);

/** The same with what it sends of the dissolved solids and of a lifetime meter in between. */
export const anyFeed: fc.Arbitrary<readonly Observation[]> = fc
  .tuple(ownFeed, stream(TDS, 15), stream(COMPANION, 15))
  .map((streams) => streams.flat().sort(byTime));

export function summed(slices: readonly Slice[]): Record<string, Bounds> {
  const sums: Record<string, Bounds> = {};
  for (const { counter: id, measure, hour, origin, add } of slices) {
    const key = `${id} ${measure} ${hour} ${origin}`;
    const { low, best, high } = sums[key] ?? { low: 0, best: 0, high: 0 };
    sums[key] = { low: low + add.low, best: best + add.best, high: high + add.high };
  }
  return Object.fromEntries(Object.entries(sums).sort(([a], [b]) => (a < b ? -1 : 1)));
}

export const throughTheStore = (states: FoldResult['states']): FoldResult['states'] =>
  new Map([...states].map(([id, state]) => [id, JSON.parse(JSON.stringify(state))]));
