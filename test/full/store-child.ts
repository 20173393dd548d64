import { writeSync } from 'node:fs';
import { DatabaseSync } from 'node:sqlite';
import { SlackwaterError } from '../../src/errors/index.ts';
import { openStore } from '../../src/io/store/index.ts';
import { realClock } from '../../src/io/system/index.ts';
import { HOUR_MS } from '../../src/units/index.ts';

// A service reduced to its store. It writes a journal entry and an hour of counting, one after the other, and says of each
// that it is confirmed only once the store has returned. Lines on standard output, one fact each, written at once.
// Arguments: store file, first number, how many (0: until killed), "checkpoint" to empty the log after each.

const [file = '', first = '1', most = '0', also = ''] = process.argv.slice(2);

function tell(fact: Readonly<Record<string, unknown>>): void {
  writeSync(1, `${JSON.stringify(fact)}\n`);
}

const log = {
  info: (text: string) => tell({ info: text }),
  warn: (text: string) => tell({ warn: text }),
  error: (text: string) => tell({ error: text }),
};

function run(): void {
  const store = openStore(file, { clock: realClock, log });
  const beside = also === 'checkpoint' ? new DatabaseSync(file, { timeout: 5_000 }) : null;
  tell({ opened: true });
  for (let number = Number(first), done = 0; most === '0' || done < Number(most); number++, done++) {
    store.append({ v: 1, kind: 'note', at: number, text: `number ${number} ${'x'.repeat(number % 700)}` });
    tell({ noted: number });
    const add = { low: 1, best: 1, high: 1 };
    const slice = {
      counter: 'lamp',
      measure: 'on-hours' as const,
      hour: number * HOUR_MS,
      origin: 'live' as const,
      add,
    };
    store.commitCounts({ states: [], slices: [slice], resets: [], cursors: new Map([['switch.lamp', number]]) });
    tell({ counted: number });
    if (beside === null) continue;
    tell({ checkpoint: 'begun' });
    beside.exec('PRAGMA wal_checkpoint(TRUNCATE)');
    tell({ checkpoint: 'ended' });
  }
  beside?.close();
  store.close();
  tell({ closed: true });
}

try {
  run();
} catch (error) {
  if (!(error instanceof SlackwaterError)) throw error;
  tell({ code: error.code, said: error.message, whatToDo: error.whatToDo });
}
