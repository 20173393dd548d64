// SQLite ends its reading of the log at the first frame whose check sum is wrong, without a word: right for a write that was
// cut short, but what follows a damaged frame is dropped as well. So the log is looked through before SQLite opens it.
// Layout: https://www.sqlite.org/fileformat2.html#walformat

const HEADER = 32;
const FRAME_HEADER = 24;
/** What this store is made with. */
const USUAL_PAGE = 4096;
const VERSION = 3_007_000;
const MAGIC_BIG_ENDIAN_SUMS = 0x377f_0683;
const MAGIC_LITTLE_ENDIAN_SUMS = 0x377f_0682;

export type WalReport = {
  /** Frames (a page each) SQLite will take: all up to the last unbroken commit. */
  readonly taken: number;
  /** Whole frames of commits behind a damaged one, which it will not. */
  readonly dropped: number;
  /** The log without its damaged frames, where a later frame holds the same page anew: then nothing is missing. Else null. */
  readonly mended: Uint8Array | null;
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

type Frame = { readonly at: number; readonly page: number; readonly isCommit: boolean; readonly isWhole: boolean };

type Log = {
  readonly bytes: DataView;
  readonly pageSize: number;
  readonly littleEndian: boolean;
  readonly isHeaderWhole: boolean;
  /** They tell to which run of the log a frame belongs; older ones lie behind it. */
  readonly salts: Sums;
  /** Up to the last whole commit. */
  readonly frames: readonly Frame[];
};

/** Looks through a log; null where there is nothing in it. */
export function scanWal(bytes: DataView): WalReport | null {
  if (bytes.byteLength < HEADER + FRAME_HEADER) return null;
  const magic = bytes.getUint32(0);
  const littleEndian = magic === MAGIC_LITTLE_ENDIAN_SUMS;
  if (littleEndian || magic === MAGIC_BIG_ENDIAN_SUMS) {
    const sums = addSums([0, 0], bytes, 0, 24, littleEndian);
    if (same(sums, sumsAt(bytes, 24))) return reportOf(readLog(bytes, bytes.getUint32(8), littleEndian, true));
  }
  // SQLite takes nothing behind a damaged header. Whether there was something, its frames tell.
  const [little, big] = [true, false].map((order) => readLog(bytes, USUAL_PAGE, order, false));
  const found = big !== undefined && big.frames.length > 0 ? big : little;
  return found === undefined ? null : reportOf(found);
}

function readLog(bytes: DataView, pageSize: number, littleEndian: boolean, isHeaderWhole: boolean): Log {
  const frame = FRAME_HEADER + pageSize;
  let before = sumsAt(bytes, 24);
  let salts = sumsAt(bytes, 16);
  const frames: Frame[] = [];
  let untilCommit = 0;
  let isAnyWhole = isHeaderWhole;
  for (let at = HEADER; at + frame <= bytes.byteLength; at += frame) {
    const headSums = addSums(before, bytes, at, at + 8, littleEndian);
    const sums = addSums(headSums, bytes, at + FRAME_HEADER, at + frame, littleEndian);
    before = sumsAt(bytes, at + 16);
    if (!isAnyWhole) salts = sumsAt(bytes, at + 8);
    const isWhole = same(salts, sumsAt(bytes, at + 8)) && same(sums, before);
    if (isWhole) isAnyWhole = true;
    // Only what a commit closes counts; this field is 0 in the frames before it.
    const isCommit = isWhole && bytes.getUint32(at + 4) !== 0;
    frames.push({ at, page: bytes.getUint32(at), isCommit, isWhole });
    if (isCommit) untilCommit = frames.length;
  }
  return { bytes, pageSize, littleEndian, isHeaderWhole, salts, frames: frames.slice(0, untilCommit) };
}

function reportOf(log: Log): WalReport {
  const { frames, isHeaderWhole } = log;
  const broken = isHeaderWhole ? frames.findIndex(({ isWhole }) => !isWhole) : 0;
  if (broken === -1) return { taken: frames.length, dropped: 0, mended: null };
  const taken = frames.slice(0, broken).findLastIndex(({ isCommit }) => isCommit) + 1;
  const dropped = frames.slice(broken).filter(({ isWhole }) => isWhole).length;
  return { taken, dropped, mended: dropped > 0 ? mend(log) : null };
}

/** Null where a damaged frame is the last that holds its page. */
function mend({ bytes, pageSize, littleEndian, salts, frames }: Log): Uint8Array | null {
  const newest = new Map(frames.filter(({ isWhole }) => isWhole).map((frame) => [frame.page, frame.at]));
  const damaged = frames.filter(({ isWhole }) => !isWhole);
  if (!damaged.every(({ page, at }) => (newest.get(page) ?? -1) > at)) return null;
  const whole = frames.filter(({ isWhole }) => isWhole);
  const size = FRAME_HEADER + pageSize;
  const mended = new Uint8Array(HEADER + whole.length * size);
  const view = new DataView(mended.buffer);
  const header = [littleEndian ? MAGIC_LITTLE_ENDIAN_SUMS : MAGIC_BIG_ENDIAN_SUMS, VERSION, pageSize, 0, ...salts];
  for (const [index, value] of header.entries()) view.setUint32(index * 4, value);
  let sums = addSums([0, 0], view, 0, 24, littleEndian);
  view.setUint32(24, sums[0]);
  view.setUint32(28, sums[1]);
  for (const [index, { at }] of whole.entries()) {
    const to = HEADER + index * size;
    mended.set(new Uint8Array(bytes.buffer, bytes.byteOffset + at, size), to);
    sums = addSums(addSums(sums, view, to, to + 8, littleEndian), view, to + FRAME_HEADER, to + size, littleEndian);
    view.setUint32(to + 16, sums[0]);
    view.setUint32(to + 20, sums[1]);
  }
  return mended;
}
