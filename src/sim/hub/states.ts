// The hub's state machine and event bus: what changed, when, through whom.
import type { Clock } from '../../ports/index.ts';
import type { InstantMs } from '../../units/index.ts';
import { idText, type Prng } from '../random.ts';

export type Attributes = Readonly<Record<string, unknown>>;

export type HubContext = { readonly id: string; readonly userId: string | null; readonly parentId: string | null };

export type EntityState = {
  readonly entity: string;
  readonly state: string;
  readonly attributes: Attributes;
  readonly lastChanged: InstantMs;
  readonly lastUpdated: InstantMs;
  readonly lastReported: InstantMs;
  readonly context: HubContext;
};

export type StateChange = {
  readonly entity: string;
  readonly old: EntityState | null;
  readonly next: EntityState | null;
};

export type HubEvent = {
  readonly type: string;
  readonly data: unknown;
  readonly at: InstantMs;
  readonly context: HubContext;
};

export type States = {
  get(entity: string): EntityState | undefined;
  all(): readonly EntityState[];
  /** Writes a state; without `attributes` the present ones stay. An unchanged write moves `lastReported` only. */
  set(entity: string, state: string, attributes?: Attributes, context?: HubContext): EntityState;
  remove(entity: string, context?: HubContext): void;
  clear(): void;
  context(userId?: string | null, parentId?: string | null): HubContext;
  onChange(listener: (change: StateChange) => void): () => void;
  fire(type: string, data: unknown, context?: HubContext): HubEvent;
  onEvent(listener: (event: HubEvent) => void): () => void;
};

/** Rows of one entity must have different times, as on a hub that counts in microseconds. */
const SMALLEST_STEP_MS = 0.01;

export function createStates(clock: Clock, random: Prng): States {
  const entities = new Map<string, EntityState>();
  const changeListeners = new Set<(change: StateChange) => void>();
  const eventListeners = new Set<(event: HubEvent) => void>();
  const context = (userId: string | null = null, parentId: string | null = null): HubContext => ({
    id: `01${idText(random, 24)}`,
    userId,
    parentId,
  });
  const tell = (change: StateChange): void => {
    for (const listener of [...changeListeners]) listener(change);
  };
  return {
    get: (entity) => entities.get(entity),
    all: () => [...entities.values()],
    set(entity, state, attributes, by) {
      const old = entities.get(entity);
      const at = microseconds(Math.max(clock.now(), old === undefined ? 0 : old.lastUpdated + SMALLEST_STEP_MS));
      const wanted = attributes ?? old?.attributes ?? {};
      if (old !== undefined && old.state === state && sameAttributes(old.attributes, wanted)) {
        const next = { ...old, lastReported: Math.max(at, old.lastReported) };
        entities.set(entity, next);
        return next;
      }
      const changed = old === undefined || old.state !== state;
      const next: EntityState = {
        entity,
        state,
        attributes: wanted,
        lastChanged: changed ? at : old.lastChanged,
        lastUpdated: at,
        lastReported: at,
        context: by ?? context(),
      };
      entities.set(entity, next);
      tell({ entity, old: old ?? null, next });
      return next;
    },
    remove(entity) {
      const old = entities.get(entity);
      if (old === undefined) return;
      entities.delete(entity);
      tell({ entity, old, next: null });
    },
    clear: () => entities.clear(),
    context,
    onChange(listener) {
      changeListeners.add(listener);
      return () => changeListeners.delete(listener);
    },
    fire(type, data, by = context()) {
      const event: HubEvent = { type, data, at: clock.now(), context: by };
      for (const listener of [...eventListeners]) listener(event);
      return event;
    },
    onEvent(listener) {
      eventListeners.add(listener);
      return () => eventListeners.delete(listener);
    },
  };
}

const microseconds = (at: InstantMs): InstantMs => Math.floor(at * 1000) / 1000;

function sameAttributes(a: Attributes, b: Attributes): boolean {
  if (a === b) return true;
  const keys = Object.keys(a);
  if (keys.length !== Object.keys(b).length) return false;
  return keys.every((key) => Object.hasOwn(b, key) && JSON.stringify(a[key]) === JSON.stringify(b[key]));
}
