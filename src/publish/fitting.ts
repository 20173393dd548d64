/** The hub's recorder drops attributes above 16 KiB; half of that also leaves room on slow phones. */
export const ATTRIBUTES_MAX_BYTES = 12_288;

const size = (value: unknown): number => new TextEncoder().encode(JSON.stringify(value)).length;

/**
 * Attributes within the limit: the longest list loses its last entries and the count of what is missing is told beside
 * it, since a list that ends without a word looks complete.
 */
export const fitting = (attributes: Readonly<Record<string, unknown>>): Readonly<Record<string, unknown>> => {
  const kept: Record<string, unknown> = { ...attributes };
  while (size(kept) > ATTRIBUTES_MAX_BYTES) {
    const lists = Object.entries(kept).filter((entry): entry is [string, unknown[]] => Array.isArray(entry[1]));
    const longest = lists.sort((a, b) => size(b[1]) - size(a[1]))[0];
    if (longest === undefined || longest[1].length === 0) return cutTexts(kept);
    const [name, list] = longest;
    const left = list.slice(0, -1);
    kept[name] = left;
    kept[`${name}_left_out`] = Number(kept[`${name}_left_out`] ?? 0) + 1;
  }
  return kept;
};

const cutTexts = (attributes: Readonly<Record<string, unknown>>): Readonly<Record<string, unknown>> =>
  Object.fromEntries(
    Object.entries(attributes).map(([name, value]) => [
      name,
      typeof value === 'string' && value.length > 500 ? `${value.slice(0, 497)}...` : value,
    ]),
  );
