import type { EntityId } from '../../model/index.ts';
import {
  applyCompressed,
  type CompressedEvent,
  type EntityMap,
  type EntityState,
  type Observation,
  type Reading,
  stateValue,
  toObservation,
  toReading,
} from '../../observe/index.ts';
import type { HubChange, HubHandlers } from '../../ports/index.ts';
import type { InstantMs } from '../../units/index.ts';
import type { Names } from './names.ts';
import type { HubEntities } from './options.ts';

/** Times a feed needs: ours for when something came in, the hub's for what it cannot date itself. */
export type FeedClocks = { readonly now: () => InstantMs; readonly hubNow: () => InstantMs };

/**
 * Our own map of entity states, built anew from the first snapshot of every connection. Until `goLive` it only follows
 * what the hub says; nothing is passed on while a hub is starting.
 */
export class Feed {
  readonly #entities: HubEntities;
  readonly #observed: ReadonlySet<EntityId>;
  readonly #read: ReadonlySet<EntityId>;
  readonly #watched: ReadonlySet<EntityId>;
  readonly #clocks: FeedClocks;
  readonly #names: Names;
  readonly #onOutOfStep: (entities: readonly EntityId[]) => void;
  readonly #later: (fn: () => void) => () => void;
  /** Gone, but perhaps only renamed: when they went, and how to forget it. */
  readonly #gone = new Map<EntityId, { readonly at: InstantMs; readonly forget: () => void }>();
  readonly #moving = new Set<EntityId>();
  #handlers: HubHandlers | null = null;
  #states: EntityMap = new Map();
  #run = 0;

  /** `later` runs something once it is sure that an entity that went was not merely renamed. */
  constructor(
    { entities, names, clocks }: { readonly entities: HubEntities; readonly names: Names; readonly clocks: FeedClocks },
    onOutOfStep: (entities: readonly EntityId[]) => void,
    later: (fn: () => void) => () => void,
  ) {
    this.#entities = entities;
    this.#names = names;
    this.#later = later;
    this.#observed = new Set(entities.observe);
    this.#read = new Set(entities.readings);
    this.#watched = new Set([...entities.commandable, ...entities.drivers]);
    this.#clocks = clocks;
    this.#onOutOfStep = onOutOfStep;
  }

  get states(): EntityMap {
    return this.#states;
  }

  /** Forgets everything and takes the next event as the snapshot. */
  begin(): { readonly take: (event: CompressedEvent) => void; readonly snapshot: Promise<EntityMap> } {
    this.#states = new Map();
    this.#handlers = null;
    this.#forgetGone();
    this.#run += 1;
    const run = this.#run;
    const snapshot = Promise.withResolvers<EntityMap>();
    return {
      take: (event) => {
        if (run !== this.#run) return;
        this.#take(event);
        snapshot.resolve(this.#states);
      },
      snapshot: snapshot.promise,
    };
  }

  /** Passes on the present state of everything, then each change as it comes. A missing entity is a gap. */
  goLive(handlers: HubHandlers): void {
    this.#handlers = handlers;
    const { readings } = this.#entities;
    handlers.onObservations(this.present());
    handlers.onReadings(readings.map((entity) => this.readingOf(entity)));
  }

  /** The present state of everything that is counted. */
  present(): readonly Observation[] {
    const now = this.#clocks.now();
    return this.#entities.observe.map((entity) => this.#observation(entity, now));
  }

  stop(): void {
    this.#handlers = null;
    this.#forgetGone();
    this.#run += 1;
  }

  /** Entities that got another name: their next event, on a subscription of its own, joins the present stream. */
  join(entities: readonly EntityId[]): (event: CompressedEvent) => void {
    const run = this.#run;
    for (const entity of entities) if (this.#gone.has(entity)) this.#moving.add(entity);
    return (event) => {
      if (run === this.#run) this.#take(event);
    };
  }

  #forgetGone(): void {
    for (const { forget } of this.#gone.values()) forget();
    this.#gone.clear();
    this.#moving.clear();
  }

  readingOf(entity: EntityId): Reading {
    const state = this.#states.get(entity);
    if (state !== undefined) return toReading(state);
    const at = this.#clocks.hubNow();
    return { entity, value: null, changedAt: at, reportedAt: at };
  }

  #observation(entity: EntityId, receivedAt: InstantMs): Observation {
    const state = this.#states.get(entity);
    if (state !== undefined) return toObservation(state, 'live', receivedAt);
    return { entity, value: null, at: this.#clocks.hubNow(), receivedAt, origin: 'live' };
  }

  #take(raw: CompressedEvent): void {
    const before = this.#states;
    const event = this.#names.translate(raw);
    const { states, changed, removed, unmatched } = applyCompressed(before, event);
    this.#states = states;
    if (unmatched.length > 0) this.#onOutOfStep(unmatched);
    const handlers = this.#handlers;
    if (handlers === null) return;
    const now = this.#clocks.now();
    const moved = changed.filter((state) => hasMoved(before.get(state.entity), state));
    const observed = moved.map((state) => state.entity).filter((id) => this.#observed.has(id));
    for (const entity of observed) this.#tellGone(entity, now);
    const read = [...changed.map((state) => state.entity), ...removed].filter((id) => this.#read.has(id));
    if (observed.length > 0) handlers.onObservations(observed.map((entity) => this.#observation(entity, now)));
    if (read.length > 0) handlers.onReadings(read.map((entity) => this.readingOf(entity)));
    for (const state of moved) if (this.#watched.has(state.entity)) handlers.onChange(toChange(state));
    for (const entity of removed) if (this.#watched.has(entity)) handlers.onChange(this.#goneChange(entity));
    for (const entity of removed) if (this.#observed.has(entity)) this.#noteGone(entity);
  }

  /** What went is a gap, but one that comes back at once under another name never went. */
  #noteGone(entity: EntityId): void {
    this.#gone.get(entity)?.forget();
    const at = this.#clocks.hubNow();
    const forget = this.#later(() => {
      this.#gone.delete(entity);
      const receivedAt = this.#clocks.now();
      if (!this.#states.has(entity))
        this.#handlers?.onObservations([{ entity, value: null, at, receivedAt, origin: 'live' }]);
    });
    this.#gone.set(entity, { at, forget });
  }

  /** It is back: unless it merely changed its name, the gap in between is told before. */
  #tellGone(entity: EntityId, receivedAt: InstantMs): void {
    const gone = this.#gone.get(entity);
    if (gone === undefined) return;
    gone.forget();
    this.#gone.delete(entity);
    const back = this.#states.get(entity)?.lastChanged ?? receivedAt;
    if (back <= gone.at || this.#moving.delete(entity)) return;
    this.#handlers?.onObservations([{ entity, value: null, at: gone.at, receivedAt, origin: 'live' }]);
  }

  #goneChange(entity: EntityId): HubChange {
    return { entity, value: null, at: this.#clocks.hubNow(), userId: null, contextId: '' };
  }
}

/** An update of attributes alone moves nothing. */
function hasMoved(before: EntityState | undefined, after: EntityState): boolean {
  return before === undefined || before.lastChanged !== after.lastChanged || before.state !== after.state;
}

function toChange(state: EntityState): HubChange {
  return {
    entity: state.entity,
    value: stateValue(state.state),
    at: state.lastChanged,
    userId: state.userId,
    contextId: state.contextId,
  };
}
