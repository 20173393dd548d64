import { problemFrom, SlackwaterError } from '../../errors/index.ts';
import { DamagedBytes } from './bytes.ts';

// Primary result codes of SQLite.
const BUSY = 5;
const LOCKED = 6;
const READONLY = 8;
const CORRUPT = 11;
const FULL = 13;
const CANTOPEN = 14;
const NOTADB = 26;

export const BUSY_WAIT_MS = 5_000;

/** Primary SQLite code of an error, or null where it is none of SQLite's. */
export function sqliteCode(error: unknown): number | null {
  const code = error instanceof Error && 'errcode' in error ? error.errcode : null;
  return typeof code === 'number' ? code & 0xff : null;
}

export function isBusy(error: unknown): boolean {
  const code = sqliteCode(error);
  return code === BUSY || code === LOCKED;
}

export function detailOf(error: unknown): string {
  return error instanceof Error ? error.message : String(error);
}

/** A failure of SQLite in the words of the catalogue; anything else is given back as it came. */
export function storeProblem(error: unknown, file: string, doing: 'open' | 'write'): unknown {
  if (error instanceof SlackwaterError) return error;
  if (error instanceof DamagedBytes) return problemFrom(error, 'SW-STORE-005', { file, detail: error.message });
  const code = sqliteCode(error);
  if (code === null) return error;
  const detail = detailOf(error);
  switch (code) {
    case FULL:
      return problemFrom(error, 'SW-STORE-001', { file });
    case READONLY:
      return problemFrom(error, 'SW-STORE-002', { file });
    case CORRUPT:
    case NOTADB:
      return problemFrom(error, 'SW-STORE-005', { file, detail });
    case BUSY:
    case LOCKED:
      return problemFrom(error, 'SW-STORE-008', { file, waited: `${BUSY_WAIT_MS / 1000} s` });
    case CANTOPEN:
      return problemFrom(error, 'SW-STORE-006', { file, detail });
    default:
      return doing === 'open'
        ? problemFrom(error, 'SW-STORE-006', { file, detail })
        : problemFrom(error, 'SW-STORE-007', { file, detail });
  }
}

/** Runs `act`, turning what SQLite throws into the catalogue's words. */
export function told<T>(file: string, doing: 'open' | 'write', act: () => T): T {
  try {
    return act();
  } catch (error) {
    throw storeProblem(error, file, doing);
  }
}
