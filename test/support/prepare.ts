import { spawnSync } from 'node:child_process';
import { allOnPath, findChromium } from './find-tools.ts';
import { type InstalledHub, installHub, MachineNotReady } from './hub-install.ts';

export type Prepared = { readonly hub: InstalledHub; readonly chromium: string };

function tell(line: string): void {
  process.stderr.write(`prepare: ${line}\n`);
}

const chromiumPackages = ['chromium', 'fonts-dejavu-core'];

/** The path of a Chromium; installs the distribution's own package where that is allowed. */
export async function prepareChromium(): Promise<string> {
  const found = await findChromium();
  if (found !== undefined) return found;
  const told = process.env['CHROMIUM_PATH'];
  if (told !== undefined && told !== '') throw new MachineNotReady(`CHROMIUM_PATH names no program: ${told}`);
  const command = `apt-get install -y --no-install-recommends ${chromiumPackages.join(' ')}`;
  const mayInstall = process.getuid?.() === 0 && (await allOnPath(['apt-get'])).length > 0;
  if (!mayInstall) {
    throw new MachineNotReady(
      `The tests photograph pages with Chromium and found none (CHROMIUM_PATH may name one). Run: sudo ${command}`,
    );
  }
  tell(`no Chromium found: ${command}`);
  const apt = (...args: string[]): number | null =>
    spawnSync('apt-get', args, {
      stdio: ['ignore', 2, 2],
      env: { ...process.env, DEBIAN_FRONTEND: 'noninteractive' },
    }).status;
  const install = ['install', '-y', '--no-install-recommends', ...chromiumPackages];
  // Package lists may be absent or old on a fresh image.
  if (apt(...install) !== 0 && (apt('update') !== 0 || apt(...install) !== 0)) {
    throw new MachineNotReady(`apt-get could not install Chromium. Run by hand: ${command}`);
  }
  const installed = await findChromium();
  if (installed === undefined) throw new MachineNotReady('Chromium was installed but is not on PATH');
  return installed;
}

export function prepareHub(): Promise<InstalledHub> {
  return installHub(tell);
}

/** Everything the test suite needs from the machine. Cheap when it is there already. */
export async function prepare(): Promise<Prepared> {
  const chromium = await prepareChromium();
  const hub = await prepareHub();
  return { hub, chromium };
}

if (import.meta.main) {
  try {
    const { hub, chromium } = await prepare();
    tell(`hub ${hub.version} on Python ${hub.pythonVersion}, Chromium at ${chromium}`);
  } catch (error) {
    if (!(error instanceof MachineNotReady)) throw error;
    tell(error.message);
    process.exitCode = 1;
  }
}
