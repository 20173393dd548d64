import { mkdir, readFile } from 'node:fs/promises';
import { dirname } from 'node:path';
import { type App, type AppOptions, createApp, DASHBOARD_PATH, seenBefore, withSources } from '../app/index.ts';
import type { Config } from '../config/index.ts';
import { sourceEntities } from '../count/index.ts';
import type { SlackwaterError } from '../errors/index.ts';
import { createHub, type HubOptions } from '../io/hub/index.ts';
import { openStore } from '../io/store/index.ts';
import type { EntityId, Tank } from '../model/index.ts';
import type { System, Timers } from '../ports/index.ts';
import { isDisplayLamp } from '../procedure/acclimation/index.ts';
import { NO_ENTITY } from '../record/index.ts';
import { type AccessGrant, ensureCredential, type RunningApi, startApi } from '../web/index.ts';
import type { AlarmWays } from './alarm-ways.ts';
import { unlessAborted } from './stop.ts';
import { programVersion } from './version.ts';

export type RunningService = { readonly app: App; readonly api: RunningApi; stop(): Promise<void> };

export type ServiceOptions = {
  readonly config: Config;
  readonly hubToken: string;
  readonly system: System;
  readonly simulated: boolean;
  readonly timeFactor?: number;
  readonly tickMs?: number;
  /** How far the hub's history has been read, 0 to 1, each time it is looked at. */
  readonly onProgress?: (share: number) => void;
  /** Aborting it before the hub was reached ends everything that was begun; its reason is thrown. */
  readonly signal?: AbortSignal;
  /** A counter was given another source; only a new start reads it. */
  readonly onSourcesChanged?: () => void;
  /** Ways for alarms beside the hub, and the sign of life. */
  readonly alarms?: AlarmWays;
  /** Deadlines and the like for tests on a fast clock. */
  readonly hub?: Partial<HubOptions>;
};

const LOOK_MS = 200;

const DASHBOARD = new URL('../../dashboards/slackwater.yaml', import.meta.url);

/** Builds the service from a checked configuration: hub, store, loop and API. Resolves when the hub has been reached. */
export async function runService(options: ServiceOptions): Promise<RunningService> {
  const { system } = options;
  await mkdir(dirname(options.config.storeFile), { recursive: true });
  let onDamaged = (_error: SlackwaterError): void => {};
  const store = openStore(options.config.storeFile, { ...system, onDamaged: (error) => onDamaged(error) });
  const { config, warnings } = withSources(options.config, store, system.clock.now());
  for (const warning of warnings) system.log.warn(warning);
  const seen = seenBefore(store);
  const hub = createHub({
    url: config.hub.url,
    token: options.hubToken,
    prefix: config.prefix,
    entities: entitiesOf(config.tank),
    system,
    lastSeenAt: seen.heardAt,
    hadMark: seen.watchedUntil !== null,
    sources: { read: () => store.setting('sources'), write: (text) => store.putSetting('sources', text) },
    openPath: `/${DASHBOARD_PATH}`,
    ...options.hub,
  });
  const app = createApp({
    config,
    hub,
    store,
    system,
    simulated: options.simulated,
    timeFactor: options.timeFactor ?? 1,
    ...(options.tickMs === undefined ? {} : { tickMs: options.tickMs }),
    dashboard: await readFile(DASHBOARD, 'utf8'),
    version: programVersion(),
    warnings,
    ...(options.alarms === undefined ? {} : { alarmPaths: options.alarms.paths, ...heartbeatOf(options.alarms) }),
    ...(options.onSourcesChanged === undefined ? {} : { onSourcesChanged: options.onSourcesChanged }),
  });
  onDamaged = app.storeDamaged;
  const access = await grants(config);
  let api: RunningApi;
  try {
    api = await startApi({ face: app, host: config.api.host, port: config.api.port, access, system });
  } catch (error) {
    await app.stop();
    throw error;
  }
  const { onProgress } = options;
  const timers = options.hub?.linkTimers ?? system.timers;
  const stopLooking = onProgress === undefined ? () => {} : lookAtProgress(app, timers, onProgress);
  const stop = async (): Promise<void> => {
    stopLooking();
    await api.close();
    await app.stop();
  };
  try {
    await unlessAborted(app.start(), options.signal);
  } catch (error) {
    await stop();
    throw error;
  }
  return { app, api, stop };
}

const heartbeatOf = ({ heartbeat }: AlarmWays): Pick<AppOptions, 'heartbeat'> =>
  heartbeat === null ? {} : { heartbeat };

/** Until history has been read once; returns a way to look no longer. */
function lookAtProgress(app: App, timers: Timers, onProgress: (share: number) => void): () => void {
  let isOver = false;
  let cancel = (): void => {};
  const look = (): void => {
    if (isOver) return;
    const share = app.progress();
    if (share !== null) onProgress(share);
    cancel = timers.after(LOOK_MS, 'progress', look);
  };
  const end = (): void => {
    isOver = true;
    cancel();
  };
  look();
  void app.settled().then(end);
  return end;
}

async function grants(config: Config): Promise<AccessGrant[]> {
  const found: AccessGrant[] = [];
  for (const { name, kind, tokenFile } of config.access)
    found.push({ name, kind, token: await ensureCredential(tokenFile) });
  return found;
}

const present = (list: readonly (EntityId | undefined)[]): EntityId[] => [
  ...new Set(list.filter((entity): entity is EntityId => entity !== undefined && entity !== NO_ENTITY)),
];

/** Everything the configuration names, sorted by what may be done with it. */
export function entitiesOf(tank: Tank): HubOptions['entities'] {
  const switches = tank.equipment.map((one) => one.switchEntity);
  const drivers = tank.equipment.map(({ driver }) => ('entity' in driver ? driver.entity : undefined));
  return {
    observe: present(tank.counters.flatMap(sourceEntities)),
    readings: present([
      ...switches,
      ...tank.equipment.map((one) => one.powerEntity),
      ...tank.sensors.map((sensor) => sensor.entity),
      ...drivers,
    ]),
    commandable: present(switches),
    lamps: present(tank.equipment.filter(isDisplayLamp).map((one) => one.switchEntity)),
    drivers: present(drivers),
  };
}
