// A service on a hub that can be told what its plugs say and be taken away, on a clock that stands still.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type App, createApp } from '../../../src/app/index.ts';
import { loadConfig } from '../../../src/config/index.ts';
import { openStore } from '../../../src/io/store/index.ts';
import { type VirtualSystem, virtualSystem } from '../../../src/io/system/index.ts';
import type { Reading } from '../../../src/observe/index.ts';
import type { AlarmMessage, AlarmPath, HubHandlers, HubPort, PublishedState } from '../../../src/ports/index.ts';
import type { SwitchCommand } from '../../../src/procedure/index.ts';

export const T0 = Date.UTC(2026, 0, 10, 8);

export const YAML = `tank:
  name: Guarded reef
  zone: UTC
  volume: 210 L
hub: { url: "http://127.0.0.1:8123", token: { env: SLACKWATER_HUB_TOKEN } }
equipment:
  return-pump: { role: return-pump, driver: always-on, switch: switch.return, power: sensor.return_power, normalPower: 32 W }
  circulation: { role: circulation-pump, driver: always-on, switch: switch.circulation, power: sensor.circulation_power, normalPower: 14 W }
  skimmer: { role: skimmer, driver: always-on, switch: switch.skimmer, power: sensor.skimmer_power, normalPower: 18 W }
  top-off: { role: top-off, driver: own-controller, switch: switch.top_off, power: sensor.top_off_power, normalPower: 9 W }
sensors:
  cabinet: { name: Leak under the cabinet, kind: leak, entity: binary_sensor.leak }
guards:
  floor: { name: Water on the floor, kind: leak, off: [top-off] }
people: { robin: { name: Robin } }
alarms: { hubSilent: 5 min }
`;

export type GuardedHome = {
  readonly app: App;
  readonly system: VirtualSystem;
  readonly commands: SwitchCommand[];
  /** `suspend automation.lamp` */
  readonly drivers: string[];
  readonly states: ReadonlyMap<string, number | null>;
  /** What is known of these, reported again. */
  report(entities: readonly string[]): Promise<void>;
  /** What was told by the hub, newest of each key; and what was taken back there. */
  readonly shown: Map<string, string>;
  /** What went out on the way beside it. */
  readonly told: AlarmMessage[];
  published(entity: string): PublishedState | undefined;
  tell(values: Readonly<Record<string, number | null>>): Promise<void>;
  link(up: boolean): Promise<void>;
  wait(ms: number): Promise<void>;
  /** The process is gone without a word; the same store and hub, started anew. */
  killed(yaml?: string): Promise<GuardedHome>;
  stop(): Promise<void>;
};

type World = {
  readonly folder: string;
  readonly system: VirtualSystem;
  /** By entity; the hub goes on knowing it while the service is away. */
  readonly states: Map<string, number | null>;
  readonly shown: Map<string, string>;
  readonly told: AlarmMessage[];
  readonly commands: SwitchCommand[];
  readonly drivers: string[];
  isUp: boolean;
};

export async function guardedHome(given: Partial<World> & { readonly yaml?: string } = {}): Promise<GuardedHome> {
  const world: World = {
    folder: given.folder ?? mkdtempSync(join(tmpdir(), 'slackwater-guarded-')),
    system: given.system ?? virtualSystem(T0),
    states: given.states ?? new Map(),
    shown: given.shown ?? new Map(),
    told: given.told ?? [],
    commands: given.commands ?? [],
    drivers: given.drivers ?? [],
    isUp: given.isUp ?? true,
  };
  const { system, states, shown, told, commands } = world;
  const posted = new Map<string, PublishedState>();
  const hub = fakeHub(world, posted);
  const store = openStore(join(world.folder, 'store.db'), system);
  const { config } = loadConfig(given.yaml ?? YAML, join(world.folder, 'slackwater.yaml'));
  const path: AlarmPath = {
    name: 'test path',
    send: async (message) => {
      told.push(message);
      return { sent: true, tries: 1, detail: 'heard' };
    },
    stop: () => {},
  };
  const app = createApp({ config, hub: hub.port, store, system, simulated: false, dashboard: '', alarmPaths: [path] });
  const started = app.start();
  if (world.isUp) await started;
  else started.catch(() => {});
  // The loop and the answers of the hub go through the event loop of the machine, not through the clock.
  const settle = async (): Promise<void> => {
    for (let n = 0; n < 12; n++) await new Promise(setImmediate);
  };
  await settle();
  const home: GuardedHome = {
    app,
    system,
    commands,
    drivers: world.drivers,
    states,
    report: async (entities) => {
      hub.report(entities);
      await settle();
    },
    shown,
    told,
    published: (entity) => posted.get(entity),
    tell: async (values) => {
      for (const [entity, value] of Object.entries(values)) states.set(entity, value);
      hub.report(Object.keys(values));
      await settle();
    },
    link: async (up) => {
      world.isUp = up;
      hub.link(up);
      await settle();
    },
    wait: async (ms) => {
      for (let left = ms; left > 0; left -= 60_000) {
        system.advance(Math.min(left, 60_000));
        await settle();
      }
    },
    killed: async (yaml) => {
      // Nothing of the old one acts any more; what it had on disk is all the new one gets.
      hub.kill();
      store.close();
      return guardedHome({
        ...{ ...given, ...world },
        system: virtualSystem(system.clock.now()),
        ...(yaml === undefined ? {} : { yaml }),
      });
    },
    stop: async () => {
      await app.stop();
      rmSync(world.folder, { recursive: true, force: true });
    },
  };
  return home;
}

function fakeHub(world: World, posted: Map<string, PublishedState>) {
  const { system, states, shown, commands } = world;
  let handlers: HubHandlers | null = null;
  const reading = (entity: string): Reading => {
    const at = system.clock.now();
    return { entity, value: states.get(entity) ?? null, changedAt: at, reportedAt: at };
  };
  const away = (): Error => new Error('the hub is not connected');
  const asked = <T>(work: () => T): Promise<T> => (world.isUp ? Promise.resolve(work()) : Promise.reject(away()));
  const link = (up: boolean): void => {
    const at = system.clock.now();
    handlers?.onLink(up ? { up, at, hubRestarted: false, restartedAt: null } : { up, at, reason: 'taken away' });
    if (up) handlers?.onReadings([...states.keys()].map(reading));
  };
  const port: HubPort = {
    start: (given) => {
      handlers = given;
      if (!world.isUp) return new Promise(() => {});
      link(true);
      return Promise.resolve({ version: '2025.4.0', timeZone: 'UTC', clockSkewMs: 0 });
    },
    stop: async () => {},
    async *history() {},
    refresh: async (entities) => entities.map(reading),
    command: async (command) => {
      if (!world.isUp) return { outcome: 'refused', detail: 'not sent: the hub is not connected' };
      commands.push(command);
      states.set(command.entity, command.turn === 'on' ? 1 : 0);
      return { outcome: 'confirmed', detail: '' };
    },
    driver: async (entity, turn) => {
      if (!world.isUp) return { outcome: 'refused', detail: 'not sent: the hub is not connected' };
      world.drivers.push(`${turn} ${entity}`);
      states.set(entity, turn === 'resume' ? 1 : 0);
      handlers?.onReadings([reading(entity)]);
      return { outcome: 'confirmed', detail: '' };
    },
    publish: async (all) => {
      for (const state of all) posted.set(state.entity, state);
      return true;
    },
    ensureButtons: async () => new Map(),
    leaveMark: async () => {},
    notify: async () => ({ existing: false, missingServices: [] }),
    tell: ({ key, message }) => asked(() => void shown.set(key, message)),
    clearNotification: (key) => asked(() => void shown.delete(key)),
    installDashboard: async () => {},
  };
  return {
    port,
    link,
    report: (entities: readonly string[]) => {
      if (world.isUp) handlers?.onReadings(entities.map(reading));
    },
    kill: () => {
      handlers = null;
    },
  };
}
