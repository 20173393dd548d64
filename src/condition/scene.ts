// What all detectors look at together: newest readings, a short past of lux and level, what draws and what is off.
import type { EntityId, SensorKind } from '../model/index.ts';
import { type InstantMs, MINUTE_MS } from '../units/index.ts';
import { median } from './stats/index.ts';
import type { ConditionSetup } from './types.ts';

type Point = { readonly at: InstantMs; readonly value: number };

/** Plain data. */
export type SceneMemory = {
  readings: Record<EntityId, { value: number | null; at: InstantMs }>;
  lux: Point[];
  level: Point[];
  /** By equipment: drawing or not (null: not known), and since when. */
  drawing: Record<string, { on: boolean | null; since: InstantMs }>;
};

export const newScene = (): SceneMemory => ({ readings: {}, lux: [], level: [], drawing: {} });

const LUX_PAST_MS = 100 * MINUTE_MS;
const LEVEL_PAST_MS = 45 * MINUTE_MS;
/** Level readings are kept no closer than this, except when asked for all. */
const MOST_POINTS = 700;

export type Scene = {
  readonly memory: SceneMemory;
  take(entity: EntityId, at: InstantMs, value: number | null): void;
  value(kind: SensorKind): number | null;
  /** Value no older than this. */
  fresh(kind: SensorKind, now: InstantMs, ageMs: number): number | null;
  /** Middle of the readings within [from, to]; null where there are none. */
  luxBetween(from: InstantMs, to: InstantMs): number | null;
  levelBetween(from: InstantMs, to: InstantMs): number | null;
  /** Readings of the level within [from, to]. */
  levelCount(from: InstantMs, to: InstantMs): number;
  /** Middle of the newest readings. */
  levelNow(count: number): number | null;
  draws(equipment: string | undefined): boolean | null;
  drawSince(equipment: string | undefined): InstantMs | null;
};

export function createScene(setup: ConditionSetup, memory: SceneMemory): Scene {
  const { sensors } = setup;
  const keep = (list: Point[], point: Point, pastMs: number): void => {
    list.push(point);
    while (list.length > MOST_POINTS || (list[0] !== undefined && list[0].at < point.at - pastMs)) list.shift();
  };
  const between = (list: readonly Point[], from: InstantMs, to: InstantMs): number | null => {
    const found: number[] = [];
    for (let i = list.length - 1; i >= 0; i -= 1) {
      const point = list[i];
      if (point === undefined || point.at < from) break;
      if (point.at <= to) found.push(point.value);
    }
    return found.length === 0 ? null : median(found);
  };
  const reading = (kind: SensorKind) => {
    const entity = sensors[kind];
    return entity === undefined ? undefined : memory.readings[entity];
  };
  return {
    memory,
    take(entity, at, value) {
      memory.readings[entity] = { value, at };
      if (value === null) return;
      if (entity === sensors.lux) keep(memory.lux, { at, value }, LUX_PAST_MS);
      else if (entity === sensors['sump-level']) keep(memory.level, { at, value }, LEVEL_PAST_MS);
    },
    value: (kind) => reading(kind)?.value ?? null,
    fresh(kind, now, ageMs) {
      const found = reading(kind);
      return found === undefined || found.at < now - ageMs ? null : found.value;
    },
    luxBetween: (from, to) => between(memory.lux, from, to),
    levelBetween: (from, to) => between(memory.level, from, to),
    levelCount: (from, to) => memory.level.filter((point) => point.at >= from && point.at <= to).length,
    levelNow(count) {
      const newest = memory.level.slice(-count);
      return newest.length < count ? null : median(newest.map((point) => point.value));
    },
    draws: (equipment) => (equipment === undefined ? null : (memory.drawing[equipment]?.on ?? null)),
    drawSince: (equipment) => (equipment === undefined ? null : (memory.drawing[equipment]?.since ?? null)),
  };
}
