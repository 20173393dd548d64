// One client on the hub's socket: login, commands in order, subscriptions.
import type { WebSocket } from 'ws';
import { COMMANDS, type Message } from './commands.ts';
import type { HubCore } from './core.ts';
import { asRecord, entityList, HubRefusal } from './services.ts';
import type { HubUser } from './users.ts';
import { longEvent, shortChange, shortSnapshot, stateChangedData } from './wire.ts';

/** What can go wrong on the way, for tests: `mute` reads but never answers, as a half-open link does. */
export type LinkFault = 'none' | 'mute' | 'refuse';

type Link = {
  readonly core: HubCore;
  readonly socket: WebSocket;
  readonly subscriptions: Map<number, () => void>;
  send(message: unknown): void;
  user: HubUser | null;
  lastId: number;
  coalesce: boolean;
};

export function serveConnection(core: HubCore, socket: WebSocket, fault: () => LinkFault): void {
  const link = openLink(core, socket, fault);
  socket.on('message', (data) => {
    if (fault() === 'mute') return;
    let parsed: unknown;
    try {
      parsed = JSON.parse(String(data));
    } catch {
      socket.close();
      return;
    }
    for (const message of Array.isArray(parsed) ? parsed : [parsed]) receive(link, asRecord(message));
  });
  socket.on('close', () => {
    for (const end of link.subscriptions.values()) end();
    link.subscriptions.clear();
  });
  socket.on('error', () => socket.terminate());
  link.send({ type: 'auth_required', ha_version: core.version });
}

function openLink(core: HubCore, socket: WebSocket, fault: () => LinkFault): Link {
  const queue: unknown[] = [];
  const flush = (): void => {
    if (queue.length === 0 || socket.readyState !== socket.OPEN) return;
    const batch = queue.splice(0);
    if (link.coalesce) socket.send(JSON.stringify(batch.length === 1 ? batch[0] : batch));
    else for (const message of batch) socket.send(JSON.stringify(message));
  };
  const link: Link = {
    core,
    socket,
    subscriptions: new Map(),
    user: null,
    lastId: 0,
    coalesce: false,
    send(message) {
      if (fault() === 'mute') return;
      queue.push(message);
      if (queue.length === 1) queueMicrotask(flush);
    },
  };
  return link;
}

function receive(link: Link, message: Message): void {
  if (link.user === null) {
    logIn(link, message);
    return;
  }
  const id = Number(message['id']);
  const type = String(message['type']);
  if (!Number.isInteger(id) || id <= 0) {
    link.send({
      id: null,
      type: 'result',
      success: false,
      error: { code: 'invalid_format', message: 'Message incorrectly formatted.' },
    });
    return;
  }
  if (id <= link.lastId) {
    refuse(link, id, new HubRefusal('id_reuse', 'Identifier values have to increase.'));
    return;
  }
  link.lastId = id;
  try {
    answer(link, link.user, id, type, message);
  } catch (error) {
    if (!(error instanceof HubRefusal)) throw error;
    refuse(link, id, error);
  }
}

function logIn(link: Link, message: Message): void {
  const user = message['type'] === 'auth' ? link.core.users.byToken(String(message['access_token'])) : undefined;
  if (user === undefined) {
    link.send({ type: 'auth_invalid', message: 'Invalid access token or password' });
    queueMicrotask(() => link.socket.close());
    return;
  }
  link.user = user;
  link.send({ type: 'auth_ok', ha_version: link.core.version });
}

function refuse(link: Link, id: number, error: HubRefusal): void {
  link.send({ id, type: 'result', success: false, error: { code: error.code, message: error.message } });
}

function answer(link: Link, user: HubUser, id: number, type: string, message: Message): void {
  const done = (result: unknown = null): void => link.send({ id, type: 'result', success: true, result });
  switch (type) {
    case 'ping':
      link.send({ id, type: 'pong' });
      return;
    case 'supported_features':
      link.coalesce = Number(asRecord(message['features'])['coalesce_messages'] ?? 0) > 0;
      done();
      return;
    case 'subscribe_entities':
      done();
      subscribeEntities(link, id, message);
      return;
    case 'subscribe_events':
      subscribeEvents(link, user, id, message);
      done();
      return;
    case 'unsubscribe_events': {
      const end = link.subscriptions.get(Number(message['subscription']));
      if (end === undefined) throw new HubRefusal('not_found', 'Subscription not found.');
      link.subscriptions.delete(Number(message['subscription']));
      end();
      done();
      return;
    }
    default: {
      const command = COMMANDS.get(type);
      if (command === undefined) throw new HubRefusal('unknown_command', 'Unknown command.');
      done(command(link.core, user, message) ?? null);
    }
  }
}

function subscribeEntities(link: Link, id: number, message: Message): void {
  const { states } = link.core;
  const only = message['entity_ids'] === undefined ? null : new Set(entityList(message['entity_ids']));
  const wanted = (entity: string): boolean => only === null || only.has(entity);
  link.send({ id, type: 'event', event: shortSnapshot(states.all().filter(({ entity }) => wanted(entity))) });
  const end = states.onChange((change) => {
    if (wanted(change.entity)) link.send({ id, type: 'event', event: shortChange(change) });
  });
  link.subscriptions.set(id, end);
}

/** Those not administrators may listen to these only. */
const OPEN_EVENTS = new Set([
  'state_changed',
  'entity_registry_updated',
  'persistent_notifications_updated',
  'lovelace_updated',
]);

function subscribeEvents(link: Link, user: HubUser, id: number, message: Message): void {
  const { states } = link.core;
  const type = message['event_type'] === undefined ? null : String(message['event_type']);
  if (!user.administrator && (type === null || !OPEN_EVENTS.has(type))) {
    throw new HubRefusal('unauthorized', 'Unauthorized');
  }
  const ends: (() => void)[] = [];
  if (type === null || type === 'state_changed') {
    ends.push(
      states.onChange((change) => {
        const context = (change.next ?? change.old)?.context ?? states.context();
        const at = change.next?.lastUpdated ?? link.core.system.clock.now();
        const event = longEvent({ type: 'state_changed', data: stateChangedData(change), at, context });
        link.send({ id, type: 'event', event });
      }),
    );
  }
  if (type !== 'state_changed') {
    ends.push(
      states.onEvent((event) => {
        if (type === null || event.type === type) link.send({ id, type: 'event', event: longEvent(event) });
      }),
    );
  }
  link.subscriptions.set(id, () => {
    for (const end of ends) end();
  });
}
