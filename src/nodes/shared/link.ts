import { setTimeout as delay } from 'node:timers/promises';
import { eventsOf, type TextEvent } from './event-text.ts';
import { eventIn, isRecord, type WireEvent } from './wire.ts';

export type LinkState =
  | { readonly kind: 'connecting' }
  | { readonly kind: 'up' }
  | { readonly kind: 'down'; readonly since: number }
  | { readonly kind: 'refused'; readonly text: string };

export type LinkListener = {
  onState(state: LinkState): void;
  onEvent?(event: WireEvent): void;
  /** After every connect, and when the service says that events were missed: read what you need anew. */
  onResync?(): void;
};

/** The service's own refusal, in its words. */
export class ServiceRefusal extends Error {
  override readonly name = 'ServiceRefusal';
  readonly code: string;
  constructor(code: string, message: string) {
    super(message);
    this.code = code;
  }
}

export type ServiceLink = {
  /** One request with a deadline. Rejects with words fit to show; they never hold the credential. */
  ask(method: 'GET' | 'POST', path: string, body?: Readonly<Record<string, unknown>>): Promise<unknown>;
  /** The first listener opens the one event connection, the last one to leave closes it. Returns how to leave. */
  listen(listener: LinkListener): () => void;
  close(): void;
};

export type LinkOptions = {
  readonly url: string;
  readonly token: string;
  readonly say: { info(text: string): void; warn(text: string): void };
  /** Waits, in ms; tests shorten them. */
  readonly waits?: Partial<LinkWaits>;
};

export type LinkWaits = {
  readonly firstRetry: number;
  readonly longestRetry: number;
  /** A refused credential is tried again rarely: it works again by itself once the service knows it. */
  readonly afterRefusal: number;
  /** The service sends a sign of life every 15 s; without one for this long the link is dead. */
  readonly silence: number;
  readonly deadline: number;
  readonly longDeadline: number;
};

const WAITS: LinkWaits = {
  firstRetry: 1_000,
  longestRetry: 30_000,
  afterRefusal: 60_000,
  silence: 45_000,
  deadline: 10_000,
  longDeadline: 60_000,
};

/** Checked before use, since a header of other characters would be quoted whole in the runtime's own error. */
const SENDABLE = /^[A-Za-z0-9._~+/=-]+$/;

export function serviceLink(options: LinkOptions): ServiceLink {
  const waits: LinkWaits = { ...WAITS, ...options.waits };
  const base = options.url.trim().replace(/\/+$/, '');
  const closed = new AbortController();
  const listeners = new Set<LinkListener>();
  let state: LinkState = { kind: 'connecting' };
  let connection: AbortController | null = null;

  const headers = (): Record<string, string> => {
    if (options.token === '') throw new ServiceRefusal('no-credential', 'No credential is set in the service node.');
    if (!SENDABLE.test(options.token)) throw new ServiceRefusal('wrong-credential', 'The credential is malformed.');
    return { authorization: `Bearer ${options.token}` };
  };
  const tell = (what: (listener: LinkListener) => void): void => {
    for (const listener of listeners) {
      try {
        what(listener);
      } catch (error) {
        // One flow's fault is not the connection's.
        options.say.warn(`a node failed on an event: ${error instanceof Error ? error.message : String(error)}`);
      }
    }
  };
  const enter = (next: LinkState): void => {
    if (next.kind === state.kind) return;
    const text = change(state, next, base);
    if (text !== null) next.kind === 'up' ? options.say.info(text) : options.say.warn(text);
    state = next;
    tell((listener) => listener.onState(state));
  };
  const onText = ({ event, data }: TextEvent): void => {
    if (event === 'ready') enter({ kind: 'up' });
    if (event === 'ready' || event === 'missed') tell((listener) => listener.onResync?.());
    const known = eventIn(event, data);
    if (known !== null) tell((listener) => listener.onEvent?.(known));
  };
  const open = (): void => {
    connection = new AbortController();
    const { signal } = connection;
    void keepConnected(() => follow(base, headers, waits.silence, signal, onText), enter, waits, signal);
  };

  return {
    ask: (method, path, body) => ask(base, headers, closed.signal, waits, method, path, body),
    listen(listener) {
      if (closed.signal.aborted) return () => {};
      listeners.add(listener);
      listener.onState(state);
      if (connection === null) open();
      else if (state.kind === 'up') listener.onResync?.();
      return () => {
        listeners.delete(listener);
        if (listeners.size > 0) return;
        connection?.abort();
        connection = null;
        state = { kind: 'connecting' };
      };
    },
    close() {
      closed.abort();
      connection?.abort();
      connection = null;
      listeners.clear();
    },
  };
}

/** Said once when it is lost and once when it is back; null where nothing is new. */
function change(before: LinkState, now: LinkState, base: string): string | null {
  if (now.kind === 'up') return `connected to the service at ${base}`;
  if (now.kind === 'refused') return now.text;
  if (now.kind !== 'down' || before.kind === 'refused') return null;
  return before.kind === 'up'
    ? `the service at ${base} is lost; trying again`
    : `the service at ${base} does not answer`;
}

/** One connection from open to loss; returns or throws when it is lost. */
async function follow(
  base: string,
  headers: () => Record<string, string>,
  silenceMs: number,
  signal: AbortSignal,
  onText: (event: TextEvent) => void,
): Promise<void> {
  const silent = new AbortController();
  const watch = (): NodeJS.Timeout => setTimeout(() => silent.abort(), silenceMs);
  let watchdog = watch();
  try {
    const response = await fetch(`${base}/v1/events`, {
      headers: { ...headers(), accept: 'text/event-stream' },
      redirect: 'error',
      signal: AbortSignal.any([signal, silent.signal]),
    });
    if (!response.ok || response.body === null) throw await refusalIn(response);
    const alive = (): void => {
      clearTimeout(watchdog);
      watchdog = watch();
    };
    for await (const event of eventsOf(response.body, alive)) onText(event);
  } finally {
    clearTimeout(watchdog);
  }
}

async function keepConnected(
  connect: () => Promise<void>,
  enter: (state: LinkState) => void,
  waits: LinkWaits,
  signal: AbortSignal,
): Promise<void> {
  let wait = waits.firstRetry;
  while (!signal.aborted) {
    const openedAt = performance.now();
    const lost = await connect().catch((error: unknown) => error);
    if (signal.aborted) return;
    let pause = waits.afterRefusal;
    if (isCredentialTrouble(lost)) enter({ kind: 'refused', text: lost.message });
    else {
      enter({ kind: 'down', since: Date.now() });
      // A connection that held for a while was a good one: the next try comes soon again.
      if (performance.now() - openedAt > waits.longestRetry) wait = waits.firstRetry;
      // Spread, so that many flows do not come back in the same instant.
      pause = wait * (0.5 + Math.random() / 2);
      wait = Math.min(wait * 2, waits.longestRetry);
    }
    await delay(pause, undefined, { signal }).catch(() => undefined);
  }
}

async function ask(
  base: string,
  headers: () => Record<string, string>,
  closed: AbortSignal,
  waits: LinkWaits,
  method: 'GET' | 'POST',
  path: string,
  body: Readonly<Record<string, unknown>> = {},
): Promise<unknown> {
  const acts = method === 'POST';
  const deadline = AbortSignal.timeout(acts ? waits.longDeadline : waits.deadline);
  try {
    const response = await fetch(`${base}${path}`, {
      method,
      headers: { ...headers(), ...(acts ? { 'content-type': 'application/json' } : {}) },
      body: acts ? JSON.stringify(body) : null,
      redirect: 'error',
      signal: AbortSignal.any([closed, deadline]),
    });
    if (!response.ok) throw await refusalIn(response);
    return (await response.json()) as unknown;
  } catch (error) {
    if (error instanceof ServiceRefusal) throw error;
    const outcome = acts ? ' The outcome is unknown: look at the session before sending it again.' : '';
    if (deadline.aborted) throw new Error(`The service at ${base} did not answer in time.${outcome}`);
    if (closed.aborted) throw new Error(`The connection to the service was closed.${outcome}`);
    throw new Error(`The service at ${base} cannot be reached. Is it running, and is the address right?`);
  }
}

async function refusalIn(response: Response): Promise<ServiceRefusal> {
  const answer: unknown = await response.json().catch(() => null);
  const word = (key: string): string => (isRecord(answer) && typeof answer[key] === 'string' ? answer[key] : '');
  const text = `${word('message')} ${word('whatToDo')}`.trim();
  const code = response.status === 401 || response.status === 429 ? 'wrong-credential' : word('code');
  return new ServiceRefusal(code, text === '' ? `The service answered ${response.status}.` : text);
}

function isCredentialTrouble(error: unknown): error is ServiceRefusal {
  return error instanceof ServiceRefusal && ['no-credential', 'wrong-credential'].includes(error.code);
}
