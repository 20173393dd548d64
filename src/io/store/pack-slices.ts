import { DamagedBytes, newWriter, putNumber, type Reader, seal, takeNumber, unseal, type Writer } from './bytes.ts';

/** A slice as stored: hours since 1970, origin by its index, `best` and `high` as what they have above the one below. */
export type SliceRow = {
  readonly hour: number;
  readonly origin: number;
  readonly low: number;
  readonly over_low: number;
  readonly over_best: number;
};

/** How the amounts are written: grains are whole or halves; anything else is kept as it is. */
const WHOLE = 0;
const HALVES = 1;
const AS_IS = 2;

const COLUMNS = ['low', 'over_low', 'over_best'] as const;

const fits = (rows: readonly SliceRow[], times: number): boolean =>
  rows.every((row) =>
    COLUMNS.every((column) => {
      const value = row[column] * times;
      return value >= 0 && Number.isSafeInteger(value);
    }),
  );

function putAmount(out: Writer, value: number, form: number): void {
  if (form !== AS_IS) {
    putNumber(out, form === HALVES ? value * 2 : value);
    return;
  }
  const view = new DataView(new ArrayBuffer(8));
  view.setFloat64(0, value);
  for (let index = 0; index < 8; index++) putNumber(out, view.getUint8(index));
}

function takeAmount(from: Reader, form: number): number {
  if (form !== AS_IS) return takeNumber(from) / (form === HALVES ? 2 : 1);
  const view = new DataView(new ArrayBuffer(8));
  for (let index = 0; index < 8; index++) view.setUint8(index, takeNumber(from));
  return view.getFloat64(0);
}

/** Rows in order of hour and origin, one for each pair → bytes. */
export function packSlices(rows: readonly SliceRow[]): Uint8Array {
  const form = fits(rows, 1) ? WHOLE : fits(rows, 2) ? HALVES : AS_IS;
  const out = newWriter();
  putNumber(out, form);
  putNumber(out, rows.length);
  let before = 0;
  for (const { hour } of rows) {
    putNumber(out, hour - before);
    before = hour;
  }
  for (const { origin } of rows) putNumber(out, origin);
  for (const column of COLUMNS) for (const row of rows) putAmount(out, row[column], form);
  return seal(out);
}

export function unpackSlices(packed: Uint8Array): readonly SliceRow[] {
  const from = unseal(packed);
  const form = takeNumber(from);
  if (form > AS_IS) throw new DamagedBytes('it is of a kind this version does not know');
  const length = takeNumber(from);
  const column = (take: () => number): number[] => Array.from({ length }, take);
  let hour = 0;
  const hours = column(() => {
    hour += takeNumber(from);
    return hour;
  });
  const origins = column(() => takeNumber(from));
  const lows = column(() => takeAmount(from, form));
  const overLows = column(() => takeAmount(from, form));
  const overBests = column(() => takeAmount(from, form));
  return hours.map((at, index) => ({
    hour: at,
    origin: origins[index] ?? 0,
    low: lows[index] ?? 0,
    over_low: overLows[index] ?? 0,
    over_best: overBests[index] ?? 0,
  }));
}

/** Rows of one hour and origin added up, in order of hour and origin. */
export function sumSlices(rows: readonly SliceRow[]): readonly SliceRow[] {
  const sorted = rows.toSorted((a, b) => a.hour - b.hour || a.origin - b.origin);
  const sums: SliceRow[] = [];
  for (const row of sorted) {
    const last = sums.at(-1);
    if (last === undefined || last.hour !== row.hour || last.origin !== row.origin) {
      sums.push(row);
      continue;
    }
    sums[sums.length - 1] = {
      ...last,
      low: last.low + row.low,
      over_low: last.over_low + row.over_low,
      over_best: last.over_best + row.over_best,
    };
  }
  return sums;
}
