// The hub's entity registry: which entity has which unique id, and renames.
import { idText, type Prng } from '../random.ts';
import type { States } from './states.ts';

export type RegistryEntry = {
  readonly id: string;
  readonly entity: string;
  readonly uniqueId: string;
  readonly platform: string;
  readonly name: string;
};

export type Registry = {
  add(entry: Omit<RegistryEntry, 'id'>): void;
  remove(entity: string): void;
  has(entity: string): boolean;
  all(): readonly RegistryEntry[];
  /** Gives the entity another id in the hub, as a keeper may; its state moves along. */
  rename(entity: string, to: string): void;
  /** What an entity that was made under this name is called now. */
  nameOf(made: string): string;
  /** Under which name the entity that is called this now was made. */
  madeAs(entity: string): string;
};

export function createRegistry(states: States, random: Prng): Registry {
  const entries = new Map<string, RegistryEntry>();
  const names = new Map<string, string>();
  const madeAs = (entity: string): string => [...names].find(([, name]) => name === entity)?.[0] ?? entity;
  const tell = (action: string, entity: string, more: Readonly<Record<string, unknown>> = {}): void => {
    states.fire('entity_registry_updated', { action, entity_id: entity, ...more });
  };
  return {
    add(entry) {
      if (entries.has(entry.entity)) return;
      entries.set(entry.entity, { ...entry, id: idText(random, 32).toLowerCase() });
      tell('create', entry.entity);
    },
    remove(entity) {
      if (entries.delete(entity)) tell('remove', entity);
    },
    has: (entity) => entries.has(entity),
    all: () => [...entries.values()],
    nameOf: (made) => names.get(made) ?? made,
    madeAs,
    rename(entity, to) {
      const entry = entries.get(entity);
      if (entry === undefined || entries.has(to)) return;
      names.set(madeAs(entity), to);
      entries.delete(entity);
      entries.set(to, { ...entry, entity: to });
      const state = states.get(entity);
      if (state !== undefined) {
        states.remove(entity);
        states.set(to, state.state, state.attributes);
      }
      // The hub names the old value in `changes`, the new one beside it.
      tell('update', to, { old_entity_id: entity, changes: { entity_id: entity } });
    },
  };
}

export function registryRow(entry: RegistryEntry): Readonly<Record<string, unknown>> {
  return {
    id: entry.id,
    entity_id: entry.entity,
    unique_id: entry.uniqueId,
    platform: entry.platform,
    original_name: entry.name,
    name: null,
    icon: null,
    area_id: null,
    device_id: null,
    config_entry_id: null,
    disabled_by: null,
    hidden_by: null,
    entity_category: null,
    has_entity_name: false,
    options: {},
    labels: [],
    categories: {},
    translation_key: null,
  };
}

/** The short form of the list for displays: what a page needs to name an entity. */
export function registryDisplay(entries: readonly RegistryEntry[]): unknown {
  return {
    entity_categories: { '0': 'config', '1': 'diagnostic' },
    entities: entries.map((entry) => ({ ei: entry.entity, pl: entry.platform, en: entry.name, lb: [] })),
  };
}
