import { copyFileSync, existsSync, readFileSync, writeFileSync } from 'node:fs';
import type { Log, StorePort } from '../../ports/index.ts';
import type { InstantMs } from '../../units/index.ts';
import { told } from './faults.ts';
import { freeName, syncPath } from './names.ts';
import { scanWal } from './wal.ts';

/** Last writes of a service that was cut off which SQLite alone would not have read. */
export type LastWrites = {
  readonly taken: number;
  readonly dropped: number;
  /** The log as it was found. */
  readonly kept: string;
  readonly isMended: boolean;
};

/**
 * Looks through the log that a service left which was cut off, and mends it where nothing is missing without its damaged
 * part. To be called before SQLite opens the file. Null where there is nothing to tell.
 */
export function saveLastWrites(file: string): LastWrites | null {
  const log = `${file}-wal`;
  return told(file, 'open', () => {
    if (!existsSync(log)) return null;
    const bytes = readFileSync(log);
    const report = scanWal(new DataView(bytes.buffer, bytes.byteOffset, bytes.byteLength));
    if (report === null || report.dropped === 0) return null;
    const kept = freeName(`${log}.unread`);
    copyFileSync(log, kept);
    syncPath(kept);
    if (report.mended !== null) {
      writeFileSync(log, report.mended);
      syncPath(log);
    }
    return { taken: report.taken, dropped: report.dropped, kept, isMended: report.mended !== null };
  });
}

/** Says what became of them; where some are gone, a person has to look for what is missing. */
export function tellLastWrites(port: StorePort, file: string, found: LastWrites, log: Log, now: InstantMs): void {
  const { taken, dropped, kept, isMended } = found;
  if (isMended) {
    log.warn(
      `${file}: the log of the last writes was damaged, but every page in it was there anew: nothing is missing. ` +
        `The damaged log is kept as ${kept}. Have the disk looked at and make a backup.`,
    );
    return;
  }
  const text =
    `The last writes before the service was cut off could not all be read: ${taken} pages were taken over, ${dropped} ` +
    `behind a damaged place were not; ${kept} holds them. Counts are asked again from the hub. Have a look whether the ` +
    'last services, readings and confirmations are in the record, and enter again what is missing.';
  log.error(`${file}: ${text}`);
  port.putQuestion({
    id: `writes-lost ${now}`,
    kind: 'writes-lost',
    askedAt: now,
    text,
    facts: { taken, dropped, kept },
  });
}
