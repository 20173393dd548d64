import { type CounterState, GRAINS_PER_UNIT, type Slice } from '../../../src/count/index.ts';
import type { Bounds, CounterDef, Measure, Part } from '../../../src/model/index.ts';
import type { UsageSources } from '../../../src/record/index.ts';

export const lamp: Part = {
  id: 'lamp',
  name: 'Lamp',
  kind: 'fluorescent-tubes',
  pieces: 1,
  limits: [
    { measure: 'on-hours', amount: 3600 },
    { measure: 'days', amount: 365 },
  ],
  safety: false,
  usageFrom: { 'on-hours': 'lamp-hours' },
  usedBefore: {},
};

export const lampHours: CounterDef = {
  id: 'lamp-hours',
  name: 'Lamp hours',
  source: { kind: 'on-state', entity: 'switch.lamp' },
  measures: ['on-hours', 'starts'],
};

export const exact = (amount: number): Bounds => ({ low: amount, best: amount, high: amount });

/** One counter of one measure: what is folded up to `lastAt`, the tail that projection adds, and hourly slices. */
export const sourcesOf = (given: {
  readonly measure?: Measure;
  readonly def?: CounterDef;
  readonly folded: Bounds;
  readonly tail?: Bounds;
  readonly countingSince: number | null;
  readonly lastAt?: number | null;
  readonly slices?: readonly { readonly hour: number; readonly add: Bounds }[];
}): UsageSources => {
  const measure = given.measure ?? 'on-hours';
  const def = given.def ?? lampHours;
  const tail = given.tail ?? exact(0);
  const state = (amount: Bounds): CounterState => ({
    id: def.id,
    amounts: { [measure]: amount },
    countingSince: given.countingSince,
    lastAt: given.lastAt ?? null,
    memory: {},
  });
  const { folded } = given;
  const projected = { low: folded.low + tail.low, best: folded.best + tail.best, high: folded.high + tail.high };
  const per = GRAINS_PER_UNIT[measure];
  const slices: Slice[] = (given.slices ?? []).map(({ hour, add }) => ({
    counter: def.id,
    measure,
    hour,
    origin: 'live',
    add: { low: add.low * per, best: add.best * per, high: add.high * per },
  }));
  return {
    counters: new Map([[def.id, { def, folded: state(folded), projected: state(projected) }]]),
    slices: (_counter, _measure, from) => slices.filter((slice) => slice.hour + 3_600_000 > from),
  };
};
