import { crc32, deflateRawSync, inflateRawSync } from 'node:zlib';

// Whole numbers as bytes of seven bits, least first; the eighth bit says that more follow. Exact up to 2^53.

export type Writer = { bytes: Uint8Array; length: number };

export const newWriter = (): Writer => ({ bytes: new Uint8Array(256), length: 0 });

export function putNumber(out: Writer, value: number): void {
  if (out.length + 8 > out.bytes.length) {
    const wider = new Uint8Array(out.bytes.length * 2);
    wider.set(out.bytes);
    out.bytes = wider;
  }
  let rest = value;
  while (rest >= 128) {
    out.bytes[out.length++] = (rest % 128) + 128;
    rest = Math.floor(rest / 128);
  }
  out.bytes[out.length++] = rest;
}

/** Small differences of either sign. */
export function putSigned(out: Writer, value: number): void {
  putNumber(out, value < 0 ? -2 * value - 1 : 2 * value);
}

export type Reader = { readonly bytes: Uint8Array; at: number };

export function takeNumber(from: Reader): number {
  let value = 0;
  let weight = 1;
  while (true) {
    const byte = from.bytes[from.at++];
    if (byte === undefined) throw new DamagedBytes('it ends too early');
    value += (byte % 128) * weight;
    if (byte < 128) return value;
    weight *= 128;
  }
}

export function takeSigned(from: Reader): number {
  const coded = takeNumber(from);
  return coded % 2 === 0 ? coded / 2 : -(coded + 1) / 2;
}

/** Bytes that are not what was written. */
export class DamagedBytes extends Error {
  override readonly name = 'DamagedBytes';
}

const CHECK_BYTES = 4;

/** Compressed, with a check sum before it: SQLite itself does not see a changed byte inside a row. */
export function seal(out: Writer): Uint8Array {
  const packed = deflateRawSync(out.bytes.subarray(0, out.length), { level: 9 });
  const sealed = new Uint8Array(CHECK_BYTES + packed.length);
  new DataView(sealed.buffer).setUint32(0, crc32(packed));
  sealed.set(packed, CHECK_BYTES);
  return sealed;
}

export function unseal(sealed: Uint8Array): Reader {
  if (!isSealWhole(sealed)) throw new DamagedBytes('its check sum is wrong');
  return { bytes: inflateRawSync(sealed.subarray(CHECK_BYTES)), at: 0 };
}

export const crcOf = (text: string): number => crc32(text);

/** The text of a row, unless it is not what was written. Rows from before check sums were kept have none. */
export function checkedText(what: string, text: unknown, crc: unknown): string {
  const found = String(text);
  if (crc !== null && crc !== undefined && crc32(found) !== Number(crc)) {
    throw new DamagedBytes(`${what} is not what was written`);
  }
  return found;
}

/** Whether a packed piece is what was written, without unpacking it. */
export function checkSeal(what: string, sealed: unknown): void {
  if (!(sealed instanceof Uint8Array) || !isSealWhole(sealed)) throw new DamagedBytes(`${what} cannot be read`);
}

function isSealWhole(sealed: Uint8Array): boolean {
  if (sealed.length <= CHECK_BYTES) return false;
  const expected = new DataView(sealed.buffer, sealed.byteOffset, sealed.byteLength).getUint32(0);
  return crc32(sealed.subarray(CHECK_BYTES)) === expected;
}
