// The simulated home as a whole: hub, tank, plugs, persons' logins; started, stopped, restarted and disturbed from here.
import type { System } from '../../ports/index.ts';
import type { DurationMs, InstantMs } from '../../units/index.ts';
import { DEMO_ZONE } from '../calendar.ts';
import type { RecordedPast, SimTruth } from '../history/index.ts';
import {
  createCore,
  createHubServer,
  type EntityState,
  type HubCore,
  type HubServer,
  type LinkFault,
  type Notification,
  type SentMessage,
  type StateChange,
} from '../hub/index.ts';
import { hexText, prng, seedFor } from '../random.ts';
import type { PlugKey, TankState } from '../tank/index.ts';
import { createDevices, type Devices } from './devices.ts';
import type { PlugFault } from './faults.ts';
import { joinTruth, pastOf } from './past.ts';
import type { PlugTruth } from './plug.ts';

export type SimPerson = { readonly name: string; readonly userId: string; readonly token: string };

export type SimHubOptions = {
  readonly seed: number;
  readonly system: Pick<System, 'clock' | 'timers'>;
  /** 0 or absent: any free port. */
  readonly port?: number;
  readonly token?: string;
  /** Days of recorded past before the demo's opening day. */
  readonly historyDays?: number;
  readonly faults?: Readonly<Partial<Record<PlugKey, PlugFault>>>;
  /** Logged-in persons of the home, by name. */
  readonly persons?: readonly string[];
  readonly notifyServices?: readonly string[];
  /** Toggle helpers that are there from the start. */
  readonly booleans?: readonly string[];
  readonly siphonHoleBlocked?: boolean;
  readonly version?: string;
  /** How often the simulated tank moves on, in simulated time. */
  readonly tickMs?: DurationMs;
};

export type SimHub = {
  readonly url: string;
  /** Token and user of the service that connects. */
  readonly token: string;
  readonly userId: string;
  readonly persons: readonly SimPerson[];
  state(entity: string): EntityState | undefined;
  onState(listener: (change: StateChange) => void): () => void;
  /** Calls a service as this user, as the hub's own page would. Throws the hub's refusal. */
  call(
    service: `${string}.${string}`,
    entity: string,
    userId?: string | null,
    data?: Readonly<Record<string, unknown>>,
  ): void;
  notifications(): readonly Notification[];
  sentMessages(): readonly SentMessage[];
  /** The truth of the tank, which no client sees. */
  tank(): TankState;
  plug(key: PlugKey): PlugTruth;
  unplug(key: PlugKey): void;
  plugIn(key: PlugKey): void;
  setFault(key: PlugKey, fault: PlugFault): void;
  clean(key: PlugKey): void;
  readonly truth: SimTruth;
  stop(): Promise<void>;
  start(options?: { readonly startingMs?: DurationMs }): Promise<void>;
  restart(options?: { readonly downMs?: DurationMs; readonly startingMs?: DurationMs }): Promise<void>;
  dropLinks(): void;
  setLinkFault(fault: LinkFault): void;
  links(): number;
  rename(entity: string, to: string): void;
  purgeHistoryBefore(at: InstantMs): void;
  revokeToken(token: string): void;
  /** Ends everything: timers, port. */
  close(): Promise<void>;
};

export const DEMO_PERSONS = [
  'Duty caretaker',
  'Evening caretaker',
  "Children's-section deputy",
  'Building engineer',
] as const;

const HISTORY_DAYS = 547;
const STARTING_MS = 3_000;

export async function startSimHub(options: SimHubOptions): Promise<SimHub> {
  const past = pastOf(options.seed, options.system.clock.now(), options.historyDays ?? HISTORY_DAYS);
  const core = createCore({
    system: options.system,
    seed: options.seed,
    timeZone: DEMO_ZONE,
    version: options.version ?? '2025.4.4',
    past: past.rows,
    notifyServices: options.notifyServices ?? ['mobile_app_caretaker'],
  });
  const service = core.users.add('Slackwater', { administrator: true, owner: true });
  const token = core.users.issueToken(service.id, options.token);
  const persons = (options.persons ?? DEMO_PERSONS).map((name) => addPerson(core, name));
  for (const name of options.booleans ?? []) core.helpers.create('input_boolean', { name });
  const devices = createDevices({
    core,
    seed: options.seed,
    faults: options.faults ?? {},
    meters: past.meters,
    cleanedAt: past.cleanedAt,
    siphonHoleBlocked: options.siphonHoleBlocked ?? false,
    tickMs: options.tickMs ?? 1_000,
  });
  const server = createHubServer(core, options.port ?? 0);
  core.phase = 'RUNNING';
  devices.announce();
  await server.open();
  return hubFace({ core, devices, server, past, token, userId: service.id, persons });
}

function addPerson(core: HubCore, name: string): SimPerson {
  // The id follows from the name alone, so that a configuration can name these persons.
  const user = core.users.add(name, { id: hexText(prng(seedFor(0, `user ${name}`)), 32) });
  const slugged = name.toLowerCase().replaceAll(/[^a-z]+/g, '_');
  const entity = `person.${slugged}`;
  core.registry.add({ entity, uniqueId: user.id, platform: 'person', name });
  showPerson(core, entity, name, user.id);
  return { name, userId: user.id, token: core.users.issueToken(user.id) };
}

function showPerson(core: HubCore, entity: string, name: string, userId: string): void {
  core.states.set(entity, 'home', { friendly_name: name, id: entity.slice(7), user_id: userId, editable: true });
}

type Whole = {
  readonly core: HubCore;
  readonly devices: Devices;
  readonly server: HubServer;
  readonly past: RecordedPast;
  readonly token: string;
  readonly userId: string;
  readonly persons: readonly SimPerson[];
};

function hubFace({ core, devices, server, past, token, userId, persons }: Whole): SimHub {
  const power = powerSwitch(core, devices, server);
  return {
    url: `http://127.0.0.1:${server.port()}`,
    token,
    userId,
    persons,
    state: (entity) => core.states.get(entity),
    onState: (listener) => core.states.onChange(listener),
    call(service, entity, by = null, data = {}) {
      const [domain = '', name = ''] = service.split('.');
      core.services.call(domain, name, data, { entity_id: entity }, core.states.context(by));
    },
    notifications: () => [...core.notifications.values()],
    sentMessages: () => core.sentMessages,
    tank: devices.tank,
    plug: (key) => devices.plugs[key].truth(),
    unplug: (key) => devices.plugs[key].setPluggedIn(false),
    plugIn: (key) => devices.plugs[key].setPluggedIn(true),
    setFault: (key, fault) => devices.plugs[key].setFault(fault),
    clean: devices.clean,
    truth: joinTruth(past, devices),
    ...power,
    dropLinks: server.dropLinks,
    setLinkFault: server.setLinkFault,
    links: server.links,
    rename: (entity, to) => core.registry.rename(entity, to),
    purgeHistoryBefore: (at) => core.recorder.purgeBefore(at),
    revokeToken: (old) => core.users.revoke(old),
    async close() {
      devices.stop();
      core.phase = 'STOPPED';
      await server.close();
    },
  };
}

/** Stopping and starting the hub. The tank and the plugs' relays go on meanwhile; schedules and thermostats do not. */
function powerSwitch(core: HubCore, devices: Devices, server: HubServer): Pick<SimHub, 'stop' | 'start' | 'restart'> {
  const { timers } = core.system;
  const wait = (delayMs: DurationMs, name: string): Promise<void> =>
    new Promise((resolve) => timers.after(delayMs, name, resolve));
  async function stop(): Promise<void> {
    core.states.fire('homeassistant_stop', {});
    core.phase = 'STOPPED';
    await server.close();
    // Posted states and notifications live in memory only; registry, helpers, dashboards and users are kept.
    core.states.clear();
    core.notifications.clear();
  }
  async function start(options: { readonly startingMs?: DurationMs } = {}): Promise<void> {
    core.phase = 'STARTING';
    for (const { entity, platform, name, uniqueId } of core.registry.all()) {
      if (platform === 'person') showPerson(core, entity, name, uniqueId);
      else core.states.set(entity, 'unavailable', { restored: true, friendly_name: name });
    }
    core.helpers.restore();
    await server.open();
    await wait(options.startingMs ?? STARTING_MS, 'hub starting');
    core.phase = 'RUNNING';
    devices.announce();
    core.states.fire('homeassistant_started', {});
    core.states.fire('core_config_updated', {});
  }
  return {
    stop,
    start,
    async restart(options = {}) {
      await stop();
      await wait(options.downMs ?? 5_000, 'hub down');
      await start(options);
    },
  };
}
