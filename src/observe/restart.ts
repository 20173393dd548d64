import type { EntityId } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { mergeByTime } from './merge.ts';
import type { Observation } from './types.ts';

export type HubRestart = {
  readonly entities: readonly EntityId[];
  /** When the old run of the hub was last heard (any message), by the hub's clock. */
  readonly lastSeenAt: InstantMs;
  /** When the new run began. */
  readonly restartedAt: InstantMs;
  /** When the new run was RUNNING and settled; states before that jump about while integrations load. */
  readonly readyAt: InstantMs;
  /** Everything known of these entities since `lastSeenAt`: history rows and the first snapshot. */
  readonly rows: readonly Observation[];
  readonly receivedAt: InstantMs;
  /** Up to where each entity was taken already. A hub that starts with its clock in the past would date its gap before that. */
  readonly takenTo?: ReadonlyMap<EntityId, InstantMs>;
};

/**
 * Books a restart of the hub: nobody watched from the last sign of life of the old run until the new one was ready, so
 * each entity has a gap there, whatever state the hub drew across it. What came while it was starting is taken as the
 * value at `readyAt`: a new value, never an edge, since the gap stands before it.
 */
export function bookRestart(restart: HubRestart): readonly Observation[] {
  const { entities, restartedAt, readyAt, receivedAt } = restart;
  const wanted = new Set(entities);
  const rows = restart.rows.filter((row) => wanted.has(row.entity));
  const before = rows.filter((row) => row.at < restartedAt);
  const starting = rows.filter((row) => row.at >= restartedAt && row.at <= readyAt);
  const after = rows.filter((row) => row.at > readyAt);
  // A value the old run wrote proves that it lived until then, also while we were not connected. A row without one proves
  // nothing: a new run first writes its entities as unknown, before the states it holds now.
  const alive = before.filter((row) => row.value !== null);
  const aliveUntil = alive.reduce((latest, row) => Math.max(latest, row.at), restart.lastSeenAt);
  const gapAt = Math.min(aliveUntil + 1, restartedAt);
  const gaps = entities.map((entity): Observation => {
    const at = Math.max(gapAt, (restart.takenTo?.get(entity) ?? gapAt - 1) + 1);
    return { entity, value: null, at, receivedAt, origin: 'assumed' };
  });
  const settled = new Map<EntityId, Observation>();
  for (const row of mergeByTime([starting])) settled.set(row.entity, { ...row, at: readyAt });
  return mergeByTime([before, gaps, [...settled.values()], after]);
}
