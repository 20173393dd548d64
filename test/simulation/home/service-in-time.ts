// The whole service over the demo tank's home in virtual time, without sockets: what was said, by whom it was heard, and when.
// Belongs here: wiring hub port, clock and person. Not here: what happens, see the stories beside it.
import { existsSync, mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type App, createApp, type SessionView } from '../../../src/app/index.ts';
import { loadConfig } from '../../../src/config/index.ts';
import { openStore } from '../../../src/io/store/index.ts';
import { type VirtualSystem, virtualSystem } from '../../../src/io/system/index.ts';
import type { Actor } from '../../../src/model/index.ts';
import type { Reading } from '../../../src/observe/index.ts';
import type { HubHandlers, HubPort } from '../../../src/ports/index.ts';
import type { Step } from '../../../src/procedure/index.ts';
import { demoTankYaml } from '../../../src/sim/index.ts';
import {
  ADA,
  command,
  createPerson,
  createWorld,
  type Desk,
  giveAll,
  noteAll,
  type Person,
  refresh,
  runUntil,
  sessionTank,
  setDriver,
  tellWhatIsDue,
  type World,
} from '../../../src/sim/session/index.ts';
import { type DurationMs, type InstantMs, MINUTE_MS, SECOND_MS } from '../../../src/units/index.ts';

/** Something a person could hear or see, and on which way. */
export type Heard = {
  readonly at: InstantMs;
  readonly way: 'beside the hub' | 'in the hub' | 'asked' | 'finding';
  readonly text: string;
};

export type ServiceInTime = {
  readonly app: App;
  readonly world: World;
  readonly system: VirtualSystem;
  readonly heard: readonly Heard[];
  session(): SessionView | null;
  /** Everything the service sent to a plug. */
  readonly sent: readonly { readonly at: InstantMs; readonly equipment: string; readonly turn: 'on' | 'off' }[];
  wait(ms: DurationMs): Promise<void>;
  /** Goes on until this holds; false = it never did within `mostMs`. */
  until(holds: () => boolean, mostMs: DurationMs): Promise<boolean>;
  /** Without `hubRuns` the hub itself stands still as well. */
  loseHub(hubRuns: boolean): Promise<void>;
  /** The hub is there again; after its own restart it knows nothing of its plugs at first. */
  hubBack(restarted: boolean): Promise<void>;
  /** Ada does what is asked from now on. */
  attend(isThere: boolean): void;
  stop(): Promise<void>;
};

export type Told = { readonly at: InstantMs; readonly guards?: string; readonly seed?: number };

/** Each event is on disk before it acts; hours of them need not wait for a real disk. */
const MEMORY = '/dev/shm';
/** The link is given up when a sign of life stays out for so long. */
const LINK_DIES_MS: DurationMs = 40 * SECOND_MS;

export async function serviceInTime({ at, guards = '', seed = 1 }: Told): Promise<ServiceInTime> {
  const folder = mkdtempSync(join(existsSync(MEMORY) ? MEMORY : tmpdir(), 'slackwater-in-time-'));
  const { config } = loadConfig(`${demoTankYaml('http://127.0.0.1:8123')}\n${guards}`, join(folder, 'slackwater.yaml'));
  const system = virtualSystem(at);
  const heard: Heard[] = [];
  const sent: { at: InstantMs; equipment: string; turn: 'on' | 'off' }[] = [];
  const handlers: { current: HubHandlers | null } = { current: null };
  const { levelCm } = sessionTank('demo');
  const world = createWorld({
    home: { id: 'demo', tank: config.tank, deputies: {}, ...(levelCm === undefined ? {} : { levelCm }) },
    seed,
    at,
    note: () => {},
    receive: (reading) => handlers.current?.onReadings([reading]),
  });
  noteAll(world);
  tellWhatIsDue(world);
  const say = (way: Heard['way'], text: string): void => void heard.push({ at: world.at, way, text });
  const hub = hubPort(world, handlers, sent, say);
  const store = openStore(join(folder, 'store.db'), system);
  const app = createApp({
    ...{ config, hub, store, system, simulated: true, dashboard: '' },
    alarmPaths: [
      {
        name: 'phone',
        send: async ({ kind, text }) => {
          if (kind === 'alarm') say('beside the hub', text);
          return { sent: true, tries: 1, detail: 'heard' };
        },
        stop: () => {},
      },
    ],
  });
  let isThere = false;
  const screen = screenOf(app);
  const person = createPerson(
    world,
    deskOf(app, screen, () => isThere),
    seed,
  );
  const noticed = noticing(screen, person);
  const settle = async (rounds: number): Promise<void> => {
    for (let n = 0; n < rounds; n++) await new Promise(setImmediate);
  };
  const step = async (): Promise<void> => {
    runUntil(world, world.at + SECOND_MS);
    tellWhatIsDue(world);
    system.advance(SECOND_MS);
    await settle(4);
    noticed(isThere);
  };
  await app.start();
  await settle(40);
  const wait = async (ms: DurationMs): Promise<void> => {
    for (let left = ms; left > 0; left -= SECOND_MS) await step();
  };
  return {
    ...{ app, world, system, heard, sent, wait },
    session: screen.view,
    until: async (holds, mostMs) => {
      for (let left = mostMs; left > 0 && !holds(); left -= SECOND_MS) await step();
      return holds();
    },
    loseHub: async (hubRuns) => {
      world.linkUp = false;
      world.hubRuns = hubRuns;
      await wait(LINK_DIES_MS);
      handlers.current?.onLink({ up: false, at: system.clock.now(), reason: 'no sign of life' });
      await settle(8);
    },
    hubBack: async (restarted) => {
      world.hubRuns = true;
      if (restarted)
        for (const [entity, reading] of world.hub)
          if (world.byEntity.has(entity)) world.hub.set(entity, { ...reading, value: null, changedAt: world.at });
      world.linkUp = true;
      const now = system.clock.now();
      handlers.current?.onLink({ up: true, at: now, hubRestarted: restarted, restartedAt: restarted ? now : null });
      giveAll(world);
      for (const device of world.devices.values())
        device.nextReportAt = world.at + world.random.between(1, 20) * SECOND_MS;
      await settle(12);
    },
    attend: (there) => {
      isThere = there;
    },
    stop: async () => {
      await app.stop();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}

function hubPort(
  world: World,
  handlers: { current: HubHandlers | null },
  sent: { at: InstantMs; equipment: string; turn: 'on' | 'off' }[],
  say: (way: Heard['way'], text: string) => void,
): HubPort {
  const away = (): Error => new Error('the hub is not connected');
  const known = (entities: readonly string[]): readonly Reading[] =>
    entities.flatMap((entity) => world.hub.get(entity) ?? []);
  return {
    start: async (given) => {
      handlers.current = given;
      given.onLink({ up: true, at: world.at, hubRestarted: false, restartedAt: null });
      giveAll(world);
      return { version: '2025.4.0', timeZone: world.home.tank.timeZone, clockSkewMs: 0 };
    },
    stop: async () => {},
    async *history() {},
    refresh: (entities) => {
      if (!world.linkUp) return Promise.reject(away());
      refresh(world, entities);
      const { promise, resolve } = Promise.withResolvers<readonly Reading[]>();
      world.queue.add(world.at + SECOND_MS, () => resolve(known(entities)));
      return promise;
    },
    command: ({ equipment, turn }) => {
      if (!world.linkUp) return Promise.resolve({ outcome: 'refused', detail: 'not sent: the hub is not connected' });
      sent.push({ at: world.at, equipment, turn });
      const { promise, resolve } = Promise.withResolvers<Awaited<ReturnType<HubPort['command']>>>();
      command(world, equipment, turn, resolve);
      return promise;
    },
    driver: (entity, turn) => {
      const { promise, resolve } = Promise.withResolvers<Awaited<ReturnType<HubPort['driver']>>>();
      setDriver(world, entity, turn, resolve);
      return promise;
    },
    publish: async () => true,
    ensureButtons: async () => new Map(),
    leaveMark: async () => {},
    notify: async () => ({ existing: false, missingServices: [] }),
    tell: async ({ key, message }) => {
      if (!world.linkUp) throw away();
      say(
        key.startsWith('slackwater_alarm') && message.includes('slackwater answer') ? 'asked' : 'in the hub',
        message,
      );
    },
    clearNotification: async () => {
      if (!world.linkUp) throw away();
    },
    installDashboard: async () => {},
  };
}

/** The session as it was last shown; looked up once for each change, since a person reads it all the time. */
type Screen = { view(): SessionView | null; planned(step: string | undefined): Step | undefined };

function screenOf(app: App): Screen {
  let view = app.session();
  const plans = new Map<string, readonly Step[]>();
  app.subscribe((event) => {
    if (event.kind === 'session') view = event.view;
  });
  return {
    view: () => view,
    planned(step) {
      if (view === null) return undefined;
      const steps = plans.get(view.procedure) ?? app.rehearse(view.procedure).steps;
      plans.set(view.procedure, steps);
      return steps.find(({ id }) => id === step);
    },
  };
}

/** What the person at the tank sees of the service, and can say to it. */
function deskOf(app: App, screen: Screen, isThere: () => boolean): Desk {
  const steps = () => screen.view()?.steps ?? [];
  const open = () => steps()[screen.view()?.step ?? -1];
  const doneOf = (turned: 'switch-on' | 'switch-off', undone: 'switch-on' | 'switch-off'): Set<string> => {
    const done = new Set<string>();
    for (const { action, equipment, result } of steps()) {
      if (equipment === null || !result.startsWith('passed')) continue;
      if (action === turned) done.add(equipment);
      if (action === undone) done.delete(equipment);
    }
    return done;
  };
  const keptOff = (): readonly string[] => {
    const off = doneOf('switch-off', 'switch-on');
    const now = open();
    // What is being switched on is meant to be on.
    if (now?.action === 'switch-on' && now.equipment !== null) off.delete(now.equipment);
    return [...off];
  };
  return {
    question: () => (isThere() ? (screen.view()?.prompt ?? null) : null),
    openStep: () => screen.planned(open()?.id),
    reason: () => screen.view()?.hold?.reason ?? null,
    keptOff,
    returnsOff: () => keptOff().filter((id) => id === 'return-pump'),
    broughtBack: () => [...doneOf('switch-on', 'switch-off')],
    claimedBy: (equipment) => screen.view()?.claims.find((claim) => claim.equipment === equipment)?.person ?? null,
    answer: ({ step, nonce, actor, value }) => {
      const session = screen.view()?.id;
      if (session === undefined) return false;
      void app.confirm({ session, step, nonce, actor, ...(value === undefined ? {} : { value }) });
      return true;
    },
    abort: (actor) => void app.abort(actor),
    misdeed: () => null,
    mendAll: () => [],
    finds: () => false,
  };
}

/** A question, or a step that hands answer, is noticed once. */
function noticing(screen: Screen, person: Person): (isThere: boolean) => void {
  let nonce = '';
  let observed = '';
  return (isThere) => {
    const view = screen.view();
    // Who comes back reads what stands there.
    if (!isThere) nonce = '';
    if (view === null || !isThere) return;
    const { prompt } = view;
    if (prompt !== null && prompt.nonce !== nonce) {
      nonce = prompt.nonce;
      person.notice(prompt);
    }
    const step = view.steps[view.step];
    if (step?.action !== 'observe' || view.status !== 'running' || observed === step.id) return;
    observed = step.id;
    const planned = screen.planned(step.id);
    if (planned !== undefined) person.attend(planned);
  };
}

export const startedBy: Actor = ADA;
export const minutes = (count: number): DurationMs => count * MINUTE_MS;
