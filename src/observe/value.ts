/** Words that say a thing is on (1) or off (0). Everything else that is not a number is a gap: unknown is never off. */
const WORDS: ReadonlyMap<string, 0 | 1> = new Map([
  ['on', 1],
  ['off', 0],
  ['open', 1],
  ['closed', 0],
  ['home', 1],
  ['not_home', 0],
  ['true', 1],
  ['false', 0],
]);

// Number() alone would take '' for 0, '0x1f' for 31 and 'Infinity' for a value.
const DECIMAL = /^[+-]?(\d+\.?\d*|\.\d+)(e[+-]?\d+)?$/i;

/** State text of the hub as a number, or null where it tells nothing that can be counted. */
export function stateValue(state: string): number | null {
  const text = state.trim();
  const word = WORDS.get(text.toLowerCase());
  if (word !== undefined) return word;
  if (!DECIMAL.test(text)) return null;
  const value = Number(text);
  return Number.isFinite(value) ? value : null;
}
