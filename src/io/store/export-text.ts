import { createHash, type Hash } from 'node:crypto';
import { closeSync, fsyncSync, openSync, readSync, writeSync } from 'node:fs';

export const EXPORT_FORMATS = ['csv', 'json'] as const;
export type ExportFormat = (typeof EXPORT_FORMATS)[number];

export type Cell = string | number | null;
export type Row = Readonly<Record<string, Cell>>;

/** `json`: text that is JSON; nested in a JSON export. `told`: for a person to read, worked out from the others. */
export type Column = { readonly name: string; readonly type: 'text' | 'number' | 'json'; readonly isTold?: boolean };

const CHUNK = 1 << 16;

// CSV after RFC 4180, one heading line, lines end in CRLF. Nothing at all between commas is "none"; "" is an empty text.

const csvCell = (value: Cell): string => {
  if (value === null) return '';
  const text = String(value);
  return text === '' || /[",\r\n]/.test(text) ? `"${text.replaceAll('"', '""')}"` : text;
};

function jsonRow(columns: readonly Column[], row: Row): string {
  const parts = columns.map(({ name, type }) => {
    const value = row[name] ?? null;
    const text = type === 'json' && value !== null ? String(value) : JSON.stringify(value);
    return `${JSON.stringify(name)}:${text}`;
  });
  return `{${parts.join(',')}}`;
}

export type Written = { readonly rows: number; readonly sha256: string };

/** Writes rows to a file as they come; JSON is one list with a row on each line. */
export function writeRows(
  file: string,
  format: ExportFormat,
  columns: readonly Column[],
  rows: Iterable<Row>,
): Written {
  const handle = openSync(file, 'wx', 0o600);
  const hash = createHash('sha256');
  let waiting = '';
  let count = 0;
  const put = (text: string, most = CHUNK): void => {
    waiting += text;
    if (waiting.length < most) return;
    const bytes = Buffer.from(waiting);
    hash.update(bytes);
    for (let at = 0; at < bytes.length; ) at += writeSync(handle, bytes, at);
    waiting = '';
  };
  try {
    put(format === 'csv' ? `${columns.map(({ name }) => name).join(',')}\r\n` : '[');
    for (const row of rows) {
      if (format === 'csv') put(`${columns.map(({ name }) => csvCell(row[name] ?? null)).join(',')}\r\n`);
      else put(`${count === 0 ? '' : ','}\n${jsonRow(columns, row)}`);
      count++;
    }
    put(format === 'csv' ? '' : '\n]\n', 0);
    fsyncSync(handle);
  } finally {
    closeSync(handle);
  }
  return { rows: count, sha256: hash.digest('hex') };
}

/** Text of a file piece by piece, each byte also into `hash`. */
function* pieces(file: string, hash: Hash): Generator<string> {
  const handle = openSync(file, 'r');
  const decoder = new TextDecoder('utf-8', { fatal: true });
  const bytes = Buffer.alloc(CHUNK);
  try {
    for (let read = readSync(handle, bytes); read > 0; read = readSync(handle, bytes)) {
      const part = bytes.subarray(0, read);
      hash.update(part);
      yield decoder.decode(part, { stream: true });
    }
    yield decoder.decode();
  } finally {
    closeSync(handle);
  }
}

/** Lines of a text, without their ends; a line end inside quotes does not end the line. */
function* lines(text: Iterable<string>, minds: 'quotes' | 'nothing'): Generator<string> {
  let rest = '';
  for (const piece of text) {
    rest += piece;
    let from = 0;
    let isQuoted = false;
    for (let at = 0; at < rest.length; at++) {
      const char = rest[at];
      if (char === '"' && minds === 'quotes') isQuoted = !isQuoted;
      else if (char === '\n' && !isQuoted) {
        yield rest.slice(from, rest[at - 1] === '\r' ? at - 1 : at);
        from = at + 1;
      }
    }
    rest = rest.slice(from);
  }
  if (rest !== '') yield rest;
}

/** Cells of a line; null where there is nothing between the commas. */
function csvCells(line: string): (string | null)[] {
  const cells: (string | null)[] = [];
  const pattern = /(?:"((?:[^"]|"")*)"|([^,]*))(,|$)/gy;
  for (let match = pattern.exec(line); match !== null; match = pattern.exec(line)) {
    const [, quoted, plain] = match;
    cells.push(quoted !== undefined ? quoted.replaceAll('""', '"') : plain === '' ? null : (plain ?? null));
    if (match[3] === '') break;
  }
  return cells;
}

function* csvRows(columns: readonly Column[], text: Iterable<string>): Generator<Row> {
  let heading: readonly (string | null)[] | null = null;
  for (const line of lines(text, 'quotes')) {
    const cells = csvCells(line);
    if (heading === null) {
      heading = cells;
      continue;
    }
    const row: Record<string, Cell> = {};
    for (const { name, type } of columns) {
      const cell = cells[heading.indexOf(name)] ?? null;
      row[name] = type === 'number' && cell !== null ? Number(cell) : cell;
    }
    yield row;
  }
}

function* jsonRows(columns: readonly Column[], text: Iterable<string>): Generator<Row> {
  for (const line of lines(text, 'nothing')) {
    if (!line.startsWith('{')) continue;
    const found = JSON.parse(line.endsWith(',') ? line.slice(0, -1) : line) as Record<string, unknown>;
    const row: Record<string, Cell> = {};
    for (const { name, type } of columns) {
      const value = found[name] ?? null;
      row[name] = type === 'json' && value !== null ? JSON.stringify(value) : (value as Cell);
    }
    yield row;
  }
}

/** Reads such a file row by row; gives what was read once all has been taken. */
export function* readRows(file: string, format: ExportFormat, columns: readonly Column[]): Generator<Row, Written> {
  const hash = createHash('sha256');
  const text = pieces(file, hash);
  let rows = 0;
  for (const row of format === 'csv' ? csvRows(columns, text) : jsonRows(columns, text)) {
    rows++;
    yield row;
  }
  return { rows, sha256: hash.digest('hex') };
}
