import type { EntityId } from '../model/index.ts';
import { type EntityState, instantOfSeconds } from './entity-state.ts';

/** A context as the hub sends it: a bare id where no person and no parent is behind it, an object otherwise. */
export type CompressedContext =
  | string
  | { readonly id?: string; readonly user_id?: string | null; readonly parent_id?: string | null };

export type CompressedState = {
  readonly s: string;
  readonly a?: Readonly<Record<string, unknown>>;
  readonly c?: CompressedContext;
  /** Seconds. Absent `lu` means it equals `lc`. */
  readonly lc: number;
  readonly lu?: number;
};

export type CompressedDiff = {
  readonly '+'?: Partial<CompressedState>;
  readonly '-'?: { readonly a?: readonly string[] };
};

/** One event of the hub's `subscribe_entities`: added, changed, removed. */
export type CompressedEvent = {
  readonly a?: Readonly<Record<EntityId, CompressedState>>;
  readonly c?: Readonly<Record<EntityId, CompressedDiff>>;
  readonly r?: readonly EntityId[];
};

export type EntityMap = ReadonlyMap<EntityId, EntityState>;

export type AppliedEvent = {
  readonly states: EntityMap;
  /** Added or changed, also by attributes alone (then `lastChanged` has not moved). */
  readonly changed: readonly EntityState[];
  readonly removed: readonly EntityId[];
  /** Changes of entities we hold no state of: the map is out of step and a fresh snapshot is needed. */
  readonly unmatched: readonly EntityId[];
};

const nobody = { contextId: '', userId: null };

/** In a full state a bare id says that no person is behind it. */
function fullContext(context: CompressedContext | undefined): { contextId: string; userId: string | null } {
  if (context === undefined) return nobody;
  if (typeof context === 'string') return { contextId: context, userId: null };
  return { contextId: context.id ?? '', userId: context.user_id ?? null };
}

/** In a change a bare id says that only the id is new: the person stays as before. */
function changedContext(before: EntityState, context: CompressedContext | undefined) {
  const { contextId, userId } = before;
  if (context === undefined) return { contextId, userId };
  if (typeof context === 'string') return { contextId: context, userId };
  return {
    contextId: context.id ?? contextId,
    userId: context.user_id === undefined ? userId : context.user_id,
  };
}

function added(entity: EntityId, full: CompressedState): EntityState {
  const lastChanged = instantOfSeconds(full.lc);
  return {
    entity,
    state: full.s,
    attributes: { ...full.a },
    lastChanged,
    lastUpdated: full.lu === undefined ? lastChanged : instantOfSeconds(full.lu),
    ...fullContext(full.c),
  };
}

function changedTimes(before: EntityState, plus: Partial<CompressedState>) {
  if (plus.lc !== undefined) {
    const lastChanged = instantOfSeconds(plus.lc);
    return { lastChanged, lastUpdated: plus.lu === undefined ? lastChanged : instantOfSeconds(plus.lu) };
  }
  // `lu` alone: an attribute changed, the state did not, and its last change stays where it was.
  const lastUpdated = plus.lu === undefined ? before.lastUpdated : instantOfSeconds(plus.lu);
  return { lastChanged: before.lastChanged, lastUpdated };
}

function changed(before: EntityState, diff: CompressedDiff): EntityState {
  const plus = diff['+'] ?? {};
  const gone = new Set(diff['-']?.a ?? []);
  const kept = Object.entries(before.attributes).filter(([key]) => !gone.has(key));
  return {
    entity: before.entity,
    state: plus.s ?? before.state,
    attributes: { ...Object.fromEntries(kept), ...plus.a },
    ...changedTimes(before, plus),
    ...changedContext(before, plus.c),
  };
}

/** Applies one event to the map we hold; the given map is left as it is. */
export function applyCompressed(states: EntityMap, event: CompressedEvent): AppliedEvent {
  const next = new Map(states);
  const touched: EntityState[] = [];
  const unmatched: EntityId[] = [];
  for (const [entity, full] of Object.entries(event.a ?? {})) {
    const state = added(entity, full);
    next.set(entity, state);
    touched.push(state);
  }
  for (const [entity, diff] of Object.entries(event.c ?? {})) {
    const before = next.get(entity);
    if (before === undefined) {
      unmatched.push(entity);
      continue;
    }
    const state = changed(before, diff);
    next.set(entity, state);
    touched.push(state);
  }
  const removed = (event.r ?? []).filter((entity) => next.delete(entity));
  return { states: next, changed: touched, removed, unmatched };
}
