import { closeSync, copyFileSync, existsSync, openSync, readSync, statSync } from 'node:fs';
import { freeName } from './names.ts';

// SQLite ends its reading of the log at the first frame whose check sum is wrong, without a word: right for a write that was
// cut short, but what follows a damaged frame is dropped as well. So the log is looked through before SQLite opens it.
// Layout: https://www.sqlite.org/fileformat2.html#walformat

const HEADER = 32;
const FRAME_HEADER = 24;
/** What this store is made with. */
const USUAL_PAGE = 4096;
const MAGIC_BIG_ENDIAN_SUMS = 0x377f_0683;
const MAGIC_LITTLE_ENDIAN_SUMS = 0x377f_0682;

export type WalReport = {
  /** Frames (a page each) SQLite will take: all up to the last unbroken commit. */
  readonly taken: number;
  /** Whole frames of commits behind a damaged one, which it will not. */
  readonly dropped: number;
};

type Sums = readonly [number, number];

function addSums(start: Sums, bytes: DataView, from: number, to: number, littleEndian: boolean): Sums {
  let [s0, s1] = start;
  for (let at = from; at < to; at += 8) {
    s0 = (s0 + bytes.getUint32(at, littleEndian) + s1) >>> 0;
    s1 = (s1 + bytes.getUint32(at + 4, littleEndian) + s0) >>> 0;
  }
  return [s0, s1];
}

const same = (a: Sums, b: Sums): boolean => a[0] === b[0] && a[1] === b[1];
const sumsAt = (bytes: DataView, at: number): Sums => [bytes.getUint32(at), bytes.getUint32(at + 4)];

/** Looks through a log; null where there is nothing in it. */
export function scanWal(bytes: DataView): WalReport | null {
  if (bytes.byteLength < HEADER + FRAME_HEADER) return null;
  const magic = bytes.getUint32(0);
  const littleEndian = magic === MAGIC_LITTLE_ENDIAN_SUMS;
  if (littleEndian || magic === MAGIC_BIG_ENDIAN_SUMS) {
    const sums = addSums([0, 0], bytes, 0, 24, littleEndian);
    if (same(sums, sumsAt(bytes, 24))) return scanFrames(bytes, bytes.getUint32(8), littleEndian, true);
  }
  // SQLite takes nothing behind a damaged header. Whether there was something, its frames tell.
  const either = [true, false].map((little) => scanFrames(bytes, USUAL_PAGE, little, false));
  return { taken: 0, dropped: Math.max(...either.map(({ dropped }) => dropped)) };
}

function scanFrames(bytes: DataView, pageSize: number, littleEndian: boolean, isHeaderWhole: boolean): WalReport {
  const frame = FRAME_HEADER + pageSize;
  let before = sumsAt(bytes, 24);
  // They tell to which run of the log a frame belongs; older ones lie behind it.
  let salts = sumsAt(bytes, 16);
  let isUnbroken = isHeaderWhole;
  let [taken, dropped, behind] = [0, 0, 0];
  let number = 0;
  for (let at = HEADER; at + frame <= bytes.byteLength; at += frame) {
    number++;
    const headSums = addSums(before, bytes, at, at + 8, littleEndian);
    const sums = addSums(headSums, bytes, at + FRAME_HEADER, at + frame, littleEndian);
    before = sumsAt(bytes, at + 16);
    if (!isHeaderWhole && behind === 0) salts = sumsAt(bytes, at + 8);
    const isWhole = same(salts, sumsAt(bytes, at + 8)) && same(sums, before);
    if (!isWhole) isUnbroken = false;
    else if (!isUnbroken) behind++;
    // Only what a commit closes counts; this field is 0 in the frames before it.
    const isCommit = isWhole && bytes.getUint32(at + 4) !== 0;
    if (isCommit && isUnbroken) taken = number;
    else if (isCommit) dropped = behind;
  }
  return { taken, dropped };
}

/** Reads the log beside a store that was not closed. */
export function readWal(file: string): WalReport | null {
  const log = `${file}-wal`;
  if (!existsSync(log)) return null;
  const bytes = new Uint8Array(statSync(log).size);
  const handle = openSync(log, 'r');
  try {
    let at = 0;
    while (at < bytes.length) {
      const read = readSync(handle, bytes, at, bytes.length - at, at);
      if (read === 0) break;
      at += read;
    }
  } finally {
    closeSync(handle);
  }
  return scanWal(new DataView(bytes.buffer));
}

/** Puts a log that cannot be read to its end aside, for whoever wants to look into it. */
export function keepWal(file: string): string {
  const kept = freeName(`${file}-wal.unread`);
  copyFileSync(`${file}-wal`, kept);
  return kept;
}
