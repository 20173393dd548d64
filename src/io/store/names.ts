import { accessSync, closeSync, constants, existsSync, fsyncSync, openSync } from 'node:fs';
import { dirname } from 'node:path';
import { problemFrom } from '../../errors/index.ts';

/** `base-1`, `base-2` …: the first that is not taken, so that nothing put aside is ever overwritten. */
export function freeName(base: string): string {
  let number = 1;
  while (existsSync(`${base}-${number}`)) number++;
  return `${base}-${number}`;
}

/** Makes what was written to a file, or renamed in a folder, outlast a power cut. */
export function syncPath(path: string): void {
  const handle = openSync(path, 'r');
  try {
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
}

/** SQLite keeps its log beside the file, so the folder has to be writable as well. */
export function needWritable(file: string): void {
  try {
    accessSync(dirname(file), constants.W_OK);
    if (existsSync(file)) accessSync(file, constants.W_OK);
  } catch (error) {
    throw problemFrom(error, 'SW-STORE-002', { file });
  }
}
