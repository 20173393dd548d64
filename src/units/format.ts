import { findUnit, kindDef, type QuantityKind, type UnitDef } from './kinds.ts';
import { exactNumber, formatNumber } from './number.ts';
import { fromInside } from './parse.ts';

/**
 * Exact in the inside unit: reads back as the same number. In another unit it is rounded to twelve digits, so that what
 * a person wrote ("10 gal") comes out as it went in.
 */
export function formatQuantity(kind: QuantityKind, value: number, unitSymbol?: string): string {
  if (!Number.isFinite(value)) return 'unknown';
  const unit = unitOf(kind, unitSymbol);
  const amount = fromInside(value, unit);
  const exact = unit.factor === 1 && unit.offset === undefined;
  return `${exactNumber(exact ? amount : tidy(amount, unit))} ${unit.symbol}`;
}

/** Twelve digits; where the unit has an offset, an amount near zero has lost the last places in the subtraction. */
function tidy(amount: number, unit: UnitDef): number {
  const kept = unit.offset === undefined ? amount : Number(amount.toFixed(9));
  return Number(kept.toPrecision(12));
}

/** For reading: `decimals` places at most, grouped. "3,096 h" style; the unit defaults to the inside one. */
export function showQuantity(kind: QuantityKind, value: number, decimals: number, unitSymbol?: string): string {
  const unit = unitOf(kind, unitSymbol);
  return showAmount(fromInside(value, unit), unit.symbol, decimals);
}

/** A number with its unit; unknown stays a word. */
export function showAmount(value: number, unit: string, decimals: number = decimalsFor(value)): string {
  if (!Number.isFinite(value)) return 'unknown';
  const number = formatNumber(value, decimals);
  return `${number} ${unitAfter(number, unit)}`;
}

/** Amount with bounds: "3,096 h" where they agree at the shown precision, else "3,096 h (3,090 to 3,110)". */
export function formatBounds(
  bounds: { readonly low: number; readonly best: number; readonly high: number },
  unit: string,
  decimals: number = decimalsFor(bounds.best),
): string {
  const [low, best, high] = [bounds.low, bounds.best, bounds.high].map((value) => boundText(value, decimals));
  const whole = `${best} ${unitAfter(best ?? '', unit)}`;
  return low === high ? whole : `${whole} (${low} to ${high})`;
}

/** Units that are words: one start, two starts. */
const COUNTED = new Set(['starts', 'actuations']);
const unitAfter = (number: string, unit: string): string =>
  number === '1' && COUNTED.has(unit) ? unit.slice(0, -1) : unit;

function boundText(value: number, decimals: number): string {
  return Number.isFinite(value) ? formatNumber(value, decimals) : 'unknown';
}

/** Enough places to tell values of this size apart, no more. */
function decimalsFor(value: number): number {
  const size = Math.abs(value);
  if (size >= 100) return 0;
  return size >= 10 ? 1 : 2;
}

function unitOf(kind: QuantityKind, symbol: string | undefined): UnitDef {
  const inside = kindDef(kind).units[0];
  return symbol === undefined ? inside : (findUnit(kind, symbol) ?? inside);
}
