import { findUnit, kindDef, kindsWithUnit, type QuantityKind, type UnitDef, unitSymbols } from './kinds.ts';
import { parseNumber } from './number.ts';

/** Why a text is not the quantity asked for, in the words a message needs. */
export type Misread = {
  readonly ok: false;
  /** What was found, quoted, with what it would be: `"450 W" (a power)`. */
  readonly found: string;
  /** What belongs there: "a volume in L, ml, gal …". */
  readonly expected: string;
  readonly example: string;
};
export type Parsed<T = number> = { readonly ok: true; readonly value: T } | Misread;

/** Reads "450 L" or "120 gal" as a number in the inside unit of the kind. */
export function parseQuantity(kind: QuantityKind, text: string): Parsed {
  const def = kindDef(kind);
  const split = splitQuantity(text);
  if (split === null) return misread(kind, `"${text}"`);
  const amount = parseNumber(split.number);
  if (amount === null) return misread(kind, `"${text}"${decimalComma(split.number)}`);
  if (split.unit === '') {
    if (def.bareNumber !== true) return misread(kind, `"${text}" (no unit)`);
    return { ok: true, value: amount };
  }
  const unit = findUnit(kind, split.unit);
  if (unit === null) return misread(kind, `"${text}"${otherKind(kind, split.unit)}`);
  return { ok: true, value: toInside(amount, unit) };
}

/** Inside value of an amount written in `unit`. */
export function toInside(amount: number, unit: UnitDef): number {
  // Dividing by whole powers of ten keeps "90 %" at 0.9 where a product would give 0.9000000000000001.
  const inverse = 1 / unit.factor;
  const scaled = unit.factor < 1 && Number.isInteger(inverse) ? amount / inverse : amount * unit.factor;
  return scaled + (unit.offset ?? 0);
}

/** Amount in `unit` of an inside value. */
export function fromInside(value: number, unit: UnitDef): number {
  const inverse = 1 / unit.factor;
  const shifted = value - (unit.offset ?? 0);
  return unit.factor < 1 && Number.isInteger(inverse) ? shifted * inverse : shifted / unit.factor;
}

export function splitQuantity(text: string): { readonly number: string; readonly unit: string } | null {
  const match = /^\s*([+\-−–]?[\d.,]+(?:e[+-]?\d+)?)\s*(.*?)\s*$/iu.exec(text);
  if (match === null) return null;
  return { number: match[1] ?? '', unit: match[2] ?? '' };
}

function misread(kind: QuantityKind, found: string): Misread {
  const def = kindDef(kind);
  return {
    ok: false,
    found,
    expected: `${def.name} in ${unitSymbols(kind).join(', ')}`,
    example: def.examples.join(' or '),
  };
}

function decimalComma(number: string): string {
  return number.includes(',') ? ' (a comma; decimals take a point)' : '';
}

function otherKind(kind: QuantityKind, unit: string): string {
  const [first] = kindsWithUnit(unit, kind);
  return first === undefined ? ` (unknown unit "${unit}")` : ` (${kindDef(first).name})`;
}
