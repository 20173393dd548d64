import { execFile } from 'node:child_process';
import { access, constants, readdir, realpath } from 'node:fs/promises';
import { homedir } from 'node:os';
import { delimiter, join } from 'node:path';
import { promisify } from 'node:util';

const run = promisify(execFile);

export type FoundPython = { readonly path: string; readonly version: readonly [major: number, minor: number] };

async function isExecutable(path: string): Promise<boolean> {
  return access(path, constants.X_OK).then(
    () => true,
    () => false,
  );
}

/** Every executable of that name on PATH, first hit first. */
export async function allOnPath(names: readonly string[], extraFolders: readonly string[] = []): Promise<string[]> {
  const folders = [...(process.env['PATH'] ?? '').split(delimiter).filter((folder) => folder !== ''), ...extraFolders];
  const candidates = names.flatMap((name) => folders.map((folder) => join(folder, name)));
  const usable = await Promise.all(candidates.map(isExecutable));
  return candidates.filter((_, index) => usable[index]);
}

async function pyenvPythons(): Promise<string[]> {
  const root = process.env['PYENV_ROOT'] ?? join(homedir(), '.pyenv');
  const versions = await readdir(join(root, 'versions')).catch(() => []);
  return versions.map((version) => join(root, 'versions', version, 'bin', 'python3'));
}

async function uvPythons(): Promise<string[]> {
  const [uv] = await allOnPath(['uv']);
  if (uv === undefined) return [];
  const root = await run(uv, ['python', 'dir']).then(
    ({ stdout }) => stdout.trim(),
    () => '',
  );
  const builds = root === '' ? [] : await readdir(root).catch(() => []);
  return builds.map((build) => join(root, build, 'bin', 'python3'));
}

/** Asks the interpreter itself: a version manager's stand-in of the right name may not run, a stripped one may lack a module. */
async function askPython(path: string): Promise<FoundPython | undefined> {
  const program = 'import sys, venv, ensurepip, ssl, sqlite3; print(*sys.version_info[:2])';
  try {
    const { stdout } = await run(path, ['-c', program], { timeout: 20_000 });
    const [major = 0, minor = 0] = stdout.trim().split(' ').map(Number);
    return { path, version: [major, minor] };
  } catch {
    return undefined;
  }
}

/**
 * A Python that can run the hub: 3.13 or newer with venv, ssl and sqlite3. 3.13 is preferred to newer ones, since the hub's
 * pinned libraries have ready-made builds for it.
 */
export async function findPython(): Promise<FoundPython | undefined> {
  const named = await allOnPath(['python3.13', 'python3.14', 'python3.15', 'python3', 'python'], ['/opt/homebrew/bin']);
  const candidates = [...named, ...(await pyenvPythons()), ...(await uvPythons())];
  const asked = await Promise.all([...new Set(candidates)].map(askPython));
  return asked
    .filter((found) => found !== undefined)
    .filter(({ version: [major, minor] }) => major === 3 && minor >= 13)
    .sort((a, b) => a.version[1] - b.version[1])[0];
}

const chromiumNames = ['chromium', 'chromium-browser', 'google-chrome', 'google-chrome-stable', 'chrome'];

const chromiumElsewhere = [
  '/Applications/Chromium.app/Contents/MacOS/Chromium',
  '/Applications/Google Chrome.app/Contents/MacOS/Google Chrome',
];

/** The installed Chromium, or undefined. `CHROMIUM_PATH` wins over the search. */
export async function findChromium(): Promise<string | undefined> {
  const told = process.env['CHROMIUM_PATH'];
  if (told !== undefined && told !== '') return (await isExecutable(told)) ? told : undefined;
  const [onPath] = await allOnPath(chromiumNames);
  if (onPath !== undefined) return onPath;
  for (const path of chromiumElsewhere) if (await isExecutable(path)) return realpath(path);
  return undefined;
}
