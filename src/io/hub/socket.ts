import { ERR_CANNOT_CONNECT, ERR_INVALID_AUTH, type HaWebSocket } from 'home-assistant-js-websocket';
import type { Timers } from '../../ports/index.ts';
import type { DurationMs } from '../../units/index.ts';
import type { HubSetup, SocketLike } from './options.ts';

/** Why a socket could not be had. `refused` and `banned` are for good. */
export type SocketTrouble = { readonly kind: 'unreachable' | 'refused' | 'banned'; readonly detail: string };

export type SocketWatch = {
  /** Called before the rejection, with its reason. */
  onTrouble(trouble: SocketTrouble): void;
  /** Anything came in: the last sign of life is where a gap begins. */
  onHeard(): void;
};

type Greeting = { readonly type?: string; readonly ha_version?: string; readonly message?: string };

/**
 * Opens a socket and logs in, with a limit on each of the two: a half-open hub accepts connections and says nothing.
 * Rejects with the library's own numbers, since those decide whether it tries again; `watch` gets the reason.
 */
export async function openHubSocket(setup: HubSetup, watch: SocketWatch): Promise<HaWebSocket> {
  try {
    const socket = await greet(setup);
    socket.addEventListener('message', watch.onHeard);
    return socket;
  } catch (error) {
    const trouble = error instanceof Trouble ? error.trouble : unreachable(String(error));
    const found = trouble.kind === 'unreachable' ? await lookCloser(setup, trouble) : trouble;
    watch.onTrouble(found);
    throw found.kind === 'unreachable' ? ERR_CANNOT_CONNECT : ERR_INVALID_AUTH;
  }
}

class Trouble extends Error {
  readonly trouble: SocketTrouble;
  constructor(trouble: SocketTrouble) {
    super(trouble.detail);
    this.trouble = trouble;
  }
}

const unreachable = (detail: string): SocketTrouble => ({ kind: 'unreachable', detail });

function greet(setup: HubSetup): Promise<HaWebSocket> {
  const socket = setup.openSocket(`${setup.url.replace(/^http/, 'ws')}/api/websocket`);
  const done = Promise.withResolvers<HaWebSocket>();
  const timers: Timers = setup.linkTimers;
  const limit = (ms: DurationMs, name: string, text: string): (() => void) =>
    timers.after(ms, name, () => fail(unreachable(text)));
  let cancel = limit(setup.openMs, 'hub: open socket', 'the socket did not open in time');

  const fail = (trouble: SocketTrouble): void => {
    done.reject(new Trouble(trouble));
    socket.close();
  };
  const onOpen = (): void => {
    cancel();
    cancel = limit(setup.authMs, 'hub: log in', 'the hub did not finish the login in time');
  };
  const onMessage = (event: { readonly data: unknown }): void => {
    const greeting = parseGreeting(event.data);
    if (greeting.type === 'auth_required') {
      socket.send(JSON.stringify({ type: 'auth', access_token: setup.token }));
    } else if (greeting.type === 'auth_invalid') {
      fail({ kind: 'refused', detail: greeting.message ?? 'token refused' });
    } else if (greeting.type === 'auth_ok') {
      // Several messages in one frame: fewer wake-ups when many entities change at once.
      socket.send(JSON.stringify({ id: 1, type: 'supported_features', features: { coalesce_messages: 1 } }));
      done.resolve(Object.assign(socket, { haVersion: greeting.ha_version ?? '' }) as HaWebSocket);
    }
  };
  const onClose = (): void => fail(unreachable('the hub closed the connection'));
  const onError = (event: unknown): void => fail(unreachable(errorText(event)));

  socket.addEventListener('open', onOpen);
  socket.addEventListener('message', onMessage);
  socket.addEventListener('close', onClose);
  socket.addEventListener('error', onError);
  return done.promise.finally(() => {
    cancel();
    socket.removeEventListener('open', onOpen);
    socket.removeEventListener('message', onMessage);
    socket.removeEventListener('close', onClose);
    socket.removeEventListener('error', onError);
    ignoreLateErrors(socket);
  });
}

function parseGreeting(data: unknown): Greeting {
  try {
    return JSON.parse(String(data)) as Greeting;
  } catch {
    return {};
  }
}

function errorText(event: unknown): string {
  const { message } = event as { readonly message?: unknown };
  return typeof message === 'string' && message !== '' ? message : 'no connection';
}

/** A socket that fails while it is being given up must not take the process with it. */
function ignoreLateErrors(socket: SocketLike): void {
  socket.addEventListener('error', () => undefined);
}

/**
 * A banned address gets 403 for every page, also for one that needs no login; asking it counts as no login. Any other
 * answer shows that something is there, which helps who mistyped the address.
 */
async function lookCloser(setup: HubSetup, trouble: SocketTrouble): Promise<SocketTrouble> {
  try {
    const answer = await setup.fetch(`${setup.url}/manifest.json`, { signal: AbortSignal.timeout(setup.pongMs) });
    await answer.body?.cancel();
    if (answer.status === 403) return { kind: 'banned', detail: 'answer 403' };
    return unreachable(`something answers there (status ${answer.status}), but ${trouble.detail}`);
  } catch {
    return trouble;
  }
}
