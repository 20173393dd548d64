// The one file everything is kept in: counters with their cursors, slices, journal, part lives. SQLite; counts of a batch
// are written all or nothing, the journal is on disk before it is acted on.
export { fullCheck } from './check.ts';
export { backupName, migrate, schemaVersion } from './migrate.ts';
export { MIGRATIONS } from './schema.ts';
export { openStore, type StoreOptions } from './store.ts';
