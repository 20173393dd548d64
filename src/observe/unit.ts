/** Both signs for "micro" are in use; the hub changed from one to the other. */
const MICRO = /\u00b5/g;

/** A unit as it is compared: one micro sign, no blanks around. */
export function unitText(unit: string): string {
  return unit.trim().replace(MICRO, '\u03bc');
}

/** The same unit, written as differently as hubs and integrations do. */
export function sameUnit(a: string, b: string): boolean {
  const plain = (unit: string): string => unitText(unit).replace(/^[lℓ]$/, 'L');
  return plain(a) === plain(b);
}
