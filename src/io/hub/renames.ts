import type { EntityId } from '../../model/index.ts';
import type { CompressedEvent } from '../../observe/index.ts';
import type { InstantMs } from '../../units/index.ts';
import { asFailure } from './deadline.ts';
import type { Feed } from './feed.ts';
import type { Link } from './link.ts';
import type { Names, RegistryRow } from './names.ts';

type RegistryEvent = {
  readonly data: {
    readonly action: string;
    readonly entity_id: EntityId;
    readonly old_entity_id?: EntityId;
    /** The values from before. */
    readonly changes?: Readonly<Record<string, unknown>>;
  };
  readonly time_fired?: string;
};

export type RenameDeps = {
  readonly link: Link;
  readonly names: Names;
  readonly feed: Feed;
  readonly entities: readonly EntityId[];
  readonly hubNow: () => InstantMs;
  /** A button of the hub got another name; ours may be among them. */
  readonly onButton: () => void;
  readonly onTrouble: (error: unknown) => void;
};

/** Reads the hub's registry anew; a user who may not is no worse off than before. True when a name has changed. */
export async function learnNames(link: Link, names: Names, renamedAt: InstantMs | null = null): Promise<boolean> {
  try {
    const registry = await link.call<readonly RegistryRow[]>({ type: 'config/entity_registry/list' });
    return names.learn(registry, renamedAt);
  } catch (error) {
    if (asFailure(error).kind !== 'refused') throw error;
    return false;
  }
}

/**
 * Follows renames while they happen. The event tells only old values, so the registry is read again each time; entities
 * under new names are then subscribed to on top, so that the link stays up and a session is not disturbed.
 */
export async function followRenames(deps: RenameDeps): Promise<void> {
  let work: Promise<void> = Promise.resolve();
  await deps.link.subscribe<RegistryEvent>(
    { type: 'subscribe_events', event_type: 'entity_registry_updated' } as never,
    (event) => {
      if (!concernsUs(deps, event)) return;
      work = work.then(() => afterRename(deps, event)).catch(deps.onTrouble);
    },
  );
}

function concernsUs({ entities, names, onButton }: RenameDeps, { data }: RegistryEvent): boolean {
  const told = [data.entity_id, data.old_entity_id].filter((entity) => entity !== undefined);
  if (data.old_entity_id?.startsWith('input_button.')) onButton();
  return entities.some((entity) => told.includes(entity) || told.includes(names.toHub(entity)));
}

async function afterRename(deps: RenameDeps, event: RegistryEvent): Promise<void> {
  const { link, names, feed, entities } = deps;
  const before = new Map(entities.map((entity) => [entity, names.toHub(entity)]));
  const at = Date.parse(event.time_fired ?? '');
  if (!(await learnNames(link, names, Number.isNaN(at) ? deps.hubNow() : at))) return;
  const moved = entities.filter((entity) => before.get(entity) !== names.toHub(entity));
  const request = { type: 'subscribe_entities', entity_ids: moved.map((entity) => names.toHub(entity)) };
  await link.subscribe<CompressedEvent>(request as never, feed.join(moved));
}
