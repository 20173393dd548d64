import { randomBytes } from 'node:crypto';
import { constants, type FileHandle, link, mkdir, open, rm } from 'node:fs/promises';
import { dirname } from 'node:path';
import { problem, problemFrom, SlackwaterError } from '../errors/index.ts';

/** 43 URL-safe characters from 32 random bytes. */
const newToken = (): string => randomBytes(32).toString('base64url');

/** The token in the file; makes file and token where there is none. Others than the owner must not be able to read it. */
export async function ensureCredential(file: string): Promise<string> {
  try {
    await mkdir(dirname(file), { recursive: true, mode: 0o700 });
    await makeWhole(file, newToken());
  } catch (error) {
    if (errorCode(error) !== 'EEXIST') throw unreadable(file, error);
  }
  return readCredential(file);
}

/** Written aside and linked into place: of two that start at once one makes it, and neither ever reads half a file. */
async function makeWhole(file: string, token: string): Promise<void> {
  const aside = `${file}.${newToken().slice(0, 8)}`;
  const made = await open(aside, 'wx', 0o600);
  try {
    await made.writeFile(`${token}\n`);
    await made.sync();
    await link(aside, file);
  } finally {
    await made.close();
    await rm(aside, { force: true });
  }
}

/** The token in an existing file, for those who only use it; `what` names it where the file is empty. */
export async function readCredential(file: string, what = 'the API'): Promise<string> {
  let handle: FileHandle | undefined;
  try {
    handle = await open(file, constants.O_RDONLY);
    const { mode } = await handle.stat();
    // Windows keeps rights elsewhere; the mode bits say nothing there.
    if (process.platform !== 'win32' && (mode & 0o077) !== 0) {
      throw problem('SW-CFG-020', { file, mode: (mode & 0o777).toString(8).padStart(4, '0') });
    }
    const token = (await handle.readFile('utf8')).trim();
    if (token === '') throw problem('SW-CFG-021', { what, where: file });
    return token;
  } catch (error) {
    throw unreadable(file, error);
  } finally {
    await handle?.close();
  }
}

function unreadable(file: string, error: unknown): SlackwaterError {
  if (error instanceof SlackwaterError) return error;
  return problemFrom(error, 'SW-CFG-019', { file, detail: errorCode(error) ?? 'unknown reason' });
}

function errorCode(error: unknown): string | undefined {
  return error instanceof Error && 'code' in error && typeof error.code === 'string' ? error.code : undefined;
}
