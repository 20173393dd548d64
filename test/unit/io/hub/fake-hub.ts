import { createHub, type Hub, type HubOptions, type SocketLike } from '../../../../src/io/hub/index.ts';
import { type VirtualSystem, virtualSystem } from '../../../../src/io/system/index.ts';
import type { Observation, Reading } from '../../../../src/observe/index.ts';
import type { HubChange, HubHandlers, HubPress } from '../../../../src/ports/index.ts';
import { eventually } from '../../../support/eventually.ts';

export type Message = { readonly id: number; readonly type: string; readonly [key: string]: unknown };
type Listener = (event: { readonly data?: unknown; readonly message?: string }) => void;

/** A socket in memory: what is sent goes to the script, what the script emits is heard at once. */
export class FakeSocket {
  readonly OPEN = 1;
  readyState = 0;
  readonly sent: Message[] = [];
  readonly #listeners = new Map<string, Set<Listener>>();
  readonly #onSend: (message: Message, socket: FakeSocket) => void;

  constructor(onSend: (message: Message, socket: FakeSocket) => void) {
    this.#onSend = onSend;
  }

  addEventListener(type: string, listener: Listener): void {
    const listeners = this.#listeners.get(type) ?? new Set();
    this.#listeners.set(type, listeners.add(listener));
  }

  removeEventListener(type: string, listener: Listener): void {
    this.#listeners.get(type)?.delete(listener);
  }

  send(text: string): void {
    const message = JSON.parse(text) as Message;
    this.sent.push(message);
    queueMicrotask(() => this.#onSend(message, this));
  }

  close(): void {
    if (this.readyState === 3) return;
    this.readyState = 3;
    queueMicrotask(() => this.#tell('close', {}));
  }

  open(): void {
    this.readyState = 1;
    this.#tell('open', {});
  }

  /** One frame; several messages come coalesced. */
  emit(...messages: readonly unknown[]): void {
    if (this.readyState === 3) return;
    this.#tell('message', { data: JSON.stringify(messages.length === 1 ? messages[0] : messages) });
  }

  #tell(type: string, event: Parameters<Listener>[0]): void {
    for (const listener of [...(this.#listeners.get(type) ?? [])]) listener(event);
  }
}

/** What the script says to a command: a result, a refusal, or nothing at all. */
export type Answer = { readonly result: unknown } | { readonly refuse: string } | 'mute';
export type Script = (message: Message, socket: FakeSocket) => Answer;

export type Posted = { readonly path: string; readonly body: unknown };

export type FakeHub = {
  readonly system: VirtualSystem;
  readonly sockets: FakeSocket[];
  readonly posted: Posted[];
  /** Entities in the snapshot: state and when it began, in seconds. */
  readonly states: Map<string, { readonly s: string; readonly lc: number; readonly a?: Record<string, unknown> }>;
  /** Overrides the answer to a command; `auth` answers the login. */
  readonly on: Map<string, Script>;
  /** Overrides the answer to a REST path; throwing stands for a broken connection. */
  readonly onRest: Map<string, (body: unknown) => { readonly status: number; readonly body: unknown }>;
  /** What becomes of a new socket: opened and greeted, left as it is, or closed. */
  newSocket: 'greet' | 'open only' | 'leave' | 'close';
  socket(): FakeSocket;
  sentOf(type: string): readonly Message[];
  /** Sends an event on the newest subscription of that kind, or to that kind of event. */
  emit(type: string, ...events: readonly unknown[]): void;
};

export const START_S = 1_750_000_000;

const DEFAULTS: ReadonlyMap<string, Script> = new Map<string, Script>([
  ['get_config', () => ({ result: { state: 'RUNNING', version: '2025.4.4', time_zone: 'Europe/London' } })],
  ['person/list', () => ({ result: { storage: [{ name: 'Ada', user_id: 'u1' }], config: [] } })],
  ['config/auth/list', () => ({ result: [] })],
  ['subscribe_events', () => ({ result: null })],
  ['unsubscribe_events', () => ({ result: null })],
  ['call_service', () => ({ result: { context: {} } })],
]);

export function fakeHub(): FakeHub {
  const hub: FakeHub = {
    system: virtualSystem(START_S * 1000),
    sockets: [],
    posted: [],
    states: new Map(),
    on: new Map(),
    onRest: new Map(),
    newSocket: 'greet',
    socket: () => {
      const socket = hub.sockets.at(-1);
      if (socket === undefined) throw new Error('no socket was opened');
      return socket;
    },
    sentOf: (type) => hub.sockets.flatMap((socket) => socket.sent).filter((message) => message.type === type),
    emit(type, ...events) {
      const request = hub.socket().sent.findLast((message) => message.type === type || message['event_type'] === type);
      if (request === undefined) throw new Error(`nobody asked for ${type}`);
      hub.socket().emit(...events.map((event) => ({ id: request.id, type: 'event', event })));
    },
  };
  return hub;
}

function receive(hub: FakeHub, message: Message, socket: FakeSocket): void {
  const { type, id } = message;
  if (type === 'supported_features') return;
  const own = hub.on.get(type);
  if (type === 'auth') {
    const answer = own?.(message, socket) ?? { result: null };
    if (answer === 'mute') return;
    socket.emit('refuse' in answer ? { type: 'auth_invalid' } : { type: 'auth_ok', ha_version: '2025.4.4' });
    return;
  }
  if (type === 'ping' && own === undefined) {
    socket.emit({ id, type: 'pong' });
    return;
  }
  const script = own ?? DEFAULTS.get(type) ?? (type === 'subscribe_entities' ? (): Answer => ({ result: null }) : null);
  const answer: Answer = script?.(message, socket) ?? { refuse: 'unknown_command' };
  if (answer === 'mute') return;
  if ('refuse' in answer) {
    socket.emit({ id, type: 'result', success: false, error: { code: answer.refuse, message: answer.refuse } });
    return;
  }
  socket.emit({ id, type: 'result', success: true, result: answer.result });
  if (type === 'subscribe_entities') socket.emit({ id, type: 'event', event: { a: snapshotFor(hub, message) } });
}

function snapshotFor(hub: FakeHub, message: Message): Record<string, unknown> {
  const wanted = new Set(message['entity_ids'] as string[]);
  return Object.fromEntries([...hub.states].filter(([entity]) => wanted.has(entity)));
}

function newSocket(hub: FakeHub): SocketLike {
  const socket = new FakeSocket((message, from) => receive(hub, message, from));
  hub.sockets.push(socket);
  const { newSocket: fate } = hub;
  queueMicrotask(() => {
    if (fate === 'close') socket.close();
    if (fate === 'greet' || fate === 'open only') socket.open();
    if (fate === 'greet') socket.emit({ type: 'auth_required', ha_version: '2025.4.4' });
  });
  return socket as unknown as SocketLike;
}

async function answerRest(hub: FakeHub, url: string, text: string): Promise<Response> {
  const path = new URL(url).pathname;
  const body: unknown = text === '' ? null : JSON.parse(text);
  const own = hub.onRest.get(path);
  hub.posted.push({ path, body });
  const rendered = { now: hub.system.clock.now() / 1000, rows: [] };
  const { status, body: answer } = own?.(body) ?? { status: 200, body: path === '/api/template' ? rendered : {} };
  return new Response(JSON.stringify(answer), { status });
}

export type Rig = {
  readonly hub: Hub;
  readonly observations: Observation[];
  readonly readings: Reading[];
  readonly presses: HubPress[];
  readonly changes: HubChange[];
  readonly links: Parameters<HubHandlers['onLink']>[0][];
  readonly refusals: string[];
  /** Not awaited on purpose: time stands still until the test moves it. */
  started: Promise<unknown>;
};

export const PUMP = 'switch.pump';

/** A hub edge on the fake hub, started; `own` replaces single handlers. */
export function startRig(fake: FakeHub, options: Partial<HubOptions> = {}, own: Partial<HubHandlers> = {}): Rig {
  const hub = createHub({
    url: 'http://hub.invalid:8123',
    token: 'secret-token',
    prefix: 'slackwater',
    entities: { observe: [PUMP], readings: [PUMP], commandable: [PUMP], drivers: [] },
    system: fake.system,
    openSocket: () => newSocket(fake),
    fetch: (input, init) => answerRest(fake, String(input), String(init?.body ?? '')),
    settleMs: 0,
    ...options,
  });
  const rig: Rig = {
    hub,
    observations: [],
    readings: [],
    presses: [],
    changes: [],
    links: [],
    refusals: [],
    started: Promise.resolve(),
  };
  rig.started = hub.start({
    onObservations: (batch) => rig.observations.push(...batch),
    onReadings: (readings) => rig.readings.push(...readings),
    onPress: (press) => rig.presses.push(press),
    onChange: (change) => rig.changes.push(change),
    onLink: (link) => rig.links.push(link),
    onRefused: (reason) => rig.refusals.push(reason),
    ...own,
  });
  rig.started.catch(() => undefined);
  return rig;
}

/** Waits for work that needs no time of its own. */
export function soon(what: string, probe: () => boolean): Promise<true> {
  return eventually(what, () => (probe() ? true : undefined), { everyMs: 1, limitMs: 10_000 });
}

/** Moves virtual time on, timer by timer, until it is so. */
export function inTime(fake: FakeHub, what: string, probe: () => boolean): Promise<true> {
  return eventually(
    what,
    async () => {
      // What needs no time comes first.
      await new Promise((resolve) => setImmediate(resolve));
      if (probe()) return true;
      fake.system.step();
      return undefined;
    },
    { everyMs: 1, limitMs: 10_000 },
  );
}

export async function upRig(
  fake: FakeHub,
  options: Partial<HubOptions> = {},
  own: Partial<HubHandlers> = {},
): Promise<Rig> {
  if (fake.states.size === 0) fake.states.set(PUMP, { s: 'on', lc: START_S - 3_600 });
  const rig = startRig(fake, options, own);
  await rig.started;
  return rig;
}
