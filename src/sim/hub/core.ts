// One running hub: the pieces put together, without sockets.
import type { System } from '../../ports/index.ts';
import { DAY_MS } from '../../units/index.ts';
import { prng, seedFor } from '../random.ts';
import { createHelpers, type Helpers } from './helpers.ts';
import { createRecorder, type PastSource, type Recorder } from './recorder.ts';
import { createRegistry, type Registry } from './registry.ts';
import { createServices, type Services } from './services.ts';
import { createStates, type States } from './states.ts';
import type { HourRow } from './statistics.ts';
import { createUsers, type Users } from './users.ts';
import { isoText } from './wire.ts';

export type HubPhase = 'STARTING' | 'RUNNING' | 'STOPPED';

export type Notification = {
  readonly id: string;
  readonly title: string | null;
  readonly message: string;
  readonly createdAt: number;
};

/** A message that went out through a notify service. */
export type SentMessage = {
  readonly service: string;
  readonly data: Readonly<Record<string, unknown>>;
  readonly at: number;
};

export type HubCore = {
  readonly system: Pick<System, 'clock' | 'timers'>;
  readonly states: States;
  readonly services: Services;
  readonly users: Users;
  readonly registry: Registry;
  readonly helpers: Helpers;
  readonly recorder: Recorder;
  readonly dashboards: Map<string, { readonly meta: Readonly<Record<string, unknown>>; config: unknown }>;
  readonly notifications: Map<string, Notification>;
  /** Hours that a client brought in, by statistic id. */
  readonly importedHours: Map<string, { readonly unit: string | null; readonly rows: readonly HourRow[] }>;
  readonly sentMessages: SentMessage[];
  readonly timeZone: string;
  readonly version: string;
  phase: HubPhase;
};

export type CoreOptions = {
  readonly system: Pick<System, 'clock' | 'timers'>;
  readonly seed: number;
  readonly timeZone: string;
  readonly version: string;
  readonly past: PastSource;
  readonly notifyServices: readonly string[];
};

export function createCore(options: CoreOptions): HubCore {
  const { system, seed } = options;
  const now = (): number => system.clock.now();
  const states = createStates(system.clock, prng(seedFor(seed, 'hub ids')));
  const services = createServices();
  const registry = createRegistry(states, prng(seedFor(seed, 'registry ids')));
  const core: HubCore = {
    system,
    states,
    services,
    registry,
    users: createUsers(prng(seedFor(seed, 'users'))),
    helpers: createHelpers({ states, services, registry, now }),
    recorder: createRecorder(states, options.past, now),
    dashboards: new Map(),
    notifications: new Map(),
    importedHours: new Map(),
    sentMessages: [],
    timeZone: options.timeZone,
    version: options.version,
    phase: 'STARTING',
  };
  registerNotifications(core, options.notifyServices);
  registerForwarding(core);
  services.register('recorder', 'purge', ({ data }) => {
    core.recorder.purgeBefore(now() - Number(data['keep_days'] ?? 10) * DAY_MS);
  });
  return core;
}

function registerNotifications(core: HubCore, notifyServices: readonly string[]): void {
  const { services, notifications, sentMessages, system } = core;
  services.register('persistent_notification', 'create', ({ data }) => {
    const id = String(data['notification_id'] ?? `notification_${notifications.size + 1}`);
    const title = data['title'] === undefined ? null : String(data['title']);
    notifications.set(id, { id, title, message: String(data['message'] ?? ''), createdAt: system.clock.now() });
  });
  services.register('persistent_notification', 'dismiss', ({ data }) => {
    notifications.delete(String(data['notification_id']));
  });
  services.register('persistent_notification', 'dismiss_all', () => notifications.clear());
  for (const service of ['persistent_notification', ...notifyServices]) {
    services.register('notify', service, ({ data }) => {
      sentMessages.push({ service: `notify.${service}`, data, at: system.clock.now() });
    });
  }
}

/** `homeassistant.turn_on` and its like reach the service of the entity's own domain. */
function registerForwarding({ services }: HubCore): void {
  for (const service of ['turn_on', 'turn_off', 'toggle']) {
    services.register('homeassistant', service, ({ entities, context }) => {
      for (const entity of entities)
        services.call(entity.split('.')[0] ?? '', service, { entity_id: entity }, {}, context);
    });
  }
}

export function notificationRows(core: HubCore): readonly unknown[] {
  return [...core.notifications.values()].map((one) => ({
    notification_id: one.id,
    message: one.message,
    title: one.title,
    created_at: isoText(one.createdAt),
  }));
}

export function configOf(core: HubCore): Readonly<Record<string, unknown>> {
  return {
    location_name: 'Quayside Library',
    latitude: 50.37,
    longitude: -4.14,
    elevation: 5,
    unit_system: { length: 'km', mass: 'g', temperature: '°C', volume: 'L', pressure: 'Pa' },
    time_zone: core.timeZone,
    components: [
      'api',
      'config',
      'history',
      'input_button',
      'lovelace',
      'persistent_notification',
      'recorder',
      'switch',
    ],
    version: core.version,
    config_source: 'storage',
    recovery_mode: false,
    safe_mode: false,
    state: core.phase === 'RUNNING' ? 'RUNNING' : 'STARTING',
    language: 'en',
    country: 'GB',
    currency: 'GBP',
  };
}
