import type { DatabaseSync } from 'node:sqlite';
import { problem, SlackwaterError } from '../../errors/index.ts';
import type { Log } from '../../ports/index.ts';
import { type BackgroundCheck, checkInBackground } from './check.ts';
import { detailOf } from './faults.ts';
import { DAMAGE_MARK } from './prepare.ts';

export type DamageWatch = {
  /** Passes on what `act` throws, and takes note where it tells of a damaged file. */
  noticed<T>(act: () => T): T;
  isFound(): boolean;
  /** Throws once damage was found. */
  refuse(): void;
  /** Starts the full check beside everything else. */
  checkAll(): void;
  stop(): void;
};

type Watching = {
  readonly log: Log;
  readonly readOnly?: boolean;
  readonly onDamaged?: (error: SlackwaterError) => void;
};

export function watchDamage(db: DatabaseSync, file: string, { log, readOnly, onDamaged }: Watching): DamageWatch {
  let found: SlackwaterError | null = null;
  let check: BackgroundCheck | null = null;

  const note = (error: SlackwaterError): void => {
    if (found !== null) return;
    found = error;
    log.error(`${error.message} ${error.whatToDo}`);
    if (readOnly !== true) mark(db, error);
    onDamaged?.(error);
  };
  return {
    noticed(act) {
      try {
        return act();
      } catch (error) {
        if (error instanceof SlackwaterError && error.code === 'SW-STORE-005') note(error);
        throw error;
      }
    },
    isFound: () => found !== null,
    refuse() {
      if (found !== null) throw found;
    },
    checkAll() {
      const mine = checkInBackground(file);
      check = mine;
      mine.done.then(
        (detail) => {
          if (check !== mine) return;
          if (detail === null) log.info(`the store ${file} has been looked through; nothing was found`);
          else note(problem('SW-STORE-005', { file, detail }));
        },
        (error: unknown) => log.warn(`the store ${file} could not be looked through: ${detailOf(error)}`),
      );
    },
    stop() {
      check?.stop();
      check = null;
    },
  };
}

/** So that a start after this one does not go on with the file. On a damaged file even this may fail. */
function mark(db: DatabaseSync, error: SlackwaterError): void {
  try {
    db.prepare('INSERT INTO settings (key, value) VALUES (?, ?) ON CONFLICT DO NOTHING').run(
      DAMAGE_MARK,
      String(error.params['detail']),
    );
  } catch {
    // The quick check of the next start has to find it again.
  }
}
