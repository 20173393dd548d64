import { cp, mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { eventually } from './eventually.ts';
import { type HubClient, HubError, hubClient, rest } from './hub-client.ts';
import { configurationYaml, packagesFolder } from './hub-config.ts';
import { freePort, type HubProcess, hubLog, hubLogTail, removeAtExit, spawnHub } from './hub-process.ts';
import { prepareHub } from './prepare.ts';
import { markRan } from './ran.ts';

/** A test's context or node:test itself: something that runs a hook at its end. */
export type AtEnd = { readonly after: (hook: () => Promise<void>) => void };

export type RealHubOptions = {
  /** IANA zone of the home; UTC unless said. */
  readonly timeZone?: string;
  /** Days the recorder keeps; purging happens only when a test calls recorder.purge. */
  readonly purgeKeepDays?: number;
  /** YAML text by package name; the hub merges packages itself, so two may both have `template:`. */
  readonly packages?: Readonly<Record<string, string>>;
  /** States that helpers wake up with at the first boot, as if remembered from before: no change is recorded for them. */
  readonly remembered?: Readonly<Record<string, string>>;
  /** When given, the hub is stopped and its folder removed at the end of that test. */
  readonly test?: AtEnd;
};

export type RealHub = {
  readonly url: string;
  readonly wsUrl: string;
  readonly port: number;
  /** The hub's configuration folder. */
  readonly dir: string;
  /** Long-lived token of the owner. */
  readonly token: string;
  readonly userId: string;
  readonly running: () => boolean;
  /** A socket logged in as the owner, or with another token. */
  connect(token?: string): Promise<HubClient>;
  /** Boots on the same folder, port and token; resolves when the hub says RUNNING. */
  start(): Promise<void>;
  /** Ends it as a clean shut-down does. */
  stop(): Promise<void>;
  /** A clean shut-down and a new boot. The shut-down takes 10 s longer while a built-in WebSocket is open to the hub. */
  restart(): Promise<void>;
  /**
   * Ends it like a power cut. A helper's state is remembered only as of the hub's last save (every 15 min), so by default
   * we have it saved first: a plug does not forget its relay because the hub died. `forgetful` leaves that out.
   */
  kill(options?: { readonly forgetful?: boolean }): Promise<void>;
  /** Freezes the process with its sockets open: the link looks alive and says nothing. */
  freeze(): void;
  thaw(): void;
  /** The hub's own log so far. */
  log(): Promise<string>;
  /** Resident memory in bytes; undefined where the system does not tell. */
  memoryBytes(): Promise<number | undefined>;
  /** Stops it if needed and removes its folder. */
  dispose(): Promise<void>;
};

const bootLimitMs = 240_000;

/** What the hub reads as the last known states of its helpers. */
function restoreState(remembered: Readonly<Record<string, string>>): string {
  const at = new Date().toISOString();
  const context = { id: '01J00000000000000000000000', parent_id: null, user_id: null };
  const data = Object.entries(remembered).map(([entity, state]) => ({
    state: {
      entity_id: entity,
      state,
      attributes: {},
      last_changed: at,
      last_reported: at,
      last_updated: at,
      context,
    },
    extra_data: null,
    last_seen: at,
  }));
  return JSON.stringify({ version: 1, minor_version: 1, key: 'core.restore_state', data });
}

async function makeFolder(template: string, port: number, options: RealHubOptions): Promise<string> {
  const dir = await mkdtemp(join(tmpdir(), 'slackwater-hub-'));
  await cp(template, dir, { recursive: true });
  await mkdir(join(dir, packagesFolder), { recursive: true });
  const config = {
    port,
    timeZone: options.timeZone ?? 'UTC',
    purgeKeepDays: options.purgeKeepDays ?? 10,
    packages: options.packages ?? {},
  };
  await writeFile(join(dir, 'configuration.yaml'), configurationYaml(config));
  for (const [name, yaml] of Object.entries(config.packages)) {
    await writeFile(join(dir, packagesFolder, `${name}.yaml`), yaml);
  }
  await writeFile(join(dir, '.storage', 'core.restore_state'), restoreState(options.remembered ?? {}));
  return dir;
}

/** Waits for RUNNING. A hub that fell back to its recovery mode has thrown the test's configuration away. */
async function waitUntilRunning(url: string, token: string, hub: HubProcess, dir: string): Promise<void> {
  type State = { readonly state: string; readonly recovery_mode: boolean };
  const running = eventually(
    `the hub at ${url} to run`,
    async () => {
      if (!hub.running()) return { ended: true, refused: false, recovery: false };
      const config = await rest<State>({ url, token }, 'GET', '/api/config').catch((error: unknown) => {
        if (error instanceof HubError && error.code === 'http_401') return undefined;
        throw error;
      });
      if (config === undefined) return { ended: false, refused: true, recovery: false };
      return config.state === 'RUNNING' ? { ended: false, refused: false, recovery: config.recovery_mode } : undefined;
    },
    { limitMs: bootLimitMs, everyMs: 50 },
  );
  const outcome = await running.catch(async (error: unknown) => {
    throw new Error(`the hub did not come up:\n${await hubLogTail(dir)}`, { cause: error });
  });
  if (outcome.ended) throw new Error(`the hub ended while starting:\n${await hubLogTail(dir)}`);
  if (outcome.refused) throw new Error(`the hub at ${url} does not know the token made at its first set-up`);
  if (outcome.recovery) throw new Error(`the hub refused the test's configuration:\n${await hubLogTail(dir)}`);
}

// SLACKWATER_KEEP leaves the folders for a look at the hub's log and database.
const keepsFolders = process.env['SLACKWATER_KEEP'] !== undefined;

type Keeper = {
  readonly process: () => HubProcess | undefined;
  boot(): Promise<void>;
  end(signal: 'SIGTERM' | 'SIGKILL'): Promise<void>;
};

/** Does for the hub's process what a service manager does at home. */
function keepHub(venvBin: string, dir: string, url: string, token: string): Keeper {
  let hub: HubProcess | undefined;
  return {
    process: () => hub,
    async boot() {
      if (hub?.running() === true) throw new Error('the hub runs already');
      hub = spawnHub(venvBin, dir);
      await waitUntilRunning(url, token, hub, dir);
    },
    async end(signal) {
      const ending = hub;
      hub = undefined;
      if (ending === undefined || !ending.running()) return;
      ending.signal('SIGCONT');
      ending.signal(signal);
      await ending.exited;
    },
  };
}

async function memoryBytes(pid: number | undefined): Promise<number | undefined> {
  const status = await readFile(`/proc/${pid}/status`, 'utf8').catch(() => '');
  const kib = /VmRSS:\s+(\d+) kB/.exec(status)?.[1];
  return kib === undefined ? undefined : Number(kib) * 1024;
}

/** Boots a real hub of its own for one test: own folder, own port, nobody else's data. */
export async function startRealHub(options: RealHubOptions = {}): Promise<RealHub> {
  const { token, userId, venvBin, template } = await prepareHub();
  const port = await freePort();
  const dir = await makeFolder(template, port, options);
  if (!keepsFolders) removeAtExit(dir);
  const url = `http://127.0.0.1:${port}`;
  const keeper = keepHub(venvBin, dir, url, token);

  const real: RealHub = {
    url,
    wsUrl: `${url.replace(/^http/, 'ws')}/api/websocket`,
    port,
    dir,
    token,
    userId,
    running: () => keeper.process()?.running() === true,
    connect: (otherToken = token) => hubClient(url, otherToken),
    start: keeper.boot,
    stop: () => keeper.end('SIGTERM'),
    async restart() {
      await keeper.end('SIGTERM');
      await keeper.boot();
    },
    async kill({ forgetful = false } = {}) {
      if (!forgetful) await rest({ url, token }, 'POST', '/api/services/homeassistant/save_persistent_states', {});
      await keeper.end('SIGKILL');
    },
    freeze: () => keeper.process()?.signal('SIGSTOP'),
    thaw: () => keeper.process()?.signal('SIGCONT'),
    log: () => hubLog(dir),
    memoryBytes: () => memoryBytes(keeper.process()?.pid),
    async dispose() {
      await keeper.end('SIGKILL');
      if (!keepsFolders) await rm(dir, { recursive: true, force: true });
    },
  };
  options.test?.after(() => real.dispose());
  try {
    await keeper.boot();
  } catch (error) {
    await real.dispose();
    throw error;
  }
  markRan('real-hub');
  return real;
}
