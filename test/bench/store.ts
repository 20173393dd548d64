import { mkdtempSync, rmSync, statSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { openStore } from '../../src/io/store/index.ts';
import { packSlices, unpackSlices } from '../../src/io/store/pack-slices.ts';
import { keptLog, realClock } from '../../src/io/system/index.ts';
import { DAY_MS } from '../../src/units/index.ts';
import { fillStore } from './store-year.ts';

export type StoreBench = {
  /** 60 equipment with their minutes of power, 200 counters with their hours: a quarter written hour by hour, times four. */
  readonly storeMbPerYear: number;
  readonly tenYearFileMb: number;
  /** Opened after a clean stop, counters and cursors read. */
  readonly tenYearOpenMs: number;
  /** The same after an unclean stop, with what is checked before anything is counted. */
  readonly tenYearUncleanOpenMs: number;
  /** A quarter's hours of one counter, read. */
  readonly quarterOfSlicesMs: number;
  /** A day of minutes of one entity, read. */
  readonly dayOfMinutesMs: number;
};

const DAYS = 96;
const QUARTERS_A_YEAR = 365 / DAYS;
const BLOCK_DAYS = 32;

const mb = (file: string): number => statSync(file).size / 1e6;
const options = { clock: realClock, log: keptLog() };

function timed(act: () => void): number {
  const began = performance.now();
  act();
  return performance.now() - began;
}

export function benchStore(): StoreBench {
  const folder = mkdtempSync(join(tmpdir(), 'slackwater-store-bench-'));
  const file = join(folder, 'years.db');
  try {
    const store = openStore(file, options);
    const { counters, entities, end } = fillStore(store, DAYS);
    const quarterOfSlicesMs = timed(() => void store.slices(counters[0] ?? '', 'on-hours', end - DAYS * DAY_MS));
    const dayOfMinutesMs = timed(() => void store.minutePower(entities[0] ?? '', end - 9 * DAY_MS, end - 8 * DAY_MS));
    store.close();
    const storeMbPerYear = mb(file) * QUARTERS_A_YEAR;
    repeat(file, Math.ceil(10 * QUARTERS_A_YEAR) - 1);
    const look = (): void => {
      const again = openStore(file, options);
      again.counterStates();
      again.cursors();
      again.close();
    };
    const tenYearOpenMs = timed(look);
    leaveUnclean(file);
    const tenYearUncleanOpenMs = timed(look);
    return {
      storeMbPerYear,
      tenYearFileMb: mb(file),
      tenYearOpenMs,
      tenYearUncleanOpenMs,
      quarterOfSlicesMs,
      dayOfMinutesMs,
    };
  } finally {
    rmSync(folder, { recursive: true });
  }
}

/** Puts the packed days and blocks before themselves, `times` over, each moved to its own time. */
export function repeat(file: string, times: number): void {
  const db = new DatabaseSync(file);
  const blocks = db.prepare('SELECT counter, measure, block, packed FROM slice_blocks').all();
  const put = db.prepare('INSERT INTO slice_blocks (counter, measure, block, packed) VALUES (?, ?, ?, ?)');
  const span = Number(db.prepare('SELECT max(block) - min(block) + 1 AS n FROM slice_blocks').get()?.['n']);
  db.exec('BEGIN');
  for (let turn = 1; turn <= times; turn++) {
    db.prepare(`INSERT INTO minute_days (entity, day, packed)
      SELECT entity, day - ?, packed FROM minute_days WHERE day > (SELECT max(day) - ? FROM minute_days)`).run(
      turn * DAYS,
      DAYS,
    );
    for (const row of blocks) {
      const back = turn * span;
      const rows = unpackSlices(row['packed'] as Uint8Array);
      const moved = rows.map((one) => ({ ...one, hour: one.hour - back * BLOCK_DAYS * 24 }));
      put.run(Number(row['counter']), Number(row['measure']), Number(row['block']) - back, packSlices(moved));
    }
  }
  db.exec('COMMIT; PRAGMA wal_checkpoint(TRUNCATE)');
  db.close();
}

export function leaveUnclean(file: string): void {
  const db = new DatabaseSync(file);
  db.exec(`INSERT INTO settings (key, value) VALUES ('open-since', '1'); PRAGMA wal_checkpoint(TRUNCATE)`);
  db.close();
}

if (import.meta.main) process.stdout.write(`${JSON.stringify(benchStore(), null, 2)}\n`);
