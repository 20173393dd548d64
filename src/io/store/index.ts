// The one file everything is kept in: counters with their cursors, slices, journal, part lives. SQLite; counts of a batch
// are written all or nothing, the journal is on disk before it is acted on.
export { fullCheck } from './check.ts';
export { type BackupReport, backupStore, type RestoreReport, restoreStore } from './copy.ts';
export { type ExportReport, exportStore, type ImportReport, importStore } from './export.ts';
export { EXPORT_FORMATS, type ExportFormat } from './export-text.ts';
export { backupName, migrate } from './migrate.ts';
export { MIGRATIONS } from './schema.ts';
export { openStore, type StoreOptions } from './store.ts';
export { schemaVersion } from './version.ts';
