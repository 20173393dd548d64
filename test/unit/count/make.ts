import { type CounterState, foldObservations, initialState } from '../../../src/count/index.ts';
import type { CounterDef, CounterSource, Measure, Origin } from '../../../src/model/index.ts';
import type { Observation } from '../../../src/observe/index.ts';

export const ENTITY = 'sensor.source';

export function counter(source: CounterSource, ...measures: readonly Measure[]): CounterDef {
  return { id: 'counter', name: 'Counter', source, measures };
}

export const lamp = counter({ kind: 'on-state', entity: ENTITY }, 'on-hours', 'starts');

export function seen(at: number, value: number | null, origin: Origin = 'live', entity = ENTITY): Observation {
  return { entity, value, at, receivedAt: at, origin };
}

export type Row = readonly [at: number, value: number | null];

export function foldRows(def: CounterDef, rows: readonly Row[], state: CounterState = initialState(def)) {
  const observations = rows.map(([at, value]) => seen(at, value, 'live', def.source.entity));
  const result = foldObservations([def], new Map([[def.id, state]]), observations);
  const after = result.states.get(def.id);
  if (after === undefined) throw new Error('the fold lost its counter');
  return { ...result, state: after };
}

/** Meter without any limit on its speed, so that only the reset rule speaks. */
export const meter = (resets: 'confirmed' | 'at-once' = 'confirmed', maxPerHour = 1e9): CounterDef =>
  counter({ kind: 'total', entity: ENTITY, unitsPerReading: 1, maxPerHour, resets }, 'litres');

export const heldPower = (maxHoldMs: number, maxPowerW = 1_000): CounterDef =>
  counter({ kind: 'held-power', entity: ENTITY, maxHoldMs, maxPowerW }, 'energy');

/** A moment that is no full hour, so that hours have to be cut. */
export const T0 = Date.UTC(2026, 0, 5, 10, 17, 23, 456);
