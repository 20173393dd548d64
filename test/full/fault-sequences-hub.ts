// The hub of the fault sequences: what it shows, what devices tell it, and how it is ended and begun again.
import { mkdir, readFile, writeFile } from 'node:fs/promises';
import { join } from 'node:path';
import { eventually, getStates, type HubClient, type HubState, type RealHub, rest } from '../support/index.ts';
import { FENCE, said, WORDS } from './fault-sequences-home.ts';

type Seen = { readonly state: string; readonly attributes: Readonly<Record<string, unknown>> };

type Compressed = {
  readonly a?: Readonly<Record<string, { readonly s: string; readonly a?: Readonly<Record<string, unknown>> }>>;
  readonly c?: Readonly<
    Record<string, { readonly '+'?: { readonly s?: string; readonly a?: Readonly<Record<string, unknown>> } }>
  >;
  readonly r?: readonly string[];
};

export type FaultHub = {
  readonly up: () => boolean;
  /** Looks at these entities from now on. */
  watch(entities: readonly string[]): Promise<void>;
  shown(entity: string): Seen | undefined;
  /** The device of this sequence tells the hub a text; resolves when its entity shows it. */
  tell(id: string, entity: string, text: string): Promise<void>;
  call(command: { readonly type: string; readonly [key: string]: unknown }): Promise<unknown>;
  /** Writes past every integration. */
  post(entity: string, body: Readonly<Record<string, unknown>>): Promise<void>;
  remove(entity: string): Promise<void>;
  states(): Promise<ReadonlyMap<string, HubState>>;
  stop(): Promise<void>;
  /** Without a warning: helpers are remembered as of the hub's last save. */
  kill(): Promise<void>;
  /** Boots; the devices are asked while it starts and say these texts. */
  start(texts: ReadonlyMap<string, string>): Promise<void>;
};

/** The hub's own default; the test hub writes at once otherwise. From the next start on. */
export async function slowRecorder(dir: string): Promise<void> {
  const file = join(dir, 'configuration.yaml');
  const yaml = await readFile(file, 'utf8');
  const slow = yaml.replace('commit_interval: 0', 'commit_interval: 5');
  if (slow === yaml) throw new Error('the hub’s configuration sets no commit_interval of 0');
  await writeFile(file, slow);
}

/** By how much the hub's clock may be off, to either side, anew at each look. */
export const JITTER_MS = 200;

const JITTER = `
import random, time
steady, dice = time.time, random.Random(20260301)
time.time = lambda: steady() + dice.uniform(-${JITTER_MS / 1000}, ${JITTER_MS / 1000})
`;

/** Boots the hub while its Python takes the time from a clock that jitters; states are dated by it. */
export async function withJitter(folder: string, boot: () => Promise<void>): Promise<void> {
  await mkdir(folder, { recursive: true });
  await writeFile(join(folder, 'sitecustomize.py'), JITTER);
  process.env['PYTHONPATH'] = folder;
  try {
    await boot();
  } finally {
    delete process.env['PYTHONPATH'];
  }
}

/** What an entity shows when its device says this. */
export function shownFor(text: string): string {
  if (text === WORDS.unavailable) return 'unavailable';
  return text === WORDS.unknown ? 'unknown' : text;
}

type Stored = { readonly state: { readonly entity_id: string; readonly [key: string]: unknown } };

/** A device that is polled at start says what it is now, not what the hub remembers. */
async function editMemory(dir: string, texts: ReadonlyMap<string, string>): Promise<void> {
  const file = join(dir, '.storage', 'core.restore_state');
  const memory = JSON.parse(await readFile(file, 'utf8')) as { readonly data: readonly Stored[] };
  const byHelper = new Map([...texts].map(([id, text]) => [said(id), text]));
  const data = memory.data.map((entry) => {
    const text = byHelper.get(entry.state.entity_id);
    return text === undefined ? entry : { ...entry, state: { ...entry.state, state: text } };
  });
  await writeFile(file, JSON.stringify({ ...memory, data }));
}

export async function faultHub(real: RealHub): Promise<FaultHub> {
  let client: HubClient | null = await real.connect();
  let watched: readonly string[] = [];
  const seen = new Map<string, Seen>();
  const socket = (): HubClient => {
    if (client === null) throw new Error('the hub is down');
    return client;
  };
  const take = ({ a = {}, c = {}, r = [] }: Compressed): void => {
    for (const [entity, full] of Object.entries(a)) seen.set(entity, { state: full.s, attributes: full.a ?? {} });
    for (const [entity, change] of Object.entries(c)) {
      const before = seen.get(entity);
      const attributes = { ...before?.attributes, ...change['+']?.a };
      seen.set(entity, { state: change['+']?.s ?? before?.state ?? '', attributes });
    }
    for (const entity of r) seen.delete(entity);
  };
  let endWatch = async (): Promise<void> => {};
  const watch = async (entities: readonly string[]): Promise<void> => {
    watched = entities;
    const first = Promise.withResolvers<void>();
    const end = await socket().subscribe({ type: 'subscribe_entities', entity_ids: entities }, (event) => {
      take(event as Compressed);
      first.resolve();
    });
    await first.promise;
    await endWatch();
    endWatch = end;
  };
  const leave = async (): Promise<void> => {
    const open = client;
    client = null;
    endWatch = async () => {};
    await open?.close();
    seen.clear();
  };
  return {
    up: () => client !== null,
    watch,
    shown: (entity) => seen.get(entity),
    async tell(id, entity, text) {
      const data = { entity_id: said(id), value: text };
      await socket().call({ type: 'call_service', domain: 'input_text', service: 'set_value', service_data: data });
      if (id === FENCE) return;
      const wanted = shownFor(text);
      await eventually(`${entity} to be ${wanted}`, () => seen.get(entity)?.state === wanted, { everyMs: 1 });
    },
    call: (command) => socket().call(command),
    post: async (entity, body) => void (await rest(real, 'POST', `/api/states/${entity}`, body)),
    remove: async (entity) => void (await rest(real, 'DELETE', `/api/states/${entity}`)),
    states: () => getStates(socket()),
    async stop() {
      await leave();
      await real.stop();
    },
    async kill() {
      await leave();
      await real.kill({ forgetful: true });
    },
    async start(texts) {
      await editMemory(real.dir, texts);
      await real.start();
      client = await real.connect();
      await watch(watched);
    },
  };
}
