/**
 * A small look into the hub that does not use the product's own connection, so that a test can tell what the hub itself
 * believes. Raw WebSocket and REST; every call has a deadline because a lost reply must end a test, not hang it.
 */
export type HubState = {
  readonly entity_id: string;
  readonly state: string;
  readonly attributes: Readonly<Record<string, unknown>>;
  readonly last_changed: string;
  readonly last_updated: string;
  readonly last_reported: string;
  readonly context: { readonly id: string; readonly user_id: string | null; readonly parent_id: string | null };
};

export type HubCommand = { readonly type: string; readonly [key: string]: unknown };

export type HubClient = {
  readonly url: string;
  readonly token: string;
  call<T = unknown>(command: HubCommand): Promise<T>;
  /** Gives a function that ends the subscription. */
  subscribe(command: HubCommand, onEvent: (event: unknown) => void): Promise<() => Promise<void>>;
  /** Resolves when the hub or we closed the socket. */
  readonly closed: Promise<void>;
  /** Resolves when the hub has let go too. A hub that is told to end before that waits 10 s for the socket. */
  close(): Promise<void>;
};

type Incoming = {
  readonly id?: number;
  readonly type: string;
  readonly success?: boolean;
  readonly result?: unknown;
  readonly event?: unknown;
  readonly message?: string;
  readonly error?: { readonly code: string; readonly message: string };
};

type Waiting = { readonly resolve: (value: unknown) => void; readonly reject: (error: Error) => void };

/** A refusal by the hub, with the hub's own code. */
export class HubError extends Error {
  readonly code: string;
  constructor(code: string, message: string) {
    super(`hub says ${code}: ${message}`);
    this.code = code;
  }
}

const deadlineMs = 30_000;

/** Opens a socket to the hub at `url` (http://…) and logs in with `token`. */
export async function hubClient(url: string, token: string): Promise<HubClient> {
  const socket = new WebSocket(`${url.replace(/^http/, 'ws')}/api/websocket`);
  const waiting = new Map<number, Waiting>();
  const listeners = new Map<number, (event: unknown) => void>();
  let lastId = 0;
  const login = Promise.withResolvers<void>();
  const closed = Promise.withResolvers<void>();

  socket.addEventListener('close', () => {
    const lost = new HubError('connection_lost', `the socket to ${url} closed`);
    login.reject(lost);
    for (const { reject } of waiting.values()) reject(lost);
    waiting.clear();
    closed.resolve();
  });
  socket.addEventListener('error', () => {
    login.reject(new HubError('connection_failed', `no socket to ${url}`));
  });
  socket.addEventListener('message', ({ data }) => {
    const message = JSON.parse(String(data)) as Incoming;
    if (message.type === 'auth_required') socket.send(JSON.stringify({ type: 'auth', access_token: token }));
    else if (message.type === 'auth_ok') login.resolve();
    else if (message.type === 'auth_invalid') login.reject(new HubError('auth_invalid', message.message ?? ''));
    else if (message.type === 'event') listeners.get(message.id ?? 0)?.(message.event);
    else if (message.type === 'result') {
      const asker = waiting.get(message.id ?? 0);
      waiting.delete(message.id ?? 0);
      if (message.success === true) asker?.resolve(message.result);
      else asker?.reject(new HubError(message.error?.code ?? 'unknown', message.error?.message ?? ''));
    }
  });
  await login.promise;

  async function send<T>(id: number, command: HubCommand): Promise<T> {
    if (socket.readyState !== WebSocket.OPEN) throw new HubError('connection_lost', `the socket to ${url} is closed`);
    const reply = Promise.withResolvers<unknown>();
    waiting.set(id, reply);
    socket.send(JSON.stringify({ id, ...command }));
    const timer = setTimeout(() => {
      reply.reject(new HubError('timeout', `no reply to ${command.type} within ${deadlineMs / 1000} s`));
    }, deadlineMs);
    try {
      return (await reply.promise) as T;
    } finally {
      clearTimeout(timer);
    }
  }

  return {
    url,
    token,
    closed: closed.promise,
    call: (command) => send(++lastId, command),
    async subscribe(command, onEvent) {
      const id = ++lastId;
      listeners.set(id, onEvent);
      await send(id, command);
      return async () => {
        listeners.delete(id);
        await send(++lastId, { type: 'unsubscribe_events', subscription: id });
      };
    },
    close() {
      socket.close();
      return closed.promise;
    },
  };
}

/** REST with the token; gives the parsed body. Throws on anything but 2xx, with the hub's words. */
export async function rest<T = unknown>(
  hub: { readonly url: string; readonly token: string },
  method: 'GET' | 'POST' | 'DELETE',
  path: string,
  body?: unknown,
): Promise<T> {
  const response = await fetch(hub.url + path, {
    method,
    headers: { authorization: `Bearer ${hub.token}`, 'content-type': 'application/json' },
    ...(body === undefined ? {} : { body: JSON.stringify(body) }),
    signal: AbortSignal.timeout(deadlineMs),
  });
  const text = await response.text();
  if (!response.ok) throw new HubError(`http_${response.status}`, `${method} ${path}: ${text}`);
  return JSON.parse(text) as T;
}
