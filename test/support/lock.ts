import { mkdir, readFile, rename, rm, stat, writeFile } from 'node:fs/promises';
import { hostname } from 'node:os';
import { join } from 'node:path';
import { setTimeout as delay } from 'node:timers/promises';

/**
 * Runs `work` while holding a lock directory, so that test files (each its own process) prepare a shared cache one after
 * the other. A directory, because making one is atomic on every file system, also on a shared one.
 */
export async function withLock<T>(directory: string, waiting: () => void, work: () => Promise<T>): Promise<T> {
  let told = false;
  while (!(await take(directory))) {
    if (!told) waiting();
    told = true;
    if (await isAbandoned(directory)) await clear(directory);
    else await delay(250);
  }
  try {
    return await work();
  } finally {
    await rm(directory, { recursive: true, force: true });
  }
}

async function take(directory: string): Promise<boolean> {
  try {
    await mkdir(directory);
  } catch (error) {
    if ((error as NodeJS.ErrnoException).code === 'EEXIST') return false;
    throw error;
  }
  await writeFile(join(directory, 'owner.json'), JSON.stringify({ pid: process.pid, host: hostname() }));
  return true;
}

/** Moved aside before it is removed: of several that wait only one can move it, and it looks again at what it moved. */
async function clear(directory: string): Promise<void> {
  const aside = `${directory}.${process.pid}`;
  try {
    await rename(directory, aside);
  } catch {
    return;
  }
  if (await isAbandoned(aside)) await rm(aside, { recursive: true, force: true });
  else await rename(aside, directory);
}

/** Abandoned: its owner ran on this machine and is gone, or it never got to write its name. */
async function isAbandoned(directory: string): Promise<boolean> {
  try {
    const owner = JSON.parse(await readFile(join(directory, 'owner.json'), 'utf8')) as { pid: number; host: string };
    return owner.host === hostname() && !isAlive(owner.pid);
  } catch {
    const made = await stat(directory).catch(() => undefined);
    return made !== undefined && Date.now() - made.mtimeMs > 30_000;
  }
}

function isAlive(pid: number): boolean {
  try {
    process.kill(pid, 0);
    return true;
  } catch (error) {
    return (error as NodeJS.ErrnoException).code === 'EPERM';
  }
}
