import type { EntityId } from '../../model/index.ts';
import type { Clock, System, Timers } from '../../ports/index.ts';
import type { DurationMs, InstantMs } from '../../units/index.ts';

/** Which entities the edge may look at, and which few it may switch. All come from the configuration. */
export type HubEntities = {
  /** Delivered as observations: what counters and standings are made from. */
  readonly observe: readonly EntityId[];
  /** Delivered as readings with their report time: what sessions prove steps with. */
  readonly readings: readonly EntityId[];
  /** Plugs the one gate may switch. */
  readonly commandable: readonly EntityId[];
  /** Those of them a light programme may switch; absent = none. */
  readonly lamps?: readonly EntityId[];
  /** Automations, schedules and thermostats the one gate may suspend and resume. */
  readonly drivers: readonly EntityId[];
};

/** What the edge uses of a WebSocket; Node's own fits. */
export type SocketLike = Pick<
  WebSocket,
  'OPEN' | 'readyState' | 'send' | 'close' | 'addEventListener' | 'removeEventListener'
>;

/** One text in the service's store. */
export type SourceMemory = { read(): string | null; write(text: string): void };

export type HubOptions = {
  /** `http://` or `https://` address of the hub, with its port. */
  readonly url: string;
  readonly token: string;
  /** Prefix of every state and helper we keep in the hub. */
  readonly prefix: string;
  readonly entities: HubEntities;
  readonly system: System;
  /** Real time for deadlines, retries and how quick the hub is, where `system` runs on an accelerated clock. */
  readonly linkTimers?: Timers;
  readonly linkClock?: Pick<Clock, 'monotonicMs'>;
  /** When the service last had the link, from its store; null = never. Lets the first `up` tell a hub restart. */
  readonly lastSeenAt?: InstantMs | null;
  /** Whether an earlier run of the service left its mark in the hub: its absence then tells a restart. */
  readonly hadMark?: boolean;
  readonly keepAliveMs?: DurationMs;
  /** A ping not answered within this ends the connection. */
  readonly pongMs?: DurationMs;
  /** For every command and REST call. */
  readonly deadlineMs?: DurationMs;
  readonly openMs?: DurationMs;
  readonly authMs?: DurationMs;
  /** Waited after RUNNING when the hub has only just started, since entities still jump then. */
  readonly settleMs?: DurationMs;
  /** First wait between tries; grows to `retryMaxMs`. */
  readonly retryMs?: DurationMs;
  readonly retryMaxMs?: DurationMs;
  /** How long history waits for rows the recorder has not written yet. */
  readonly recorderMs?: DurationMs;
  /** Where it is kept which device stands behind each name, so that a rename in the hub is followed over a restart of ours. */
  readonly sources?: SourceMemory;
  /** An entity that is gone is told as a gap only after this: one that was renamed is gone for a moment. */
  readonly goneMs?: DurationMs;
  /** How often the clocks are compared while the link is up. */
  readonly skewEveryMs?: DurationMs;
  /** Opened by the "open" action of a notification. */
  readonly openPath?: string;
  /** Another way to get a socket: for tests. */
  readonly openSocket?: (url: string) => SocketLike;
  /** Another way to ask over REST: for tests. */
  readonly fetch?: typeof fetch;
};

/** Options with every default filled in. */
export type HubSetup = Required<HubOptions> & {
  /** Entity whose absence after a reconnect tells that the hub restarted: posted states do not survive that. */
  readonly marker: EntityId;
};

const SECOND_MS = 1_000;

export function fillOptions(options: HubOptions): HubSetup {
  return {
    linkTimers: options.system.timers,
    linkClock: options.system.clock,
    lastSeenAt: null,
    hadMark: false,
    keepAliveMs: 20 * SECOND_MS,
    pongMs: 5 * SECOND_MS,
    deadlineMs: 10 * SECOND_MS,
    openMs: 15 * SECOND_MS,
    authMs: 45 * SECOND_MS,
    settleMs: 10 * SECOND_MS,
    retryMs: 500,
    retryMaxMs: 15 * SECOND_MS,
    recorderMs: 30 * SECOND_MS,
    sources: ownMemory(),
    goneMs: SECOND_MS,
    skewEveryMs: 3_600 * SECOND_MS,
    openPath: '/slackwater',
    openSocket: (url) => new WebSocket(url),
    fetch,
    ...options,
    url: options.url.replace(/\/+$/, ''),
    marker: `sensor.${options.prefix}_service`,
  };
}

function ownMemory(): SourceMemory {
  let kept: string | null = null;
  return {
    read: () => kept,
    write: (text) => {
      kept = text;
    },
  };
}
