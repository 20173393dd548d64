import type { EntityId, EquipmentId, GuardId } from '../../model/index.ts';
import type { Reading } from '../../observe/index.ts';
import type { DurationMs, InstantMs } from '../../units/index.ts';
import type { GuardContext, GuardEffect, GuardedEquipment, GuardMemory, GuardState, Latch } from './types.ts';

/** One step's own copy of the state; what is given back shares whatever the step did not touch. */
export type Work = {
  readonly at: InstantMs;
  readonly seq: number;
  readonly ctx: GuardContext;
  readonly readings: Record<EntityId, Reading>;
  readonly memory: Record<GuardId, GuardMemory>;
  readonly latches: Record<GuardId, Latch>;
  readonly effects: GuardEffect[];
  /** Entities of which a report came with this step. */
  readonly heard: ReadonlySet<EntityId>;
  hubUp: boolean;
  inSession: readonly EquipmentId[];
};

export function beginWork(
  state: GuardState,
  at: InstantMs,
  ctx: GuardContext,
  heard: ReadonlySet<EntityId> = new Set(),
): Work {
  return {
    at,
    seq: state.seq + 1,
    ctx,
    readings: { ...state.readings },
    memory: { ...state.memory },
    latches: { ...state.latches },
    effects: [],
    heard,
    hubUp: state.hubUp,
    inSession: state.inSession,
  };
}

export const endWork = ({ at, seq, hubUp, readings, inSession, latches, memory }: Work): GuardState => ({
  at,
  seq,
  hubUp,
  readings,
  inSession,
  latches,
  memory,
});

export function recall(work: Work, guard: GuardId, key: string): number | null {
  const value = work.memory[guard]?.[key];
  return typeof value === 'number' ? value : null;
}

export function recallList(work: Work, guard: GuardId, key: string): readonly number[] {
  const value = work.memory[guard]?.[key];
  return Array.isArray(value) ? (value as readonly number[]) : [];
}

export function remember(work: Work, guard: GuardId, key: string, value: number | readonly number[] | null): void {
  const before = work.memory[guard] ?? {};
  if (value === null) {
    if (!Object.hasOwn(before, key)) return;
    const { [key]: _, ...rest } = before;
    work.memory[guard] = rest;
  } else if (before[key] !== value) work.memory[guard] = { ...before, [key]: value };
}

export const equipmentOf = (work: Work, id: EquipmentId | undefined): GuardedEquipment | undefined =>
  id === undefined ? undefined : work.ctx.equipment[id];

export const nameOf = (work: Work, id: EquipmentId): string => work.ctx.equipment[id]?.name ?? id;

/** The last that was reported, however old; null = unknown. */
export const lastValue = (work: Work, entity: EntityId | undefined): number | null =>
  entity === undefined ? null : (work.readings[entity]?.value ?? null);

/** Null where it is unknown or older than it may be. */
export function freshValue(work: Work, entity: EntityId | undefined, maxAgeMs: DurationMs): number | null {
  const reading = entity === undefined ? undefined : work.readings[entity];
  if (reading === undefined || reading.value === null) return null;
  return Math.abs(work.at - reading.reportedAt) <= maxAgeMs ? reading.value : null;
}

export const heardOf = (work: Work, entity: EntityId | undefined): boolean =>
  entity !== undefined && work.heard.has(entity);

/** Does it run? Watts say so where there are any; a relay alone says no more than that it is open or closed. */
export function runs(work: Work, one: GuardedEquipment): 'yes' | 'no' | 'unknown' {
  const relay = lastValue(work, one.switchEntity);
  if (one.powerEntity === undefined) return relay === null ? 'unknown' : relay === 0 ? 'no' : 'yes';
  const watts = freshValue(work, one.powerEntity, work.ctx.settings.freshMs);
  if (watts === null) return 'unknown';
  return watts >= runsAboveW(work, one) ? 'yes' : 'no';
}

export const runsAboveW = (work: Work, one: GuardedEquipment): number =>
  Math.max(work.ctx.settings.offMaxW, (one.normalPowerW ?? 0) / 2);

export const entitiesOf = (one: GuardedEquipment | undefined): readonly EntityId[] =>
  [one?.switchEntity, one?.powerEntity].filter((entity) => entity !== undefined);

/** Asks the devices to report, not oftener than the pace allows. */
export function ask(work: Work, guard: GuardId, entities: readonly EntityId[]): boolean {
  const last = recall(work, guard, 'askedAt');
  if (!work.hubUp || entities.length === 0 || (last !== null && work.at - last < work.ctx.settings.askMs)) return false;
  remember(work, guard, 'askedAt', work.at);
  work.effects.push({ kind: 'refresh', entities });
  return true;
}

export const median = (values: readonly number[]): number => {
  const sorted = values.toSorted((a, b) => a - b);
  return sorted[Math.floor(sorted.length / 2)] ?? 0;
};

const LEVEL_RING = 5;
const LEVEL_LEAST = 3;

/** Bubbles throw single readings of a level sensor off, so the middle one of several counts; null = too few yet. */
export function levelSeen(work: Work, guard: GuardId, sensor: string, entity: EntityId): number | null {
  const key = `ring ${sensor}`;
  const value = lastValue(work, entity);
  if (work.heard.has(entity) && value !== null)
    remember(work, guard, key, [...recallList(work, guard, key), value].slice(-LEVEL_RING));
  const ring = recallList(work, guard, key);
  return ring.length < LEVEL_LEAST ? null : median(ring);
}
