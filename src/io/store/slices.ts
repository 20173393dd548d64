import type { DatabaseSync } from 'node:sqlite';
import type { Slice } from '../../count/index.ts';
import type { CounterId, Measure } from '../../model/index.ts';
import { HOUR_MS, type InstantMs } from '../../units/index.ts';
import { DamagedBytes } from './bytes.ts';
import { packSlices, type SliceRow, sumSlices, unpackSlices } from './pack-slices.ts';
import { STORED_MEASURES, STORED_ORIGINS } from './schema.ts';

const DAY_HOURS = 24;
const BLOCK_HOURS = 32 * DAY_HOURS;
/** Hours of today and yesterday still change; they stay loose. */
const LOOSE_HOURS = 2 * DAY_HOURS;

export type SliceTable = {
  /** To be called inside a transaction. */
  add(counterNo: number, slice: Slice): void;
  of(counter: CounterId, measure: Measure, from: InstantMs): readonly Slice[];
  /** Packs what is over of the next counter and measure; a small piece of work, to be called inside a transaction. */
  packNext(): void;
};

const addSlice = `
  INSERT INTO slices (counter, measure, hour, origin, low, over_low, over_best) VALUES (?, ?, ?, ?, ?, ?, ?)
  ON CONFLICT DO UPDATE SET low = low + excluded.low, over_low = over_low + excluded.over_low,
    over_best = over_best + excluded.over_best`;

const looseFrom = `
  SELECT hour, origin, low, over_low, over_best FROM slices
  WHERE counter = ? AND measure = ? AND hour >= ? AND hour < ? ORDER BY hour, origin`;

// In order of the primary key, so each call is one step along it.
const nextPair = `
  SELECT counter, measure, min(hour) AS oldest, max(hour) AS newest FROM slices
  WHERE (counter, measure) = (
    SELECT counter, measure FROM slices WHERE (counter, measure) > (?, ?) ORDER BY counter, measure LIMIT 1
  )`;

export function sliceTable(db: DatabaseSync): SliceTable {
  const statements = {
    number: db.prepare('SELECT no FROM counters WHERE id = ?'),
    add: db.prepare(addSlice),
    loose: db.prepare(looseFrom),
    blocks: db.prepare(
      'SELECT packed FROM slice_blocks WHERE counter = ? AND measure = ? AND block >= ? ORDER BY block',
    ),
    block: db.prepare('SELECT packed FROM slice_blocks WHERE counter = ? AND measure = ? AND block = ?'),
    putBlock: db.prepare(
      `INSERT INTO slice_blocks (counter, measure, block, packed) VALUES (?, ?, ?, ?)
       ON CONFLICT DO UPDATE SET packed = excluded.packed`,
    ),
    drop: db.prepare('DELETE FROM slices WHERE counter = ? AND measure = ? AND hour >= ? AND hour < ?'),
    nextPair: db.prepare(nextPair),
  };
  const looseRows = (counter: number, measure: number, from: number, to: number): readonly SliceRow[] =>
    statements.loose.all(counter, measure, from, to) as unknown as SliceRow[];

  const of: SliceTable['of'] = (counter, measure, from) => {
    const no = statements.number.get(counter)?.['no'];
    if (no === undefined) return [];
    const m = STORED_MEASURES.indexOf(measure);
    const hour = Math.floor(from / HOUR_MS);
    const packed = statements.blocks
      .all(Number(no), m, Math.floor(hour / BLOCK_HOURS))
      .flatMap((row) => unpackBlock(counter, row['packed']));
    const loose = looseRows(Number(no), m, hour, Number.MAX_SAFE_INTEGER);
    const rows = packed.length === 0 ? loose : sumSlices([...packed, ...loose]);
    return rows.filter((row) => row.hour >= hour).map((row) => sliceOf(counter, measure, row));
  };

  const packBlock = (counter: number, measure: number, block: number, until: number): void => {
    const from = block * BLOCK_HOURS;
    const to = Math.min(from + BLOCK_HOURS, until);
    const old = statements.block.get(counter, measure, block);
    const packed = old === undefined ? [] : unpackBlock(`number ${counter}`, old['packed']);
    const rows = sumSlices([...packed, ...looseRows(counter, measure, from, to)]);
    statements.putBlock.run(counter, measure, block, packSlices(rows));
    statements.drop.run(counter, measure, from, to);
  };

  let lastCounter = -1;
  let lastMeasure = -1;
  const packNext = (): void => {
    const pair = statements.nextPair.get(lastCounter, lastMeasure);
    if (pair === undefined || pair['counter'] === null) {
      lastCounter = -1;
      lastMeasure = -1;
      return;
    }
    lastCounter = Number(pair['counter']);
    lastMeasure = Number(pair['measure']);
    const oldest = Number(pair['oldest']);
    const until = Math.floor(Number(pair['newest']) / DAY_HOURS) * DAY_HOURS - LOOSE_HOURS + DAY_HOURS;
    if (oldest < until) packBlock(lastCounter, lastMeasure, Math.floor(oldest / BLOCK_HOURS), until);
  };

  return {
    of,
    packNext,
    add(counterNo, { measure, hour, origin, add }) {
      const m = STORED_MEASURES.indexOf(measure);
      const o = STORED_ORIGINS.indexOf(origin);
      statements.add.run(counterNo, m, hour / HOUR_MS, o, add.low, add.best - add.low, add.high - add.best);
    },
  };
}

function unpackBlock(counter: string, packed: unknown): readonly SliceRow[] {
  if (!(packed instanceof Uint8Array)) throw new DamagedBytes(`hours of counter ${counter} are missing`);
  try {
    return unpackSlices(packed);
  } catch (error) {
    throw new DamagedBytes(`hours of counter ${counter} cannot be read`, { cause: error });
  }
}

function sliceOf(counter: CounterId, measure: Measure, row: SliceRow): Slice {
  const best = row.low + row.over_low;
  return {
    counter,
    measure,
    hour: row.hour * HOUR_MS,
    origin: STORED_ORIGINS[row.origin] ?? 'assumed',
    add: { low: row.low, best, high: best + row.over_best },
  };
}
