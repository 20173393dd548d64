// How states and events look on the wire: the long JSON form and the compressed one of entity subscriptions.
import type { InstantMs } from '../../units/index.ts';
import type { Attributes, EntityState, HubContext, HubEvent, StateChange } from './states.ts';

/** The hub writes microseconds. */
export function isoText(at: InstantMs): string {
  const whole = Math.floor(at);
  const micro = Math.floor((at - whole) * 1000 + 1e-6);
  return `${new Date(whole).toISOString().slice(0, -1)}${String(micro).padStart(3, '0')}+00:00`;
}

export function secondsOf(at: InstantMs): number {
  return Math.round(at * 1000) / 1_000_000;
}

const longContext = (context: HubContext): Attributes => ({
  id: context.id,
  parent_id: context.parentId,
  user_id: context.userId,
});

export function longState(state: EntityState): Attributes {
  return {
    entity_id: state.entity,
    state: state.state,
    attributes: state.attributes,
    last_changed: isoText(state.lastChanged),
    last_reported: isoText(state.lastReported),
    last_updated: isoText(state.lastUpdated),
    context: longContext(state.context),
  };
}

export function longEvent(event: HubEvent): Attributes {
  return {
    event_type: event.type,
    data: event.data,
    origin: 'LOCAL',
    time_fired: isoText(event.at),
    context: longContext(event.context),
  };
}

export function stateChangedData(change: StateChange): Attributes {
  return {
    entity_id: change.entity,
    old_state: change.old === null ? null : longState(change.old),
    new_state: change.next === null ? null : longState(change.next),
  };
}

/** A bare id where nobody is named, else an object. */
function shortContext(context: HubContext): unknown {
  return context.userId === null && context.parentId === null ? context.id : longContext(context);
}

function shortState(state: EntityState): Attributes {
  return {
    s: state.state,
    a: state.attributes,
    c: shortContext(state.context),
    lc: secondsOf(state.lastChanged),
    ...(state.lastUpdated === state.lastChanged ? {} : { lu: secondsOf(state.lastUpdated) }),
  };
}

export function shortSnapshot(states: readonly EntityState[]): Attributes {
  return { a: Object.fromEntries(states.map((state) => [state.entity, shortState(state)])) };
}

export function shortChange(change: StateChange): Attributes {
  const { old, next, entity } = change;
  if (next === null) return { r: [entity] };
  if (old === null) return { a: { [entity]: shortState(next) } };
  const plus: Record<string, unknown> = {};
  if (old.state !== next.state) plus['s'] = next.state;
  if (old.lastChanged !== next.lastChanged) plus['lc'] = secondsOf(next.lastChanged);
  else if (old.lastUpdated !== next.lastUpdated) plus['lu'] = secondsOf(next.lastUpdated);
  const context = contextDiff(old.context, next.context);
  if (context !== undefined) plus['c'] = context;
  const added = Object.entries(next.attributes).filter(
    ([key, value]) => JSON.stringify(old.attributes[key]) !== JSON.stringify(value),
  );
  if (added.length > 0) plus['a'] = Object.fromEntries(added);
  const removed = Object.keys(old.attributes).filter((key) => !Object.hasOwn(next.attributes, key));
  return { c: { [entity]: { '+': plus, ...(removed.length > 0 ? { '-': { a: removed } } : {}) } } };
}

/** Only what differs: a second press by the same person carries the bare new id, since the user did not change. */
function contextDiff(old: HubContext, next: HubContext): unknown {
  const diff: Record<string, unknown> = {};
  if (old.parentId !== next.parentId) diff['parent_id'] = next.parentId;
  if (old.userId !== next.userId) diff['user_id'] = next.userId;
  if (old.id === next.id) return Object.keys(diff).length > 0 ? diff : undefined;
  return Object.keys(diff).length > 0 ? { ...diff, id: next.id } : next.id;
}
