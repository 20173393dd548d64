import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { DatabaseSync } from 'node:sqlite';
import { GRAINS_PER_UNIT } from '../../count/index.ts';
import { problem, problemFrom, SlackwaterError } from '../../errors/index.ts';
import { MEASURE_UNITS } from '../../model/index.ts';
import { fullCheck } from './check.ts';
import { moveTo, refuseTaken } from './copy.ts';
import { EXPORT_TABLES, type ExportTable } from './export-tables.ts';
import {
  type Column,
  EXPORT_FORMATS,
  type ExportFormat,
  type Row,
  readRows,
  type Written,
  writeRows,
} from './export-text.ts';
import { BUSY_WAIT_MS, detailOf, storeProblem, told } from './faults.ts';
import { migrate } from './migrate.ts';
import { syncPath } from './names.ts';
import { prepareToLook } from './prepare.ts';
import { MIGRATIONS } from './schema.ts';
import { renewSecrets, withholdSecrets } from './secrets.ts';
import { sliceTable } from './slices.ts';
import { schemaVersion } from './version.ts';

const KIND = 'slackwater export';
const VERSION = 1;
const MANIFEST = 'manifest.json';

type Manifest = {
  readonly kind: string;
  readonly version: number;
  readonly format: ExportFormat;
  readonly schema: number;
  readonly units: unknown;
  readonly notes: readonly string[];
  readonly files: Readonly<Record<string, Written>>;
};

export type ExportReport = { readonly folder: string; readonly files: Readonly<Record<string, number>> };
export type ImportReport = { readonly file: string; readonly rows: Readonly<Record<string, number>> };

const NOTES = [
  'Times are in ms since 1970 UTC where a number is called "at", hours since 1970 UTC where it is called "hour".',
  'Amounts of slices are exact in grains; low, best and high tell the same in the unit beside them.',
  'The files power and readings only tell what minutes and journal hold; an import does not read them.',
  'One-use tokens of reminders and confirmations were replaced by labels.',
];

const fileName = (table: ExportTable, format: ExportFormat): string => `${table.name}.${format}`;

/** Everything the store holds as text, as of one moment; works beside a running service. The folder has to be new or empty. */
export async function exportStore(file: string, dir: string, format: ExportFormat): Promise<ExportReport> {
  if (!existsSync(file)) throw problem('SW-STORE-006', { file, detail: 'there is no such file' });
  if (existsSync(dir) && readdirSync(dir).length > 0) throw problem('SW-STORE-010', { file: dir });
  const wasThere = existsSync(dir);
  const db = told(file, 'open', () => new DatabaseSync(file, { readOnly: true, timeout: BUSY_WAIT_MS }));
  try {
    told(file, 'open', () => prepareToLook(db, file));
    mkdirSync(dir, { recursive: true, mode: 0o700 });
    db.exec('BEGIN');
    const files = told(file, 'open', () => writeTables(db, dir, format));
    writeManifest(dir, {
      kind: KIND,
      version: VERSION,
      format,
      schema: schemaVersion(db),
      units: units(),
      notes: NOTES,
      files,
    });
    return { folder: dir, files: Object.fromEntries(Object.entries(files).map(([name, { rows }]) => [name, rows])) };
  } catch (error) {
    for (const name of existsSync(dir) ? readdirSync(dir) : []) rmSync(join(dir, name));
    if (!wasThere) rmSync(dir, { recursive: true, force: true });
    throw exportProblem(error, file, dir);
  } finally {
    db.close();
  }
}

function exportProblem(error: unknown, file: string, dir: string): unknown {
  const code = error instanceof Error && 'code' in error ? error.code : null;
  if (code === 'ENOSPC') return problemFrom(error, 'SW-STORE-001', { file: dir });
  if (code === 'EACCES' || code === 'EROFS' || code === 'EPERM')
    return problemFrom(error, 'SW-STORE-002', { file: dir });
  return storeProblem(error, file, 'open');
}

const units = (): unknown =>
  Object.fromEntries(
    Object.entries(MEASURE_UNITS).map(([measure, unit]) => [
      measure,
      { unit, grainsPerUnit: GRAINS_PER_UNIT[measure as keyof typeof GRAINS_PER_UNIT] },
    ]),
  );

function writeTables(db: DatabaseSync, dir: string, format: ExportFormat): Record<string, Written> {
  const withhold = withholdSecrets();
  const files: Record<string, Written> = {};
  for (const table of EXPORT_TABLES) {
    const name = fileName(table, format);
    const rows = changed(table.rows(db), table.columns, withhold);
    files[name] = writeRows(join(dir, name), format, table.columns, rows);
  }
  return files;
}

function* changed(rows: Iterable<Row>, columns: readonly Column[], change: (text: string) => string): Generator<Row> {
  const names = columns.filter(({ type }) => type === 'json').map(({ name }) => name);
  for (const row of rows) {
    const texts = names.map((name) => [name, typeof row[name] === 'string' ? change(row[name]) : null] as const);
    yield names.length === 0 ? row : { ...row, ...Object.fromEntries(texts) };
  }
}

/** Last, so that a folder without one is an export that was cut short. */
function writeManifest(dir: string, manifest: Manifest): void {
  const file = join(dir, MANIFEST);
  writeFileSync(file, `${JSON.stringify(manifest, null, 2)}\n`, { mode: 0o600 });
  syncPath(file);
  syncPath(dir);
}

/** Makes a new store from an export; all of it or nothing. Never overwrites. */
export async function importStore(dir: string, file: string): Promise<ImportReport> {
  refuseTaken(file);
  const manifest = readManifest(dir);
  const partial = `${file}.partial`;
  rmSync(partial, { force: true });
  try {
    const db = told(file, 'write', () => new DatabaseSync(partial));
    let rows: Record<string, number>;
    try {
      rows = told(file, 'write', () => fill(db, dir, partial, manifest));
    } finally {
      db.close();
    }
    const damage = fullCheck(partial);
    if (damage !== null) throw problem('SW-STORE-007', { file, detail: damage });
    moveTo(partial, file);
    return { file, rows };
  } catch (error) {
    rmSync(partial, { force: true });
    if (error instanceof SlackwaterError && error.code !== 'SW-STORE-005') throw error;
    throw problemFrom(error, 'SW-STORE-011', { folder: dir, detail: detailOf(error) });
  }
}

function readManifest(dir: string): Manifest {
  const refuse = (detail: string) => problem('SW-STORE-011', { folder: dir, detail });
  const path = join(dir, MANIFEST);
  if (!existsSync(path)) throw refuse(`there is no ${MANIFEST} in it; it is no export, or one that was cut short`);
  let manifest: Partial<Manifest>;
  try {
    manifest = JSON.parse(readFileSync(path, 'utf8'));
  } catch (error) {
    throw refuse(`${MANIFEST} cannot be read: ${detailOf(error)}`);
  }
  const { kind, version = 0, schema = 0, format, files } = manifest;
  if (kind !== KIND || files === undefined || format === undefined || !EXPORT_FORMATS.includes(format))
    throw refuse(`${MANIFEST} is not one of ours`);
  if (version > VERSION || schema > MIGRATIONS.length)
    throw refuse(`it was made by a newer version (schema ${schema}; this one knows up to ${MIGRATIONS.length})`);
  return manifest as Manifest;
}

const PACK_EVERY = 500;

function fill(db: DatabaseSync, dir: string, partial: string, { format, files }: Manifest): Record<string, number> {
  db.exec('PRAGMA journal_mode = DELETE; PRAGMA foreign_keys = ON');
  migrate(db, partial);
  const packing = sliceTable(db);
  const renew = renewSecrets();
  const counts: Record<string, number> = {};
  db.exec('BEGIN');
  for (const table of EXPORT_TABLES) {
    if (table.put === undefined) continue;
    const name = fileName(table, format);
    const expected = files[name];
    if (expected === undefined || !existsSync(join(dir, name))) throw new Error(`${name} is missing`);
    const put = table.put(db);
    const rows = readRows(join(dir, name), format, table.columns);
    let next = rows.next();
    for (let count = 1; !next.done; next = rows.next(), count++) {
      const [row] = changed([next.value], table.columns, renew);
      if (row !== undefined) put(row);
      if (count % PACK_EVERY === 0) packing.packNext();
    }
    if (next.value.rows !== expected.rows)
      throw new Error(`${name} has ${next.value.rows} rows instead of ${expected.rows}`);
    if (next.value.sha256 !== expected.sha256) throw new Error(`${name} is not as it was written`);
    counts[table.name] = next.value.rows;
  }
  db.exec('COMMIT');
  return counts;
}
