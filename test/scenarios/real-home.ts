// The whole product on a real hub: a small tank whose plugs, sensors and heater automation live in the hub, its
// configuration, and the service itself with a real store and a real API. Shared by the scenarios on the real hub.
import { mkdtemp, rm, writeFile } from 'node:fs/promises';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { stringify } from 'yaml';
import type { RunningService } from '../../src/cli/run-service.ts';
import { freePort } from '../support/hub-process.ts';
import {
  createPerson,
  eventually,
  getStates,
  type HistoryRow,
  type HubClient,
  type HubPerson,
  type HubState,
  historyOf,
  hubClient,
  type Phone,
  pairPhone,
  postState,
  press,
  type RealHub,
  startRealHub,
} from '../support/index.ts';
import { FAST, type Pace, startRealService } from './real-service.ts';
import { configOf, homeOptions, type Thermostat } from './real-tank.ts';

/** A press sooner after the question is a reflex and is not taken. */
const THINK_MS = 2_000;

export const SESSION = 'sensor.slackwater_session';
const MARK = 'sensor.test_mark';
const ASKING = 'binary_sensor.slackwater_confirmation_awaited';

/** A person reads what has just appeared before pressing anything. */
export async function readForTwoSeconds(): Promise<void> {
  const since = performance.now();
  await eventually('two seconds to have passed', () => performance.now() - since > THINK_MS + 100, { everyMs: 50 });
}

export type Who = 'robin' | 'sam' | 'nobody';

export type Change = HistoryRow & { readonly entity: string };

export type Notice = { readonly notification_id: string; readonly title: string; readonly message: string };

export type RealHome = {
  readonly hub: RealHub;
  readonly robin: HubPerson;
  readonly sam: HubPerson;
  /** Robin's phone, where one was asked for. */
  readonly phone: Phone | null;
  readonly folder: string;
  readonly configFile: string;
  /** Everything the service logged, over every run of it. */
  readonly log: readonly string[];
  service(): RunningService;
  /** At the fast pace unless told otherwise. */
  startService(pace?: Pace): Promise<RunningService>;
  /** As the computer's own shut-down would. */
  stopService(): Promise<void>;
  /** A socket of the hub's owner, whom the configuration does not name; a new one where the hub closed the last. */
  owner(): Promise<HubClient>;
  /** Presses a helper button of ours in the hub. `nobody` is the owner's token, behind which no listed person stands. */
  pressAs(who: Who, button: string): Promise<void>;
  /** What the hub shows of the session. */
  session(): Promise<HubState>;
  /** Waits until the hub shows this step as the one that is open. */
  atStep(step: string): Promise<HubState>;
  /** Waits until the hub asks for this step and gives what it shows. */
  asked(step: string): Promise<HubState>;
  /** Waits for the question, reads it for two seconds, presses confirm, and waits until another state shows. */
  confirmAs(who: Exclude<Who, 'nobody'>, step: string): Promise<void>;
  /** Waits until the hub shows the session in this state. */
  sessionIs(status: string): Promise<HubState>;
  /** Changes of these entities after `fromMs` as the hub's own recorder has them, in order; waits for the recorder. */
  changesSince(entities: readonly string[], fromMs: number): Promise<readonly Change[]>;
  notices(): Promise<readonly Notice[]>;
  /** Waits for a notification whose text matches. */
  notice(pattern: RegExp): Promise<Notice>;
  dispose(): Promise<void>;
};

export type RealHomeOptions = {
  /** On-time on the lamp's tubes when counting begins; none unless said. */
  readonly tubesUsed?: string;
  readonly withPhone?: boolean;
  readonly worn?: boolean;
  /** The service is started only when a test does so. */
  readonly unstarted?: boolean;
  /** What drives the heater in the hub: an automation unless said. */
  readonly thermostat?: Thermostat;
};

type Sockets = { of(token: string): Promise<HubClient>; close(): Promise<void> };

/** One socket a token, opened anew after the hub ended it. */
function keepSockets(hub: RealHub): Sockets {
  const open = new Map<string, Promise<HubClient>>();
  return {
    of: (token) => {
      const known = open.get(token);
      if (known !== undefined) return known;
      const made = hubClient(hub.url, token);
      open.set(token, made);
      made.then(
        (client) => client.closed.then(() => open.delete(token)),
        () => open.delete(token),
      );
      return made;
    },
    close: async () => {
      for (const client of await Promise.allSettled(open.values())) {
        if (client.status === 'fulfilled') await client.value.close();
      }
    },
  };
}

/** Boots hub and tank and, unless told otherwise, runs the service on them. */
export async function startRealHome(options: RealHomeOptions = {}): Promise<RealHome> {
  const folder = await mkdtemp(join(tmpdir(), 'slackwater-home-'));
  const hub = await startRealHub(homeOptions(options.thermostat));
  const sockets = keepSockets(hub);
  const owner = (): Promise<HubClient> => sockets.of(hub.token);
  const robin = await createPerson(await owner(), 'Robin');
  const sam = await createPerson(await owner(), 'Sam');
  const phone =
    options.withPhone === true ? await pairPhone({ url: hub.url, token: robin.token }, 'Robin phone') : null;
  const configFile = join(folder, 'slackwater.yaml');
  const configYaml = stringify(
    configOf({
      hubUrl: hub.url,
      apiPort: await freePort(),
      robin: robin.userId,
      sam: sam.userId,
      notify: phone === null ? [] : [phone.service],
      tubesUsed: options.tubesUsed ?? '0 h',
      worn: options.worn === true,
      ...(options.thermostat === undefined ? {} : { thermostat: options.thermostat }),
    }),
  );
  await writeFile(configFile, configYaml);
  await writeFile(join(folder, 'hub-token'), `${hub.token}\n`, { mode: 0o600 });

  const log: string[] = [];
  let running: RunningService | null = null;
  const startService = async (pace: Pace = FAST): Promise<RunningService> => {
    if (running !== null) throw new Error('the service runs already');
    const write = (line: string): void => void log.push(line.trimEnd());
    running = await startRealService({ configFile, hubToken: hub.token, write, pace });
    let isSettled = false;
    void running.app.settled().then(() => {
      isSettled = true;
    });
    await eventually('the service to have read the past', () => isSettled).catch((error: unknown) => {
      throw new Error(`never settled:\n${log.slice(-25).join('\n')}`, { cause: error });
    });
    return running;
  };
  const stopService = async (): Promise<void> => {
    const ending = running;
    running = null;
    await ending?.stop();
  };
  const tokenOf = (who: Who): string => ({ robin: robin.token, sam: sam.token, nobody: hub.token })[who];

  const home: RealHome = {
    hub,
    robin,
    sam,
    phone,
    folder,
    configFile,
    log,
    service: () => {
      if (running === null) throw new Error('the service does not run');
      return running;
    },
    startService,
    stopService,
    owner,
    pressAs: async (who, button) => press(await sockets.of(tokenOf(who)), `input_button.slackwater_${button}`),
    ...watching(owner, (who) => home.pressAs(who, 'confirm'), log),
    async dispose() {
      await stopService();
      await sockets.close();
      await phone?.close();
      await hub.dispose();
      await rm(folder, { recursive: true, force: true });
    },
  };
  try {
    if (options.unstarted !== true) await startService();
  } catch (error) {
    await home.dispose();
    throw error;
  }
  return home;
}

type Watching = Pick<
  RealHome,
  'session' | 'atStep' | 'asked' | 'confirmAs' | 'sessionIs' | 'changesSince' | 'notices' | 'notice'
>;

/** What a person sees in the hub, and does about it. */
function watching(
  owner: () => Promise<HubClient>,
  pressConfirm: (who: Who) => Promise<void>,
  log: readonly string[],
): Watching {
  const shown = async (): Promise<ReadonlyMap<string, HubState>> => getStates(await owner());
  const notices = async (): Promise<readonly Notice[]> =>
    (await owner()).call<readonly Notice[]>({ type: 'persistent_notification/get' });
  const seen = async (what: string, accepts: (session: HubState, asking: boolean) => boolean): Promise<HubState> => {
    let last: HubState | undefined;
    return eventually(
      what,
      async () => {
        const states = await shown();
        last = states.get(SESSION);
        return last !== undefined && accepts(last, states.get(ASKING)?.state === 'on') ? last : undefined;
      },
      { limitMs: 120_000, everyMs: 50 },
    ).catch((error: unknown) => {
      const is = last?.attributes ?? {};
      const text = is['hold'] ?? is['prompt'] ?? is['step_text'];
      const now = `${last?.state}, step ${is['step']}: ${text}`;
      throw new Error(`never seen: ${what}. The hub shows ${now}\n${log.slice(-25).join('\n')}`, { cause: error });
    });
  };
  const asked = (step: string): Promise<HubState> =>
    seen(`a question about ${step}`, ({ attributes }, asking) => asking && attributes['step'] === step);
  return {
    session: async () => seen('a session state', () => true),
    atStep: (step) => seen(`the session at ${step}`, ({ attributes }) => attributes['step'] === step),
    asked,
    async confirmAs(who, step) {
      const nonce = (await asked(step)).attributes['nonce'];
      await readForTwoSeconds();
      await pressConfirm(who);
      await seen(`the answer to ${step} to be taken`, ({ attributes }) => attributes['nonce'] !== nonce);
    },
    sessionIs: (status) => seen(`the session to be ${status}`, ({ state }) => state === status),
    changesSince: async (entities, fromMs) => {
      const hub = await owner();
      // The recorder writes in order: once this row is there, all before it are.
      const mark = String(performance.now());
      await postState(hub, MARK, mark);
      return eventually('the recorder to have caught up', async () => {
        const rows = await historyOf(hub, [...entities, MARK], fromMs, Date.now() + 1000);
        if (rows.get(MARK)?.at(-1)?.state !== mark) return undefined;
        return (
          [...rows]
            .filter(([entity]) => entity !== MARK)
            // The first row is the state at `fromMs`.
            .flatMap(([entity, list]) => list.slice(1).map((row) => ({ entity, ...row })))
            .toSorted((a, b) => a.atMs - b.atMs)
        );
      });
    },
    notices,
    notice: (pattern) =>
      eventually(`a notification like ${pattern}`, async () =>
        (await notices()).find(({ title, message }) => pattern.test(`${title}\n${message}`)),
      ),
  };
}
