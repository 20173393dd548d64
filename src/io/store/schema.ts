/**
 * Numbered steps of the store's shape, oldest first. Additive, and frozen once shipped: a wrong step is put right by a new
 * one. Step n brings a store from schema n-1 to n.
 *
 * Slices are by far the most rows (an hour each), so they hold numbers only: counter names stand once in `counters`, measure
 * and origin by their index, hours since 1970, `best` and `high` as what they have above the one below them (mostly 0).
 */
export const MIGRATIONS: readonly string[] = [
  `
  CREATE TABLE settings (key TEXT PRIMARY KEY, value TEXT NOT NULL) STRICT, WITHOUT ROWID;
  CREATE TABLE counters (no INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, state TEXT) STRICT;
  CREATE TABLE cursors (entity TEXT PRIMARY KEY, at INTEGER NOT NULL) STRICT, WITHOUT ROWID;
  CREATE TABLE slices (
    counter INTEGER NOT NULL REFERENCES counters (no),
    measure INTEGER NOT NULL,
    hour INTEGER NOT NULL,
    origin INTEGER NOT NULL,
    low REAL NOT NULL,
    over_low REAL NOT NULL,
    over_best REAL NOT NULL,
    PRIMARY KEY (counter, measure, hour, origin)
  ) STRICT, WITHOUT ROWID;
  CREATE TABLE resets (
    counter INTEGER NOT NULL REFERENCES counters (no),
    at INTEGER NOT NULL,
    before REAL NOT NULL,
    after REAL NOT NULL,
    PRIMARY KEY (counter, at)
  ) STRICT, WITHOUT ROWID;
  CREATE TABLE journal (
    seq INTEGER PRIMARY KEY AUTOINCREMENT,
    booked_at INTEGER NOT NULL,
    kind TEXT NOT NULL,
    entry TEXT NOT NULL
  ) STRICT;
  CREATE INDEX journal_by_kind ON journal (kind, seq);
  CREATE TABLE lives (
    part TEXT NOT NULL,
    number INTEGER NOT NULL,
    life TEXT NOT NULL,
    PRIMARY KEY (part, number)
  ) STRICT, WITHOUT ROWID;
  `,
  // Hours and minutes of days that are over are packed (pack-slices.ts, pack-minutes.ts): a year of 60 equipment then takes
  // tens of megabytes, not hundreds. Newer ones lie loose, because they still change. Check sums: SQLite sees a broken
  // page, but not a changed letter inside a row.
  `
  ALTER TABLE counters ADD COLUMN crc INTEGER;
  ALTER TABLE journal ADD COLUMN crc INTEGER;
  ALTER TABLE lives ADD COLUMN crc INTEGER;
  CREATE TABLE slice_blocks (
    counter INTEGER NOT NULL REFERENCES counters (no),
    measure INTEGER NOT NULL,
    block INTEGER NOT NULL,
    packed BLOB NOT NULL,
    PRIMARY KEY (counter, measure, block)
  ) STRICT, WITHOUT ROWID;
  CREATE TABLE entities (no INTEGER PRIMARY KEY, id TEXT NOT NULL UNIQUE, minute_state TEXT) STRICT;
  CREATE TABLE minute_hours (
    entity INTEGER NOT NULL REFERENCES entities (no),
    hour INTEGER NOT NULL,
    packed BLOB NOT NULL,
    PRIMARY KEY (entity, hour)
  ) STRICT, WITHOUT ROWID;
  CREATE TABLE minute_days (
    entity INTEGER NOT NULL REFERENCES entities (no),
    day INTEGER NOT NULL,
    packed BLOB NOT NULL,
    PRIMARY KEY (entity, day)
  ) STRICT;
  CREATE TABLE doubts (
    counter INTEGER NOT NULL REFERENCES counters (no),
    at INTEGER NOT NULL,
    kind TEXT NOT NULL,
    before REAL NOT NULL,
    after REAL NOT NULL,
    PRIMARY KEY (counter, at, kind)
  ) STRICT, WITHOUT ROWID;
  CREATE TABLE questions (
    no INTEGER PRIMARY KEY AUTOINCREMENT,
    id TEXT NOT NULL,
    question TEXT NOT NULL,
    answer TEXT
  ) STRICT;
  CREATE UNIQUE INDEX questions_open ON questions (id) WHERE answer IS NULL;
  CREATE TABLE sources (
    counter INTEGER NOT NULL REFERENCES counters (no),
    since INTEGER NOT NULL,
    entry TEXT NOT NULL,
    PRIMARY KEY (counter, since)
  ) STRICT, WITHOUT ROWID;
  `,
];

/** Indices stored for measures and origins; only ever appended to. */
export const STORED_MEASURES = ['on-hours', 'starts', 'litres', 'energy', 'days', 'grams', 'actuations'] as const;
export const STORED_ORIGINS = ['live', 'history', 'statistics', 'person', 'assumed'] as const;
