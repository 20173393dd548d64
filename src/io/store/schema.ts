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
];

/** Indices stored for measures and origins; only ever appended to. */
export const STORED_MEASURES = ['on-hours', 'starts', 'litres', 'energy', 'days', 'grams', 'actuations'] as const;
export const STORED_ORIGINS = ['live', 'history', 'statistics', 'person', 'assumed'] as const;
