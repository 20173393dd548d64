import type { EntityId } from '../../model/index.ts';
import type { Log, PublishedState } from '../../ports/index.ts';
import { asFailure, type CallFailure } from './deadline.ts';
import type { Rest } from './rest.ts';

/**
 * Posts under way together: enough to hide the way there and back, few enough not to crowd the hub. The first of a round
 * goes alone, so that a token refused by now is refused once.
 */
const AT_ONCE = 6;

/**
 * Posts states and remembers them. Only what differs from what was last posted goes out; what could not be posted waits
 * for the next occasion, in the order first published, the newest state of each entity only.
 */
export class Publisher {
  readonly #rest: Rest;
  readonly #log: Log;
  readonly #isOpen: () => boolean;
  readonly #onStuck: () => void;
  readonly #wanted = new Map<EntityId, { readonly state: PublishedState; readonly text: string }>();
  readonly #posted = new Map<EntityId, string>();
  /** Refused by the hub for good: not posted again, and not shown either. */
  readonly #untaken = new Set<EntityId>();
  #work: Promise<void> | null = null;
  #toldFailure = false;

  /** `onStuck`: something was not posted although the link is there; flush again later. */
  constructor(rest: Rest, log: Log, isOpen: () => boolean, onStuck: () => void) {
    this.#rest = rest;
    this.#log = log;
    this.#isOpen = isOpen;
    this.#onStuck = onStuck;
  }

  hasPosted(entity: EntityId): boolean {
    return this.#posted.has(entity);
  }

  /**
   * Resolves when everything was tried; what failed is tried again with the next call. True when each of these states,
   * or a newer one of the same entity, is what the hub shows now.
   */
  async publish(states: readonly PublishedState[]): Promise<boolean> {
    for (const state of states) {
      const text = JSON.stringify([state.state, state.attributes]);
      this.#wanted.set(state.entity, { state, text });
    }
    await this.flush();
    return states.every(({ entity }) => {
      const posted = this.#posted.get(entity);
      return posted !== undefined && posted === this.#wanted.get(entity)?.text && !this.#untaken.has(entity);
    });
  }

  /** After a restart the hub holds none of ours; that one is not posted again until it is asked for. */
  forgetPosted(but: EntityId): void {
    this.#posted.clear();
    this.#wanted.delete(but);
  }

  /** One poster at a time; what is published while it works is picked up by it. */
  flush(): Promise<void> {
    this.#work ??= this.#postAll();
    return this.#work;
  }

  #open(): readonly EntityId[] {
    return [...this.#wanted]
      .filter(([entity, { text }]) => this.#posted.get(entity) !== text)
      .map(([entity]) => entity);
  }

  async #postAll(): Promise<void> {
    // First let `flush` note that this is going on.
    await Promise.resolve();
    let goOn = true;
    for (let open = this.#open(); goOn && open.length > 0; open = this.#open()) {
      // Each once a round, so that one that changes all the time cannot keep the others waiting.
      for (let next = 0, size = 1; goOn && next < open.length; next += size, size = AT_ONCE) {
        const some = open.slice(next, next + size);
        const posted = await Promise.all(some.map((entity) => this.#isOpen() && this.#postOne(entity)));
        goOn = !posted.includes(false);
      }
    }
    this.#work = null;
  }

  /** False when there is no use in going on now. */
  async #postOne(entity: EntityId): Promise<boolean> {
    const wanted = this.#wanted.get(entity);
    if (wanted === undefined) return true;
    const { state, attributes } = wanted.state;
    try {
      await this.#rest.post(`/api/states/${entity}`, { state, attributes });
      this.#posted.set(entity, wanted.text);
      this.#untaken.delete(entity);
      this.#toldFailure = false;
      return true;
    } catch (error) {
      return this.#onFailure(entity, wanted.text, asFailure(error));
    }
  }

  #onFailure(entity: EntityId, text: string, failure: CallFailure): boolean {
    if (failure.kind === 'refused' && failure.code === '400') {
      // This text will never be taken; holding on to it would block the rest.
      this.#posted.set(entity, text);
      this.#untaken.add(entity);
      this.#log.warn(`hub: ${entity} was not taken: ${failure.message}`);
      return true;
    }
    if (!this.#toldFailure) this.#log.warn(`hub: ${entity} could not be published yet: ${failure.message}`);
    this.#toldFailure = true;
    if (this.#isOpen()) this.#onStuck();
    return false;
  }
}
