import type { EntityId } from '../../model/index.ts';
import type { EntityMap } from '../../observe/index.ts';
import type { InstantMs } from '../../units/index.ts';

export type RestartTold = { readonly hubRestarted: boolean; readonly restartedAt: InstantMs | null };

/**
 * Whether the hub restarted since we last heard it. Posted states do not survive a restart, so the absence of our marker
 * tells; and whatever the hub holds now was written by its present run, so nothing in it is older than that run.
 */
export function tellRestart(question: {
  readonly snapshot: EntityMap;
  readonly marker: EntityId;
  /** False when no marker could be posted before; then only the times can tell. */
  readonly markerPosted: boolean;
  /** By the hub's clock; null = never heard it before, so there is nothing to compare with. */
  readonly lastSeenAt: InstantMs | null;
}): RestartTold {
  const { snapshot, marker, markerPosted, lastSeenAt } = question;
  if (lastSeenAt === null || snapshot.has(marker)) return { hubRestarted: false, restartedAt: null };
  const earliest = earliestUpdate(snapshot);
  const allNewer = earliest !== null && earliest >= lastSeenAt;
  if (!markerPosted && !allNewer) return { hubRestarted: false, restartedAt: null };
  return { hubRestarted: true, restartedAt: allNewer ? earliest : null };
}

/** When the oldest state that the hub holds was written; null = it holds none of ours. */
export function earliestUpdate(snapshot: EntityMap): InstantMs | null {
  const times = [...snapshot.values()].map((state) => Math.min(state.lastChanged, state.lastUpdated));
  return times.length === 0 ? null : Math.min(...times);
}
