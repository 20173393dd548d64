import { type ChildProcess, spawn } from 'node:child_process';
import { createWriteStream, rmSync } from 'node:fs';
import { readFile } from 'node:fs/promises';
import { createServer } from 'node:net';
import { delimiter, join } from 'node:path';

export type HubProcess = {
  readonly pid: number;
  /** Resolves with the exit code, or null when a signal ended it. */
  readonly exited: Promise<number | null>;
  readonly running: () => boolean;
  signal(signal: 'SIGTERM' | 'SIGKILL' | 'SIGSTOP' | 'SIGCONT'): void;
};

// The hub must not outlive the test, not even one that was killed outright: on Linux the kernel then ends it too.
const launcher = `
import ctypes, sys
try:
    ctypes.CDLL(None).prctl(1, 9)
except Exception:
    pass
from homeassistant.__main__ import main
sys.exit(main())
`;

const alive = new Set<ChildProcess>();
const folders = new Set<string>();

function cleanUp(): void {
  for (const child of alive) child.kill('SIGKILL');
  for (const folder of folders) rmSync(folder, { recursive: true, force: true });
}

let guarded = false;

/** Node runs no exit handler for a signal without a listener, and the test runner ends files by signal. */
function guardExit(): void {
  if (guarded) return;
  guarded = true;
  process.on('exit', cleanUp);
  for (const [signal, code] of [
    ['SIGINT', 130],
    ['SIGTERM', 143],
    ['SIGHUP', 129],
  ] as const) {
    process.on(signal, () => process.exit(code));
  }
}

/** A test that dies on its way leaves no folder behind. */
export function removeAtExit(folder: string): void {
  guardExit();
  folders.add(folder);
}

/** Starts the hub on a configuration folder. Its whole output goes to console.log in that folder. */
export function spawnHub(venvBin: string, dir: string): HubProcess {
  guardExit();
  const output = createWriteStream(join(dir, 'console.log'), { flags: 'a' });
  const child = spawn(join(venvBin, 'python'), ['-c', launcher, '-c', dir, '--log-no-color'], {
    // The hub installs what its integrations need with the uv beside its own Python.
    env: {
      ...process.env,
      PATH: `${venvBin}${delimiter}${process.env['PATH'] ?? ''}`,
      VIRTUAL_ENV: join(venvBin, '..'),
    },
    stdio: ['ignore', 'pipe', 'pipe'],
  });
  alive.add(child);
  child.stdout.pipe(output, { end: false });
  child.stderr.pipe(output, { end: false });
  const exited = new Promise<number | null>((resolve, reject) => {
    child.once('error', reject);
    child.once('exit', (code) => {
      alive.delete(child);
      output.end();
      resolve(code);
    });
  });
  return {
    pid: child.pid ?? -1,
    exited,
    running: () => alive.has(child),
    signal: (signal) => void child.kill(signal),
  };
}

/** The end of the log, for error messages. */
export async function hubLogTail(dir: string): Promise<string> {
  return (await hubLog(dir)).split('\n').slice(-60).join('\n');
}

/** All the hub wrote since the folder was made, over every boot. */
export async function hubLog(dir: string): Promise<string> {
  return readFile(join(dir, 'console.log'), 'utf8').catch(() => '');
}

/** A port nobody listens on just now. */
export async function freePort(): Promise<number> {
  const server = createServer();
  await new Promise<void>((resolve, reject) => {
    server.once('error', reject);
    server.listen(0, '127.0.0.1', resolve);
  });
  const address = server.address();
  await new Promise((resolve) => server.close(resolve));
  if (address === null || typeof address === 'string') throw new Error('the system gave no port');
  return address.port;
}
