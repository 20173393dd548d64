import { readFileSync, writeFileSync } from 'node:fs';
import { DatabaseSync } from 'node:sqlite';
import { problem } from '../../errors/index.ts';
import { isBusy, told } from './faults.ts';

/**
 * Keeps a second service off the same store. The lock is an open write transaction on a file beside it: the operating system
 * drops it with the process, however that ends, so nothing is left to clean up after a kill or a power cut.
 */
export function lockStore(file: string): () => void {
  const lockFile = `${file}.lock`;
  const holder = told(file, 'open', () => new DatabaseSync(lockFile, { timeout: 0 }));
  try {
    told(file, 'open', () => {
      holder.exec('PRAGMA journal_mode = MEMORY; PRAGMA synchronous = OFF; BEGIN IMMEDIATE');
    });
  } catch (error) {
    holder.close();
    const cause = error instanceof Error ? error.cause : error;
    if (!isBusy(cause)) throw error;
    throw problem('SW-STORE-003', { file, pid: pidIn(`${file}.pid`) });
  }
  // Only to name the holder in the message above; whether the store is free is told by the lock alone.
  writeFileSync(`${file}.pid`, `${process.pid}\n`);
  return () => {
    holder.exec('ROLLBACK');
    holder.close();
  };
}

function pidIn(pidFile: string): string {
  try {
    return readFileSync(pidFile, 'utf8').trim() || 'unknown';
  } catch {
    return 'unknown';
  }
}
