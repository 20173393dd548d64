import type { EntityId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import type { HubPort, System } from '../ports/index.ts';
import type { Loop } from './loop.ts';

/** One forced reading at a time: what is asked for meanwhile goes out together when a slow hub has answered. */
export function createForcedReadings(
  { hub, loop, system }: { readonly hub: Pick<HubPort, 'refresh'>; readonly loop: Loop; readonly system: System },
  /** Behind "a forced reading" in the log, where it is not a session's. */
  whose: string,
  take: (readings: readonly Reading[]) => void,
): (entities: readonly EntityId[]) => void {
  const wanted = new Set<EntityId>();
  let running = false;
  const pump = async (): Promise<void> => {
    running = true;
    while (wanted.size > 0) {
      const entities = [...wanted];
      wanted.clear();
      try {
        const readings = await hub.refresh(entities);
        loop.enqueue(`refresh${whose}`, () => take(readings));
      } catch (error) {
        system.log.warn(`a forced reading${whose} failed: ${String(error)}`);
      }
    }
    running = false;
  };
  return (entities) => {
    for (const entity of entities) wanted.add(entity);
    if (!running) void pump();
  };
}
