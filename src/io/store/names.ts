import { closeSync, existsSync, fsyncSync, openSync } from 'node:fs';

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
