import { problem } from '../../errors/index.ts';
import type { EntityId } from '../../model/index.ts';
import type { CompressedEvent } from '../../observe/index.ts';
import type { Log } from '../../ports/index.ts';
import type { InstantMs } from '../../units/index.ts';
import type { SourceMemory } from './options.ts';

/** What of the hub's registry tells an entity apart for good, whatever it is called. */
export type RegistryRow = {
  readonly id: string;
  readonly entity_id: EntityId;
  readonly unique_id: string;
  readonly platform: string;
};

/** A name the entity had; `until` null = nobody saw when it lost it. */
type Former = { readonly entity: EntityId; readonly until: InstantMs | null };

type Source = {
  readonly id: string;
  readonly uniqueId: string;
  readonly platform: string;
  /** What the hub calls it now. */
  readonly entity: EntityId;
  readonly former: readonly Former[];
};

/** Under which of the hub's names an entity's past is kept; null = up to now. */
export type PastName = { readonly entity: EntityId; readonly until: InstantMs | null };

/**
 * Our names (those of the configuration) and the hub's. They differ once somebody has renamed an entity in the hub: it is
 * then followed by its id in the hub's registry, which is kept over restarts. Everything outside the edge speaks our names.
 */
export class Names {
  readonly #entities: readonly EntityId[];
  readonly #memory: SourceMemory;
  readonly #log: Log;
  readonly #told = new Set<string>();
  #sources: ReadonlyMap<EntityId, Source>;
  #taken: ReadonlySet<EntityId> = new Set();
  #ours: ReadonlyMap<EntityId, readonly EntityId[]> = new Map();

  constructor(entities: readonly EntityId[], memory: SourceMemory, log: Log) {
    this.#entities = entities;
    this.#memory = memory;
    this.#log = log;
    this.#sources = remembered(memory.read());
    this.#index();
  }

  toHub(entity: EntityId): EntityId {
    return this.#sources.get(entity)?.entity ?? entity;
  }

  /** Ours, where the hub's name stands for one or more of the configuration. */
  toOurs(entity: EntityId): readonly EntityId[] {
    // Where one of ours is called otherwise now, its name in the file is nobody's, or a stranger's.
    return this.#ours.get(entity) ?? (this.toHub(entity) === entity ? [entity] : []);
  }

  /** Names under which rows of this entity may lie, the present one first. A former name that another has now is left out. */
  pastNames(entity: EntityId): readonly PastName[] {
    const present = this.toHub(entity);
    const former = (this.#sources.get(entity)?.former ?? []).filter(
      (name) => name.entity !== present && (name.until !== null || !this.#taken.has(name.entity)),
    );
    return [{ entity: present, until: null }, ...former];
  }

  /** The event in our names. */
  translate(event: CompressedEvent): CompressedEvent {
    const keys = <T>(part: Readonly<Record<EntityId, T>>): Record<EntityId, T> =>
      Object.fromEntries(
        Object.entries(part).flatMap(([entity, value]) => this.toOurs(entity).map((ours) => [ours, value])),
      );
    return {
      ...(event.a === undefined ? {} : { a: keys(event.a) }),
      ...(event.c === undefined ? {} : { c: keys(event.c) }),
      ...(event.r === undefined ? {} : { r: event.r.flatMap((entity) => this.toOurs(entity)) }),
    };
  }

  /** Takes the hub's registry as it is now; `renamedAt` where a rename was just told. True when a name has changed. */
  learn(registry: readonly RegistryRow[], renamedAt: InstantMs | null): boolean {
    const before = new Map(this.#entities.map((entity) => [entity, this.toHub(entity)]));
    const found = new Map<EntityId, Source>();
    for (const entity of this.#entities) {
      const source = this.#find(entity, registry, renamedAt);
      if (source !== null) found.set(entity, source);
    }
    this.#sources = found;
    this.#taken = new Set(registry.map((row) => row.entity_id));
    this.#index();
    const text = JSON.stringify(Object.fromEntries(found));
    if (text !== this.#memory.read()) this.#memory.write(text);
    for (const [entity, { entity: now }] of found) if (now !== entity) this.#tellRename(entity, now);
    return this.#entities.some((entity) => before.get(entity) !== this.toHub(entity));
  }

  /** Says once of which entities a rename could not be followed. */
  tellUnfollowed(there: { has(entity: EntityId): boolean }): void {
    const lost = this.#entities.filter((entity) => there.has(entity) && !this.#sources.has(entity));
    const text = lost.join(', ');
    if (lost.length === 0 || this.#told.has(text)) return;
    this.#told.add(text);
    this.#log.info(problem('SW-HUB-016', { entities: text }).message);
  }

  #find(entity: EntityId, registry: readonly RegistryRow[], renamedAt: InstantMs | null): Source | null {
    const known = this.#sources.get(entity);
    const row =
      registry.find(({ id }) => id === known?.id) ??
      registry.find((one) => one.platform === known?.platform && one.unique_id === known?.uniqueId) ??
      registry.find((one) => one.entity_id === entity);
    // Gone from the registry for now: an integration that is being set up again comes back under the same unique id.
    if (row === undefined) return known ?? null;
    const same = known !== undefined && (known.id === row.id || known.uniqueId === row.unique_id);
    // The file has been brought up to date: what was known under the name it had there stays known.
    const earlier = same ? known : [...this.#sources.values()].find(({ id }) => id === row.id);
    return {
      id: row.id,
      uniqueId: row.unique_id,
      platform: row.platform,
      entity: row.entity_id,
      former: formerOf(earlier, row.entity_id, renamedAt),
    };
  }

  #index(): void {
    const ours = new Map<EntityId, EntityId[]>();
    for (const entity of this.#entities) {
      const hub = this.toHub(entity);
      ours.set(hub, [...(ours.get(hub) ?? []), entity]);
    }
    this.#ours = ours;
  }

  #tellRename(entity: EntityId, now: EntityId): void {
    const key = `${entity} ${now}`;
    if (this.#told.has(key)) return;
    this.#told.add(key);
    const { code, message, whatToDo } = problem('SW-HUB-015', { entity, now });
    this.#log.warn(`${code} ${message} ${whatToDo}`);
  }
}

function formerOf(known: Source | undefined, now: EntityId, renamedAt: InstantMs | null): readonly Former[] {
  if (known === undefined) return [];
  if (known.entity === now) return known.former;
  return [{ entity: known.entity, until: renamedAt }, ...known.former.filter(({ entity }) => entity !== now)];
}

function remembered(text: string | null): ReadonlyMap<EntityId, Source> {
  if (text === null) return new Map();
  try {
    return new Map(Object.entries(JSON.parse(text) as Record<EntityId, Source>));
  } catch {
    return new Map();
  }
}
