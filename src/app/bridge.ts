import type { EntityId } from '../model/index.ts';
import type { HourStatistic, Observation } from '../observe/index.ts';
import type { HubPort, Log } from '../ports/index.ts';
import type { InstantMs } from '../units/index.ts';

/** A stretch that the hub's history no longer reaches: unknown from `from` on, until its first row or the present. */
export type Stretch = { readonly entity: EntityId; readonly from: InstantMs; readonly to: InstantMs };

/** What the hub's hourly statistics still know of these stretches. A hub that cannot tell leaves them unknown. */
export async function hoursWithin(
  { hub, log }: { readonly hub: HubPort; readonly log: Log },
  stretches: readonly Stretch[],
  isStale: () => boolean,
): Promise<readonly HourStatistic[]> {
  const found: HourStatistic[] = [];
  if (hub.statistics === undefined) return found;
  for (const { entity, from, to } of stretches) {
    if (to <= from) continue;
    try {
      for await (const hours of hub.statistics({ entities: [entity], from, to })) {
        if (isStale()) return found;
        found.push(...hours);
      }
    } catch (error) {
      log.warn(`hourly statistics of ${entity} could not be read; what they hold stays a gap: ${String(error)}`);
    }
  }
  return found;
}

/**
 * Whether the present state closes the stretch by itself: an entity that has not changed since it was last counted drops
 * out of a hub's history, and is still what it was. Said by the hub itself, and void after a restart of it, which dates
 * every state anew.
 */
export function isUnchanged(
  cursor: InstantMs,
  rows: readonly Observation[],
  present: Observation | undefined,
): boolean {
  return rows.length === 0 && present !== undefined && present.value !== null && present.at <= cursor;
}
