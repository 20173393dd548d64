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

/**
 * Makes the helper buttons that are missing, once: a button is known by its storage id, so neither a restart of ours nor
 * a new name given by the keeper makes a second one. Gives our name → entity id, which the hub chooses.
 */
export async function makeButtons(
  link: Link,
  prefix: string,
  buttons: readonly ButtonDef[],
): Promise<ReadonlyMap<string, EntityId>> {
  if (buttons.length === 0) return new Map();
  const present = new Map((await link.call<Helper[]>({ type: 'input_button/list' })).map((item) => [item.id, item]));
  const ids = new Map<string, string>();
  for (const def of buttons) {
    const id = storageId(prefix, def.button);
    ids.set(def.button, present.has(id) ? id : await createButton(link, prefix, def));
  }
  const registry = await link.call<RegistryEntry[]>({ type: 'config/entity_registry/list' });
  const entities = new Map(
    registry.filter(({ platform }) => platform === 'input_button').map((entry) => [entry.unique_id, entry.entity_id]),
  );
  return new Map([...ids].map(([button, id]) => [button, entities.get(id) ?? `input_button.${id}`]));
}

async function createButton(link: Link, prefix: string, { button, name, icon }: ButtonDef): Promise<string> {
  // Created under its own name so that the hub makes the id from that, then given the name people read.
  const made = await link.call<Helper>(message('input_button/create', { name: `${prefix} ${button}`, icon }));
  await link.call(message('input_button/update', { input_button_id: made.id, name, icon })).catch((error: unknown) => {
    // Only the wording suffers.
    if (asFailure(error).kind !== 'refused') throw error;
  });
  return made.id;
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
      if (button === undefined || old?.state === state.state || !isNewPress(state)) continue;
      this.#onPress({
        kind: 'button',
        button,
        at: state.lastChanged,
        receivedAt: this.#now(),
        userId: state.userId,
      });
    }
  }
}

function isNewPress(state: EntityState): boolean {
  const pressedAt = Date.parse(state.state);
  return Number.isFinite(pressedAt) && Math.abs(state.lastChanged - pressedAt) <= PRESS_IS_NEW_MS;
}
