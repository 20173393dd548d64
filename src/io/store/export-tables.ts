import type { DatabaseSync } from 'node:sqlite';
import { inUnits } from '../../count/index.ts';
import { MEASURE_UNITS } from '../../model/index.ts';
import { HOUR_MS } from '../../units/index.ts';
import { checkSeal, crcOf } from './bytes.ts';
import type { Cell, Column, Row } from './export-text.ts';
import { unpackMinutes } from './pack-minutes.ts';
import { type SliceRow, sumSlices, unpackSlices } from './pack-slices.ts';
import { DAMAGE_MARK, OPEN_MARK } from './prepare.ts';
import { STORED_MEASURES, STORED_ORIGINS } from './schema.ts';
import { codeWatts } from './watts.ts';

/** One file of an export: how its rows are read from a store and, unless it only tells what others hold, put into one. */
export type ExportTable = {
  readonly name: string;
  readonly columns: readonly Column[];
  rows(db: DatabaseSync): Iterable<Row>;
  /** To be called inside a transaction. Counters and entities come first. */
  readonly put?: (db: DatabaseSync) => (row: Row) => void;
};

const text = (name: string): Column => ({ name, type: 'text' });
const number = (name: string): Column => ({ name, type: 'number' });
const json = (name: string): Column => ({ name, type: 'json' });
const told = (name: string): Column => ({ name, type: 'text', isTold: true });
const toldNumber = (name: string): Column => ({ name, type: 'number', isTold: true });

const utc = (ms: unknown): string => new Date(Number(ms)).toISOString();
const COUNTER_NO = '(SELECT no FROM counters WHERE id = ?)';
const ENTITY_NO = '(SELECT no FROM entities WHERE id = ?)';

type Plain = {
  readonly name: string;
  readonly columns: readonly Column[];
  readonly read: string;
  readonly write: string;
};

/** A table whose rows go out and in as they are; `utc` tells the time in `at` in words. */
function plain({ name, columns, read, write }: Plain): ExportTable {
  const stored = columns.filter(({ isTold }) => isTold !== true);
  return {
    name,
    columns,
    *rows(db) {
      for (const row of db.prepare(read).iterate() as Iterable<Row>) {
        yield columns.some((column) => column.name === 'utc') ? { ...row, utc: utc(row['at']) } : row;
      }
    },
    put(db) {
      const statement = db.prepare(write);
      return (row) => void statement.run(...stored.map((column) => row[column.name] ?? null));
    },
  };
}

/** As `plain`, with the check sum of its one JSON text. */
function summed(table: Plain & { readonly of: string }): ExportTable {
  const asIs = plain(table);
  return {
    ...asIs,
    put(db) {
      const statement = db.prepare(table.write);
      const stored = table.columns.filter(({ isTold }) => isTold !== true);
      return (row) => {
        const sum = row[table.of] ?? null;
        statement.run(...stored.map((column) => row[column.name] ?? null), sum === null ? null : crcOf(String(sum)));
      };
    },
  };
}

const hoursOfPair = `
  SELECT packed FROM slice_blocks WHERE counter = ? AND measure = ? ORDER BY block`;
const looseOfPair = `
  SELECT hour, origin, low, over_low, over_best FROM slices WHERE counter = ? AND measure = ? ORDER BY hour, origin`;
const pairs = `
  SELECT id, no, measure FROM counters JOIN (
    SELECT counter, measure FROM slices UNION SELECT counter, measure FROM slice_blocks
  ) ON counter = no ORDER BY no, measure`;

const slices: ExportTable = {
  name: 'slices',
  columns: [
    text('counter'),
    text('measure'),
    number('hour'),
    told('utc'),
    text('origin'),
    toldNumber('low'),
    toldNumber('best'),
    toldNumber('high'),
    told('unit'),
    number('low_grains'),
    number('over_low_grains'),
    number('over_best_grains'),
  ],
  *rows(db) {
    const blocks = db.prepare(hoursOfPair);
    const loose = db.prepare(looseOfPair);
    for (const { id, no, measure: index } of db.prepare(pairs).all()) {
      const measure = STORED_MEASURES[Number(index)] ?? 'days';
      const packed = blocks.all(Number(no), Number(index)).flatMap((row) => unpackSlices(row['packed'] as Uint8Array));
      const rest = loose.all(Number(no), Number(index)) as unknown as SliceRow[];
      for (const { hour, origin, low, over_low, over_best } of sumSlices([...packed, ...rest])) {
        const best = low + over_low;
        yield {
          counter: String(id),
          measure,
          hour,
          utc: utc(hour * HOUR_MS),
          origin: STORED_ORIGINS[origin] ?? 'assumed',
          ...inUnits(measure, { low, best, high: best + over_best }),
          unit: MEASURE_UNITS[measure],
          low_grains: low,
          over_low_grains: over_low,
          over_best_grains: over_best,
        };
      }
    }
  },
  put(db) {
    const statement = db.prepare(`INSERT INTO slices VALUES (${COUNTER_NO}, ?, ?, ?, ?, ?, ?)`);
    return (row) => {
      const measure = (STORED_MEASURES as readonly Cell[]).indexOf(row['measure'] ?? null);
      const origin = (STORED_ORIGINS as readonly Cell[]).indexOf(row['origin'] ?? null);
      if (measure < 0 || origin < 0) throw new Error(`it has hours of "${row['measure']}" from "${row['origin']}"`);
      const amounts = ['low_grains', 'over_low_grains', 'over_best_grains'].map((name) => row[name] ?? 0);
      statement.run(row['counter'] ?? null, measure, row['hour'] ?? null, origin, ...amounts);
    };
  },
};

/** Minutes go out packed as they are stored (a year of them in words is gigabytes); `power` tells them hour by hour. */
const minutes: ExportTable = {
  name: 'minutes',
  columns: [text('entity'), text('span'), number('number'), text('packed')],
  *rows(db) {
    for (const [span, table, column] of [
      ['day', 'minute_days', 'day'],
      ['hour', 'minute_hours', 'hour'],
    ] as const) {
      const read = `SELECT id, ${column} AS number, packed FROM ${table} JOIN entities ON entity = no ORDER BY no, ${column}`;
      for (const row of db.prepare(read).iterate()) {
        const packed = row['packed'] as Uint8Array;
        checkSeal(`minutes of ${row['id']}`, packed);
        yield {
          entity: String(row['id']),
          span,
          number: Number(row['number']),
          packed: Buffer.from(packed).toString('base64'),
        };
      }
    }
  },
  put(db) {
    const day = db.prepare(`INSERT INTO minute_days VALUES (${ENTITY_NO}, ?, ?)`);
    const hour = db.prepare(`INSERT INTO minute_hours VALUES (${ENTITY_NO}, ?, ?)`);
    return (row) => {
      const packed = Buffer.from(String(row['packed']), 'base64');
      checkSeal(`minutes of ${row['entity']}`, new Uint8Array(packed));
      (row['span'] === 'day' ? day : hour).run(row['entity'] ?? null, row['number'] ?? null, packed);
    };
  },
};

const power: ExportTable = {
  name: 'power',
  columns: [
    told('entity'),
    toldNumber('hour'),
    told('utc'),
    toldNumber('known_minutes'),
    toldNumber('least_w'),
    toldNumber('mean_w'),
    toldNumber('most_w'),
  ],
  *rows(db) {
    for (const [table, hours, column] of [
      ['minute_days', 24, 'day'],
      ['minute_hours', 1, 'hour'],
    ] as const) {
      const read = `SELECT id, ${column} AS number, packed FROM ${table} JOIN entities ON entity = no ORDER BY no, ${column}`;
      for (const row of db.prepare(read).iterate()) {
        yield* hoursOf(String(row['id']), Number(row['number']) * hours, row['packed'] as Uint8Array);
      }
    }
  },
};

function* hoursOf(entity: string, firstHour: number, packed: Uint8Array): Generator<Row> {
  const byHour = Map.groupBy(unpackMinutes(packed), ({ slot }) => firstHour + Math.floor(slot / 60));
  for (const [hour, ones] of byHour) {
    const knownMs = ones.reduce((sum, one) => sum + one.knownMs, 0);
    const weighted = ones.reduce((sum, { mean, knownMs: ms }) => sum + codeWatts(mean) * ms, 0);
    yield {
      entity,
      hour,
      utc: utc(hour * HOUR_MS),
      known_minutes: Math.round(knownMs / 600) / 100,
      least_w: Math.min(...ones.map(({ mean, under }) => codeWatts(mean - under))),
      mean_w: Math.round((weighted / knownMs) * 100) / 100,
      most_w: Math.max(...ones.map(({ mean, over }) => codeWatts(mean + over))),
    };
  }
}

const readings: ExportTable = {
  name: 'readings',
  columns: [toldNumber('seq'), told('utc'), told('what'), toldNumber('value'), told('unit'), told('by')],
  *rows(db) {
    for (const row of db.prepare(`SELECT seq, entry FROM journal WHERE kind = 'reading' ORDER BY seq`).iterate()) {
      const entry = JSON.parse(String(row['entry'])) as Record<string, string | number>;
      const { at, what = '', value = null, unit = '', by = '' } = entry;
      yield { seq: Number(row['seq']), utc: utc(at), what, value, unit, by };
    }
  },
};

/** In the order in which they go in. */
export const EXPORT_TABLES: readonly ExportTable[] = [
  plain({
    name: 'settings',
    columns: [text('key'), text('value')],
    read: `SELECT key, value FROM settings WHERE key NOT IN ('${OPEN_MARK}', '${DAMAGE_MARK}') ORDER BY key`,
    write: 'INSERT INTO settings (key, value) VALUES (?, ?)',
  }),
  summed({
    name: 'counters',
    columns: [text('id'), json('state')],
    of: 'state',
    read: 'SELECT id, state FROM counters ORDER BY no',
    write: 'INSERT INTO counters (id, state, crc) VALUES (?, ?, ?)',
  }),
  plain({
    name: 'entities',
    columns: [text('id'), json('minute_state')],
    read: 'SELECT id, minute_state FROM entities ORDER BY no',
    write: 'INSERT INTO entities (id, minute_state) VALUES (?, ?)',
  }),
  plain({
    name: 'cursors',
    columns: [text('entity'), number('at'), told('utc')],
    read: 'SELECT entity, at FROM cursors ORDER BY entity',
    write: 'INSERT INTO cursors (entity, at) VALUES (?, ?)',
  }),
  slices,
  plain({
    name: 'resets',
    columns: [text('counter'), number('at'), told('utc'), number('before'), number('after')],
    read: 'SELECT id AS counter, at, before, after FROM resets JOIN counters ON counter = no ORDER BY no, at',
    write: `INSERT INTO resets VALUES (${COUNTER_NO}, ?, ?, ?)`,
  }),
  plain({
    name: 'doubts',
    columns: [text('counter'), number('at'), told('utc'), text('kind'), number('before'), number('after')],
    read: 'SELECT id AS counter, at, kind, before, after FROM doubts JOIN counters ON counter = no ORDER BY no, at, kind',
    write: `INSERT INTO doubts VALUES (${COUNTER_NO}, ?, ?, ?, ?)`,
  }),
  summed({
    name: 'journal',
    columns: [number('seq'), number('at'), told('utc'), text('kind'), json('entry')],
    of: 'entry',
    read: 'SELECT seq, booked_at AS at, kind, entry FROM journal ORDER BY seq',
    write: 'INSERT INTO journal (seq, booked_at, kind, entry, crc) VALUES (?, ?, ?, ?, ?)',
  }),
  summed({
    name: 'lives',
    columns: [text('part'), number('number'), json('life')],
    of: 'life',
    read: 'SELECT part, number, life FROM lives ORDER BY part, number',
    write: 'INSERT INTO lives (part, number, life, crc) VALUES (?, ?, ?, ?)',
  }),
  plain({
    name: 'questions',
    columns: [number('no'), text('id'), json('question'), json('answer')],
    read: 'SELECT no, id, question, answer FROM questions ORDER BY no',
    write: 'INSERT INTO questions (no, id, question, answer) VALUES (?, ?, ?, ?)',
  }),
  plain({
    name: 'sources',
    columns: [text('counter'), number('at'), told('utc'), json('entry')],
    read: 'SELECT id AS counter, since AS at, entry FROM sources JOIN counters ON counter = no ORDER BY no, since',
    write: `INSERT INTO sources VALUES (${COUNTER_NO}, ?, ?)`,
  }),
  minutes,
  power,
  readings,
];
