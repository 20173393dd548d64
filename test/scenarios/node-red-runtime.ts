import { type ChildProcess, fork } from 'node:child_process';
import { createCipheriv, createHash, randomBytes } from 'node:crypto';
import { mkdir, mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { type AddressInfo, createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import { buildNodes, PACKAGE_NAME } from '../../src/nodes/index.ts';
import { eventually } from '../support/index.ts';
import type { FromNodeRed, ToNodeRed } from './node-red-bridge.ts';

const HERE = dirname(fileURLToPath(import.meta.url));
const SECRET = 'a stable secret of this scenario';

export type FlowNode = { readonly id: string; readonly type: string; readonly [key: string]: unknown };

export type NodeRedRun = {
  readonly port: number;
  readonly folder: string;
  /** Messages that reached a node, oldest first. */
  received(node: string): readonly Readonly<Record<string, unknown>>[];
  /** What a node showed, oldest first. */
  statuses(node: string): readonly Readonly<Record<string, unknown>>[];
  press(node: string, message?: Readonly<Record<string, unknown>>): void;
  /** All it wrote to its two outputs so far. */
  output(): string;
  alive(): boolean;
  /** Asks it to end and gives its exit code. */
  stop(): Promise<number | null>;
  remove(): Promise<void>;
};

/** A flow file as it is shipped. */
export async function shippedFlow(name: string): Promise<FlowNode[]> {
  return JSON.parse(await readFile(resolve(HERE, '../../flows', name), 'utf8')) as FlowNode[];
}

/** Another Node-RED than the installed one can be named, to try a version. */
function nodeRedFolder(): string {
  const named = process.env['SLACKWATER_NODE_RED'];
  if (named !== undefined && named !== '') return named;
  return dirname(createRequire(import.meta.url).resolve('node-red/package.json'));
}

async function freePort(): Promise<number> {
  const server = createServer().listen(0, '127.0.0.1');
  await new Promise((done) => server.once('listening', done));
  const { port } = server.address() as AddressInfo;
  await new Promise((done) => server.close(done));
  return port;
}

/** As Node-RED stores them itself: nothing readable on disk. */
function encrypted(credentials: Readonly<Record<string, { readonly token: string }>>): string {
  const key = createHash('sha256').update(SECRET).digest();
  const start = randomBytes(16);
  const cipher = createCipheriv('aes-256-ctr', key, start);
  const text = cipher.update(JSON.stringify(credentials), 'utf8', 'base64') + cipher.final('base64');
  return JSON.stringify({ $: start.toString('hex') + text });
}

/** The real runtime in a process of its own, headless, with our built nodes installed as npm would install them. */
export async function startNodeRed(
  flow: readonly FlowNode[],
  credentials: Readonly<Record<string, { readonly token: string }>>,
): Promise<NodeRedRun> {
  const folder = await mkdtemp(join(tmpdir(), 'slackwater-node-red-'));
  const port = await freePort();
  await buildNodes(join(folder, 'node_modules', PACKAGE_NAME));
  await writeFile(join(folder, 'flows.json'), JSON.stringify(flow));
  await writeFile(join(folder, 'flows_cred.json'), encrypted(credentials));
  await mkdir(join(folder, 'lib'), { recursive: true });
  await writeFile(join(folder, 'package.json'), JSON.stringify({ name: 'scenario', private: true }));
  const settings = {
    uiHost: '127.0.0.1',
    uiPort: port,
    httpAdminRoot: false,
    httpNodeRoot: '/',
    disableEditor: true,
    userDir: folder,
    flowFile: 'flows.json',
    credentialSecret: SECRET,
    functionExternalModules: false,
    externalModules: { autoInstall: false, palette: { allowInstall: false }, modules: { allowInstall: false } },
    // The most it can say: whatever must not be said is looked for in it.
    logging: { console: { level: 'trace', metrics: false, audit: true } },
  };
  const nodeRed = nodeRedFolder();
  const settingsFile = join(folder, 'settings.cjs');
  const bridgeFile = join(HERE, 'node-red-bridge.ts');
  await writeFile(
    settingsFile,
    `require(${JSON.stringify(bridgeFile)}).bridge(require(${JSON.stringify(nodeRed)}));
     module.exports = ${JSON.stringify(settings)};\n`,
  );
  const child = fork(join(nodeRed, 'red.js'), ['--settings', settingsFile], {
    stdio: ['ignore', 'pipe', 'pipe', 'ipc'],
    execArgv: [],
    env: { PATH: process.env['PATH'], HOME: folder, TZ: 'UTC' },
  });
  const run = running(child, port, folder);
  await run.started.catch(async (error: unknown) => {
    await run.stop();
    await run.remove();
    throw error;
  });
  return run;
}

function running(child: ChildProcess, port: number, folder: string): NodeRedRun & { started: Promise<unknown> } {
  const heard: FromNodeRed[] = [];
  let output = '';
  const exit = new Promise<number | null>((done) => child.once('exit', done));
  child.on('message', (message) => heard.push(message as FromNodeRed));
  for (const stream of [child.stdout, child.stderr]) {
    stream?.setEncoding('utf8').on('data', (text: string) => {
      output += text;
    });
  }
  const alive = (): boolean => child.exitCode === null && child.signalCode === null;
  return {
    port,
    folder,
    started: eventually('Node-RED starts its flows', () => {
      if (!alive()) throw new Error(`Node-RED ended: ${output}`);
      return heard.some(({ kind }) => kind === 'started');
    }).catch((error: unknown) => {
      throw new Error(`${String(error)}\n${output}`);
    }),
    received: (node) => heard.flatMap((one) => (one.kind === 'received' && one.node === node ? [one.message] : [])),
    statuses: (node) => heard.flatMap((one) => (one.kind === 'status' && one.node === node ? [one.status] : [])),
    press(node, message) {
      const order: ToNodeRed = message === undefined ? { deliver: node } : { deliver: node, message };
      child.send(order);
    },
    output: () => output,
    alive,
    async stop() {
      if (alive()) child.kill('SIGTERM');
      return await exit;
    },
    remove: () => rm(folder, { recursive: true, force: true }),
  };
}
