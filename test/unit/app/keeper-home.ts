// A service on a hub that is a list of rows: for what a keeper does to the record, without sockets and on a clock that stands.
import { mkdtempSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { type App, createApp, withSources } from '../../../src/app/index.ts';
import { loadConfig } from '../../../src/config/index.ts';
import { openStore } from '../../../src/io/store/index.ts';
import { type VirtualSystem, virtualSystem } from '../../../src/io/system/index.ts';
import type { Actor } from '../../../src/model/index.ts';
import { type HourStatistic, mergeByTime, type Observation } from '../../../src/observe/index.ts';
import type { HubHandlers, HubPort } from '../../../src/ports/index.ts';

export const T0 = Date.UTC(2026, 0, 10);
export const ana: Actor = { kind: 'person', name: 'Ana', via: 'api' };

export type KeeperHome = {
  readonly app: App;
  readonly system: VirtualSystem;
  /** Live observations at the present moment, worked off. */
  tell(values: Readonly<Record<string, number | null>>): Promise<void>;
  /** Live observations as they are, worked off. */
  tellRows(rows: readonly Observation[]): Promise<void>;
  /** The same store and hub, started anew. */
  restart(): Promise<KeeperHome>;
  stop(): Promise<void>;
};

export type HomeOptions = {
  readonly rows?: readonly Observation[];
  readonly hours?: readonly HourStatistic[];
  readonly folder?: string;
  readonly system?: VirtualSystem;
  /** Where the hub does otherwise; it may then never have been read to the end. */
  readonly hub?: Partial<HubPort>;
};

export const observed = (entity: string, at: number, value: number | null): Observation => ({
  entity,
  value,
  at,
  receivedAt: at,
  origin: 'history',
});

/** The rows of a hub that keeps all it was told; a query begins with the state held at its beginning, as hubs do. */
function rowsBetween(rows: readonly Observation[], entities: readonly string[], from: number, to: number) {
  return entities.flatMap((entity) => {
    const own = rows.filter((row) => row.entity === entity);
    const held = own.findLast((row) => row.at <= from);
    const inside = own.filter((row) => row.at > from && row.at <= to);
    return held === undefined ? inside : [{ ...held, at: from }, ...inside];
  });
}

function fakeHub(rows: Observation[], hours: readonly HourStatistic[], system: VirtualSystem) {
  let handlers: HubHandlers | null = null;
  const port: HubPort = {
    start: async (given) => {
      handlers = given;
      given.onLink({ up: true, at: system.clock.now(), hubRestarted: false, restartedAt: null });
      return { version: '2025.4.0', timeZone: 'UTC', clockSkewMs: 0 };
    },
    stop: async () => {},
    async *history({ entities, from, to }) {
      yield mergeByTime([rowsBetween(rows, entities, from, to)]);
    },
    async *statistics({ entities, from, to }) {
      yield hours.filter((hour) => entities.includes(hour.entity) && hour.from >= from && hour.to <= to);
    },
    reach: async () => ({ bridgeableMs: 10 * 86_400_000, hourly: [] }),
    refresh: async () => [],
    command: async () => ({ outcome: 'refused', detail: '' }),
    driver: async () => ({ outcome: 'refused', detail: '' }),
    leaveMark: async () => {},
    publish: async () => true,
    ensureButtons: async () => new Map(),
    notify: async () => ({ existing: false, missingServices: [] }),
    tell: async () => {},
    clearNotification: async () => {},
    installDashboard: async () => {},
  };
  const tell = (batch: readonly Observation[]): void => {
    rows.push(...batch);
    handlers?.onObservations(batch);
  };
  return { port, tell };
}

export async function keeperHome(yaml: string, options: HomeOptions = {}): Promise<KeeperHome> {
  const folder = options.folder ?? mkdtempSync(join(tmpdir(), 'slackwater-keeper-'));
  const system = options.system ?? virtualSystem(T0);
  const rows = [...(options.rows ?? [])];
  const hub = fakeHub(rows, options.hours ?? [], system);
  const store = openStore(join(folder, 'store.db'), system);
  const { config } = loadConfig(yaml, join(folder, 'slackwater.yaml'));
  const sourced = withSources(config, store, system.clock.now());
  const app = createApp({
    config: sourced.config,
    warnings: sourced.warnings,
    hub: { ...hub.port, ...options.hub },
    store,
    system,
    simulated: true,
    dashboard: '',
    version: '1.2.3',
  });
  await app.start();
  if (options.hub === undefined) await app.settled();
  return {
    app,
    system,
    tellRows: async (rows) => {
      hub.tell(rows);
      await app.settled();
    },
    tell: async (values) => {
      const at = system.clock.now();
      hub.tell(
        Object.entries(values).map(([entity, value]) => ({
          entity,
          value,
          at,
          receivedAt: at,
          origin: 'live' as const,
        })),
      );
      await app.settled();
    },
    restart: async () => {
      await app.stop();
      return keeperHome(yaml, { ...options, rows, folder, system });
    },
    stop: async () => {
      await app.stop();
      rmSync(folder, { recursive: true, force: true });
    },
  };
}
