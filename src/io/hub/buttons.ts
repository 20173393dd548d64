import type { EntityId } from '../../model/index.ts';
import { applyCompressed, type CompressedEvent, type EntityMap, type EntityState } from '../../observe/index.ts';
import type { ButtonDef, HubPress, Log } from '../../ports/index.ts';
import type { InstantMs } from '../../units/index.ts';
import { asFailure } from './deadline.ts';
import type { Link } from './link.ts';

type Helper = { readonly id: string; readonly name: string; readonly icon?: string };
type RegistryEntry = { readonly entity_id: EntityId; readonly platform: string; readonly unique_id: string };

/** The hub makes a helper's storage id from the name it is created with, and keeps it when the helper is renamed. */
function storageId(prefix: string, button: string): string {
  return `${prefix} ${button}`
    .toLowerCase()
    .replaceAll(/[^a-z0-9]+/g, '_')
    .replaceAll(/^_+|_+$/g, '');
}

const domainOf = ({ isField }: ButtonDef): 'input_button' | 'input_text' => (isField ? 'input_text' : 'input_button');

/** Long enough for any figure with its unit. Empty after a restart of the hub: what stood there answers nothing any more. */
const FIELD = { min: 0, max: 24, initial: '', mode: 'text' } as const;

/**
 * Makes the helper buttons and fields that are missing, once: each is known by its storage id, so neither a restart of
 * ours nor a new name given by the keeper makes a second one. Gives our name → entity id, which the hub chooses.
 */
export async function makeButtons(
  link: Link,
  prefix: string,
  buttons: readonly ButtonDef[],
): Promise<ReadonlyMap<string, EntityId>> {
  if (buttons.length === 0) return new Map();
  const ids = new Map<string, { readonly platform: string; readonly id: string }>();
  for (const platform of new Set(buttons.map(domainOf))) {
    const present = new Set((await link.call<Helper[]>({ type: `${platform}/list` })).map((item) => item.id));
    for (const def of buttons.filter((one) => domainOf(one) === platform)) {
      const id = storageId(prefix, def.button);
      ids.set(def.button, { platform, id: present.has(id) ? id : await createButton(link, prefix, def) });
    }
  }
  const registry = await link.call<RegistryEntry[]>({ type: 'config/entity_registry/list' });
  const entities = new Map(registry.map((entry) => [`${entry.platform} ${entry.unique_id}`, entry.entity_id]));
  return new Map(
    buttons.flatMap(({ button }) => {
      const made = ids.get(button);
      if (made === undefined) return [];
      return [[button, entities.get(`${made.platform} ${made.id}`) ?? `${made.platform}.${made.id}`] as const];
    }),
  );
}

async function createButton(link: Link, prefix: string, def: ButtonDef): Promise<string> {
  const { button, name, icon } = def;
  const platform = domainOf(def);
  const fields = { icon, ...(def.isField ? FIELD : {}) };
  // Created under its own name so that the hub makes the id from that, then given the name people read.
  const made = await link.call<Helper>(message(`${platform}/create`, { name: `${prefix} ${button}`, ...fields }));
  await link
    .call(message(`${platform}/update`, { [`${platform}_id`]: made.id, name, ...fields }))
    .catch((error: unknown) => {
      // Only the wording suffers.
      if (asFailure(error).kind !== 'refused') throw error;
    });
  return made.id;
}

/** Takes away what was typed into a field. */
export async function emptyText(link: Link, entity: EntityId): Promise<void> {
  const call = { domain: 'input_text', service: 'set_value', service_data: { value: '' } };
  await link.call(message('call_service', { ...call, target: { entity_id: entity } }));
}

function message(type: string, fields: Readonly<Record<string, unknown>>): { type: string } {
  return { type, ...fields };
}

/** A press is told within this of being made; anything older is a remembered one. */
const PRESS_IS_NEW_MS = 5_000;

/**
 * Follows our buttons. A button's state is the time of its last press, so a value that comes back after a restart of the
 * hub, a reload of its helpers or a reconnect is older than its own change and is not a press.
 */
export class ButtonFeed {
  readonly #onPress: (press: HubPress) => void;
  readonly #now: () => InstantMs;
  readonly #log: Log;
  #states: EntityMap = new Map();
  #names: ReadonlyMap<EntityId, string> = new Map();
  #stopOld: () => void = () => undefined;
  #run = 0;
  /** The first event is the present state of everything, also of a button pressed a second ago. */
  #hasSnapshot = false;
  #onSnapshot: () => void = () => undefined;

  constructor(onPress: (press: HubPress) => void, now: () => InstantMs, log: Log) {
    this.#onPress = onPress;
    this.#now = now;
    this.#log = log;
  }

  /**
   * Ends the previous subscription and follows these entities on the present connection. Resolves once their present state
   * is known: a press before that would be taken for a remembered one.
   */
  async follow(link: Link, buttons: ReadonlyMap<string, EntityId>): Promise<void> {
    this.stop();
    this.#names = new Map([...buttons].map(([button, entity]) => [entity, button]));
    const run = this.#run;
    if (this.#names.size === 0) return;
    const snapshot = new Promise<void>((resolve) => {
      this.#onSnapshot = resolve;
    });
    const request = { type: 'subscribe_entities', entity_ids: [...this.#names.keys()] };
    this.#stopOld = await link.subscribe<CompressedEvent>(request, (event) => {
      if (run === this.#run) this.#take(event);
    });
    await snapshot;
  }

  stop(): void {
    this.#run += 1;
    this.#states = new Map();
    this.#hasSnapshot = false;
    this.#stopOld();
    this.#stopOld = () => undefined;
    this.#onSnapshot();
  }

  #take(event: CompressedEvent): void {
    const before = this.#states;
    const { states, changed, unmatched } = applyCompressed(before, event);
    this.#states = states;
    if (!this.#hasSnapshot) {
      this.#hasSnapshot = true;
      this.#onSnapshot();
      return;
    }
    if (unmatched.length > 0) this.#log.warn(`hub: a change of ${unmatched.join(', ')} could not be placed`);
    for (const state of changed) {
      const old = before.get(state.entity);
      const button = this.#names.get(state.entity);
      if (button === undefined || old?.state === state.state) continue;
      if (state.entity.startsWith('input_text.')) this.#typed(button, state);
      else if (isNewPress(state)) this.#pressed(button, state);
    }
  }

  /** A field that is gone for a moment, as while the hub loads its helpers anew, holds nothing. */
  #typed(field: string, { state, lastChanged, userId }: EntityState): void {
    const text = state === 'unknown' || state === 'unavailable' ? '' : state;
    this.#onPress({ kind: 'typed', field, text, at: lastChanged, receivedAt: this.#now(), userId });
  }

  #pressed(button: string, state: EntityState): void {
    this.#onPress({
      kind: 'button',
      button,
      at: state.lastChanged,
      receivedAt: this.#now(),
      userId: state.userId,
    });
  }
}

function isNewPress(state: EntityState): boolean {
  const pressedAt = Date.parse(state.state);
  return Number.isFinite(pressedAt) && Math.abs(state.lastChanged - pressedAt) <= PRESS_IS_NEW_MS;
}
