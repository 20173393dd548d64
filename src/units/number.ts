/** A number as people write it: point for decimals, commas only between full groups of three. Null where it is not one. */
export function parseNumber(text: string): number | null {
  const plain = text.trim().replace(/[−–]/g, '-');
  if (/^[+-]?\d{1,3}(,\d{3})+(\.\d+)?$/.test(plain)) return Number(plain.replace(/,/g, ''));
  if (/^[+-]?(\d+(\.\d*)?|\.\d+)(e[+-]?\d+)?$/i.test(plain)) return Number(plain);
  return null;
}

/** "3,096", "48.5": grouped for reading, never in powers of ten within the range people meet, no needless zeros. */
export function formatNumber(value: number, decimals: number): string {
  if (!Number.isFinite(value)) return 'unknown';
  const rounded = value.toFixed(decimals);
  const trimmed = decimals > 0 && !/e/.test(rounded) ? rounded.replace(/\.?0+$/, '') : rounded;
  return groupDigits(trimmed === '-0' ? '0' : trimmed);
}

/** The shortest text that reads back as the very same number. */
export function exactNumber(value: number): string {
  return Object.is(value, -0) ? '0' : groupDigits(String(value));
}

function groupDigits(text: string): string {
  const match = /^(-?)(\d+)(.*)$/.exec(text);
  if (match === null || /e/.test(text)) return text;
  const [, sign = '', whole = '', rest = ''] = match;
  return `${sign}${whole.replace(/\B(?=(\d{3})+$)/g, ',')}${rest}`;
}
