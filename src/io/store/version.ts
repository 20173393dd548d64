import type { DatabaseSync } from 'node:sqlite';

/** Which of the numbered shapes (schema.ts) the file has; 0: none yet. */
export function schemaVersion(db: DatabaseSync): number {
  const row = db.prepare('PRAGMA user_version').get();
  return Number(row?.['user_version'] ?? 0);
}
