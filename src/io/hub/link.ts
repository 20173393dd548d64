import { type Connection, createConnection, ERR_CONNECTION_LOST, type MessageBase } from 'home-assistant-js-websocket';
import type { DurationMs, InstantMs } from '../../units/index.ts';
import { CallFailure, withDeadline } from './deadline.ts';
import { libraryFailure } from './guard.ts';
import type { HubSetup } from './options.ts';
import type { Pauses } from './pauses.ts';
import { openHubSocket, type SocketTrouble } from './socket.ts';

/** Called in order, never from inside the library, and never while another of them runs. */
export type LinkEvents = {
  onReady(version: string): void;
  onLost(reason: string): void;
  /** Token refused or address banned: nothing is tried again. */
  onRefused(trouble: SocketTrouble): void;
  /** The first connection failed and is being tried again. Told once. */
  onUnreachable(detail: string): void;
};

/**
 * The socket to the hub with what the library lacks: deadlines, keep-alive, no automatic re-subscription, callbacks that
 * only enqueue. `generation` counts connections; work begun in one must not go on in another.
 */
export class Link {
  readonly #setup: HubSetup;
  readonly #pauses: Pauses;
  readonly #events: LinkEvents;
  readonly #queue: (() => void)[] = [];
  #connection: Connection | null = null;
  #trouble: SocketTrouble = { kind: 'unreachable', detail: '' };
  #generation = 0;
  #stopped = false;
  #heardAt = 0;
  #cancelPing: () => void = () => undefined;
  #lostBecause = 'the connection to the hub was lost';

  constructor(setup: HubSetup, pauses: Pauses, events: LinkEvents) {
    this.#setup = setup;
    this.#pauses = pauses;
    this.#events = events;
  }

  get generation(): number {
    return this.#generation;
  }

  get connected(): boolean {
    return this.#connection?.connected === true;
  }

  /** When the last message came in, by our clock. */
  get heardAt(): InstantMs {
    return this.#heardAt;
  }

  /** Makes the first connection, for as long as it takes; later ones are the library's business. */
  async open(): Promise<void> {
    const createSocket = () =>
      openHubSocket(this.#setup, {
        onTrouble: (trouble) => {
          this.#trouble = trouble;
        },
        onHeard: () => {
          this.#heardAt = this.#setup.system.clock.now();
        },
      });
    for (let waitMs = this.#setup.retryMs; !this.#stopped; waitMs = Math.min(waitMs * 2, this.#setup.retryMaxMs)) {
      try {
        this.#adopt(await createConnection({ createSocket }));
        return;
      } catch {
        if (this.#stopped) return;
        const trouble = this.#trouble;
        if (trouble.kind !== 'unreachable') return this.#enqueue(() => this.#events.onRefused(trouble));
        if (waitMs === this.#setup.retryMs) this.#enqueue(() => this.#events.onUnreachable(trouble.detail));
        await this.#pauses.wait(waitMs, 'hub: try to connect again');
      }
    }
  }

  close(): void {
    this.#stopped = true;
    this.#cancelPing();
    this.#connection?.close();
  }

  async call<T>(message: MessageBase, limitMs: DurationMs = this.#setup.deadlineMs): Promise<T> {
    const connection = this.#connection;
    if (connection === null || !connection.connected) throw notConnected();
    const answer = connection.sendMessagePromise<T>({ ...message });
    const id = connection.commandId;
    try {
      return await withDeadline(this.#setup.linkTimers, limitMs, message.type, answer);
    } catch (error) {
      // The library keeps what it waits for until an answer comes, which may be never.
      connection.commands.delete(id);
      throw toFailure(error);
    }
  }

  /**
   * Subscribes on the present connection only; after a drop it is the caller who subscribes again. The returned function
   * ends it and may be called at any time.
   */
  async subscribe<T>(message: MessageBase, onEvent: (event: T) => void): Promise<() => void> {
    const connection = this.#connection;
    if (connection === null || !connection.connected) throw notConnected();
    const generation = this.#generation;
    let given = true;
    const callback = (event: T): void => {
      if (given && generation === this.#generation) this.#enqueue(() => onEvent(event));
    };
    try {
      const work = connection.subscribeMessage<T>(callback, { ...message }, { resubscribe: false });
      const unsubscribe = await withDeadline(this.#setup.linkTimers, this.#setup.deadlineMs, message.type, work);
      return () => {
        if (given && generation === this.#generation) unsubscribe().catch(() => undefined);
        given = false;
      };
    } catch (error) {
      given = false;
      throw toFailure(error);
    }
  }

  #adopt(connection: Connection): void {
    this.#connection = connection;
    if (this.#stopped) {
      connection.close();
      return;
    }
    connection.addEventListener('ready', () => this.#ready());
    connection.addEventListener('disconnected', () => this.#lost());
    connection.addEventListener('reconnect-error', () => {
      const trouble = this.#trouble;
      this.#enqueue(() => this.#events.onRefused(trouble));
    });
    this.#ready();
  }

  #ready(): void {
    this.#generation += 1;
    this.#heardAt = this.#setup.system.clock.now();
    const version = this.#connection?.haVersion ?? '';
    this.#enqueue(() => this.#events.onReady(version));
    this.#planPing(this.#generation);
  }

  #lost(): void {
    this.#generation += 1;
    this.#cancelPing();
    const reason = this.#lostBecause;
    this.#lostBecause = 'the connection to the hub was lost';
    this.#enqueue(() => this.#events.onLost(reason));
  }

  #planPing(generation: number): void {
    this.#cancelPing = this.#pauses.after(
      this.#setup.keepAliveMs,
      'hub: keep-alive',
      () => void this.#ping(generation),
    );
  }

  /** A cut network shows no other sign: without this a dead link looks alive for a quarter of an hour. */
  async #ping(generation: number): Promise<void> {
    try {
      await this.call({ type: 'ping' }, this.#setup.pongMs);
    } catch (error) {
      if (generation === this.#generation) this.drop(`the hub did not answer a ping: ${toFailure(error).message}`);
      return;
    }
    if (generation === this.#generation) this.#planPing(generation);
  }

  /** Gives the present socket up and lets the library connect anew. */
  drop(reason: string): void {
    if (this.#stopped || !this.connected) return;
    this.#lostBecause = reason;
    this.#connection?.reconnect(true);
  }

  /** What a callback throws would make the library drop the rest of the frame, so none of our work runs inside one. */
  #enqueue(work: () => void): void {
    this.#queue.push(work);
    if (this.#queue.length === 1) queueMicrotask(() => this.#drain());
  }

  #drain(): void {
    for (let next = this.#queue[0]; next !== undefined; next = this.#queue[0]) {
      try {
        next();
      } catch (error) {
        this.#setup.system.log.error(`hub: a handler failed: ${error instanceof Error ? error.stack : String(error)}`);
      }
      this.#queue.shift();
    }
  }
}

function notConnected(): CallFailure {
  return new CallFailure('not-sent', 'the hub is not connected');
}

function toFailure(error: unknown): CallFailure {
  if (error instanceof CallFailure) return error;
  if (error === ERR_CONNECTION_LOST) return notConnected();
  const { code, message, type } = error as { readonly code?: unknown; readonly message?: unknown; type?: unknown };
  if (type === 'result') return new CallFailure('lost', 'the connection was lost before the hub answered');
  if (typeof code === 'string') return new CallFailure('refused', String(message ?? code), code);
  return new CallFailure('lost', libraryFailure(error) ?? String(error));
}
