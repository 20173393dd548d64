import { spawn } from 'node:child_process';
import { createHash } from 'node:crypto';
import { existsSync } from 'node:fs';
import { cp, mkdir, readdir, readFile, rm, writeFile } from 'node:fs/promises';
import { homedir } from 'node:os';
import { join, resolve } from 'node:path';
import { eventually } from './eventually.ts';
import { findPython } from './find-tools.ts';
import { hubClient, rest } from './hub-client.ts';
import { configurationYaml, hubVersion, packagesFolder } from './hub-config.ts';
import { freePort, hubLogTail, spawnHub } from './hub-process.ts';
import { tokenForCode } from './hub-talk.ts';
import { withLock } from './lock.ts';

export type InstalledHub = {
  readonly version: string;
  readonly venvBin: string;
  /** A hub's configuration folder after its first set-up: copied for each test hub. */
  readonly template: string;
  /** Long-lived token of the owner that the template knows. It opens nothing but test hubs on the loopback. */
  readonly token: string;
  readonly userId: string;
  readonly pythonVersion: string;
};

/** A mistake of the machine's set-up that its owner can mend; shown without a stack trace. */
export class MachineNotReady extends Error {}

// Raised when the template or the venv must be made anew although the hub's version and configuration stayed the same.
const recipe = 2;

/** One cache a user, so that clones in other folders need not install again. */
export async function cacheFolder(): Promise<string> {
  const told = process.env['SLACKWATER_CACHE'];
  if (told !== undefined && told !== '') return resolve(told);
  const perUser = join(process.env['XDG_CACHE_HOME'] ?? join(homedir(), '.cache'), 'slackwater');
  try {
    await mkdir(perUser, { recursive: true });
    return perUser;
  } catch {
    return join(import.meta.dirname, '../../.cache');
  }
}

type Tell = (line: string) => void;

async function runProgram(command: string, args: readonly string[], tell: Tell): Promise<void> {
  const child = spawn(command, args, { stdio: ['ignore', 'pipe', 'pipe'] });
  const kept: string[] = [];
  for (const stream of [child.stdout, child.stderr]) stream.on('data', (piece) => kept.push(String(piece)));
  const code = await new Promise((done, failed) => {
    child.once('error', failed);
    child.once('close', done);
  });
  if (code === 0) return;
  tell(kept.join('').trim());
  throw new MachineNotReady(`${[command, ...args].join(' ')} ended with ${code}; its output is above`);
}

async function makeVenv(venv: string, tell: Tell): Promise<void> {
  const python = await findPython();
  if (python === undefined) {
    throw new MachineNotReady(
      [
        `The test hub (${hubVersion}) needs Python 3.13 or newer with venv, ssl and sqlite3; none was found on PATH, in the pyenv`,
        'versions folder or among uv’s interpreters. Install one, for instance with:',
        '  apt-get install python3.13 python3.13-venv     (Debian 13, Ubuntu 25.04 and newer)',
        '  pyenv install 3.13     or     uv python install 3.13     or     brew install python@3.13',
      ].join('\n'),
    );
  }
  tell(`using Python ${python.version.join('.')} at ${python.path}`);
  await rm(venv, { recursive: true, force: true });
  await runProgram(python.path, ['-m', 'venv', venv], tell);
  const inVenv = join(venv, 'bin', 'python');
  await runProgram(inVenv, ['-m', 'pip', 'install', '--quiet', '--disable-pip-version-check', 'uv'], tell);
  tell(`installing the hub ${hubVersion} (about 500 MB, once per user)`);
  const uv = join(venv, 'bin', 'uv');
  await runProgram(uv, ['pip', 'install', '--quiet', '--python', inVenv, `homeassistant==${hubVersion}`], tell);
  // MQTT is set up at run time, where a download would spoil a test.
  const site = join(venv, 'lib', `python${python.version.join('.')}`, 'site-packages', 'homeassistant');
  const { requirements } = JSON.parse(await readFile(join(site, 'components/mqtt/manifest.json'), 'utf8')) as {
    readonly requirements: readonly string[];
  };
  const constraints = join(site, 'package_constraints.txt');
  await runProgram(uv, ['pip', 'install', '--quiet', '--python', inVenv, '-c', constraints, ...requirements], tell);
  await writeFile(join(venv, 'installed.json'), JSON.stringify({ recipe, pythonVersion: python.version.join('.') }));
}

/** Makes the owner and a long-lived token the way the hub's own first page does. */
async function onboard(url: string): Promise<{ readonly token: string; readonly userId: string }> {
  const response = await fetch(`${url}/api/onboarding/users`, {
    method: 'POST',
    headers: { 'content-type': 'application/json' },
    body: JSON.stringify({
      client_id: `${url}/`,
      name: 'Keeper',
      username: 'keeper',
      password: 'keeper-pass-1',
      language: 'en',
    }),
  });
  const { auth_code: code } = (await response.json()) as { readonly auth_code: string };
  const client = await hubClient(url, await tokenForCode(url, code));
  try {
    const token = await client.call<string>({
      type: 'auth/long_lived_access_token',
      client_name: 'Slackwater tests',
      lifespan: 3650,
    });
    const { id: userId } = await client.call<{ id: string }>({ type: 'auth/current_user' });
    return { token, userId };
  } finally {
    await client.close();
  }
}

async function isRunning(url: string, token: string): Promise<boolean> {
  const { state } = await rest<{ readonly state: string }>({ url, token }, 'GET', '/api/config');
  return state === 'RUNNING';
}

/** The first boot is the slow one: the hub installs what its integrations need, and an owner is made. */
async function makeTemplate(venvBin: string, template: string, tell: Tell): Promise<{ token: string; userId: string }> {
  const dir = `${template}.new`;
  await rm(dir, { recursive: true, force: true });
  await mkdir(join(dir, packagesFolder), { recursive: true });
  const port = await freePort();
  const yaml = configurationYaml({ port, timeZone: 'UTC', purgeKeepDays: 10, packages: {} });
  await writeFile(join(dir, 'configuration.yaml'), yaml);
  tell('first boot of the hub (it installs what its integrations need; up to a minute)');
  const hub = spawnHub(venvBin, dir);
  const url = `http://127.0.0.1:${port}`;
  const answered = eventually(
    'the hub to offer its first set-up',
    async () => (await fetch(`${url}/api/onboarding`)).ok,
    { limitMs: 400_000, everyMs: 250 },
  );
  const first = await Promise.race([
    answered.then(() => 'answered' as const),
    hub.exited.then(() => 'exited' as const),
  ]);
  if (first === 'exited') throw new MachineNotReady(`the hub ended at its first boot:\n${await hubLogTail(dir)}`);
  const owner = await onboard(url);
  // A hub that is told to stop while it is still starting may not write what it learned.
  await eventually('the hub to finish its first boot', () => isRunning(url, owner.token), {
    limitMs: 400_000,
    everyMs: 100,
  });
  await eventually('the hub to write the token down', async () => {
    const stored = await readFile(join(dir, '.storage', 'auth'), 'utf8');
    return stored.includes('long_lived_access_token');
  });
  hub.signal('SIGTERM');
  await hub.exited;
  // The remaining steps of the first set-up would add integrations that call home; marking them done leaves those out.
  const storage = join(dir, '.storage');
  const done = { done: ['user', 'core_config', 'analytics', 'integration'] };
  await writeFile(
    join(storage, 'onboarding'),
    JSON.stringify({ version: 4, minor_version: 1, key: 'onboarding', data: done }),
  );
  await rm(template, { recursive: true, force: true });
  await mkdir(template, { recursive: true });
  // Settings and the hub's empty files, without its log and its database: a test's history begins with the test.
  for (const name of await readdir(dir)) {
    if (!/\.log|\.db|configuration\.yaml/.test(name))
      await cp(join(dir, name), join(template, name), { recursive: true });
  }
  await rm(dir, { recursive: true, force: true });
  return owner;
}

/** Installs the hub once per user and gives where it is. Later calls only read a stamp; concurrent calls wait for the first. */
export async function installHub(tell: Tell): Promise<InstalledHub> {
  const cache = await cacheFolder();
  await mkdir(cache, { recursive: true });
  const base = join(cache, `hub-${hubVersion}`);
  const stamp = join(base, 'ready.json');
  const venv = join(base, 'venv');
  const sample = configurationYaml({ port: 1, timeZone: 'UTC', purgeKeepDays: 10, packages: {} });
  const fingerprint = createHash('sha256').update(`${recipe}\n${sample}`).digest('hex');

  const ready = async (): Promise<InstalledHub | undefined> => {
    const text = await readFile(stamp, 'utf8').catch(() => undefined);
    if (text === undefined) return undefined;
    const found = JSON.parse(text) as InstalledHub & { readonly fingerprint: string };
    // The venv dies with the interpreter it was made from: its python is then a dangling link.
    return found.fingerprint === fingerprint && existsSync(join(found.venvBin, 'python')) ? found : undefined;
  };

  const before = await ready();
  if (before !== undefined) return before;
  return withLock(
    `${base}.lock`,
    () => tell('another run is preparing the test hub; waiting for it'),
    async () => {
      const meanwhile = await ready();
      if (meanwhile !== undefined) return meanwhile;
      const note = await readFile(join(venv, 'installed.json'), 'utf8').catch(() => '{}');
      if ((JSON.parse(note) as { recipe?: number }).recipe !== recipe || !existsSync(join(venv, 'bin', 'python'))) {
        await makeVenv(venv, tell);
      }
      const venvBin = join(venv, 'bin');
      const template = join(base, 'template');
      const owner = await makeTemplate(venvBin, template, tell);
      const { pythonVersion } = JSON.parse(await readFile(join(venv, 'installed.json'), 'utf8')) as {
        readonly pythonVersion: string;
      };
      const installed: InstalledHub = { version: hubVersion, venvBin, template, pythonVersion, ...owner };
      await writeFile(stamp, JSON.stringify({ ...installed, fingerprint }), { mode: 0o600 });
      tell('the test hub is ready');
      return installed;
    },
  );
}
