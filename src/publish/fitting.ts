/** The hub's recorder drops attributes above 16 KiB; half of that also leaves room on slow phones. */
export const ATTRIBUTES_MAX_BYTES = 12_288;

const size = (value: unknown): number => Buffer.byteLength(JSON.stringify(value));

/** A list that may lose its last entries; `bytes` of each as they stand in the text. */
type Cuttable = { readonly name: string; readonly list: readonly unknown[]; readonly bytes: number[]; total: number };

const cuttable = (name: string, list: readonly unknown[]): Cuttable => {
  const bytes = list.map((entry) => size(entry ?? null));
  // Brackets, and the commas between.
  const total = 2 + bytes.reduce((sum, one) => sum + one, 0) + Math.max(0, bytes.length - 1);
  return { name, list, bytes, total };
};

const longestOf = (lists: readonly Cuttable[]): Cuttable | undefined =>
  lists.reduce<Cuttable | undefined>(
    (most, one) => (most === undefined || one.total > most.total ? one : most),
    undefined,
  );

/**
 * Attributes within the limit: the longest list loses its last entries and the count of what is missing is told beside
 * it, since a list that ends without a word looks complete. A long session is shown at every change, so each entry is
 * measured once.
 */
export const fitting = (attributes: Readonly<Record<string, unknown>>): Readonly<Record<string, unknown>> => {
  let bytes = size(attributes);
  if (bytes <= ATTRIBUTES_MAX_BYTES) return attributes;
  const kept: Record<string, unknown> = { ...attributes };
  const lists = Object.entries(attributes).flatMap(([name, list]) =>
    Array.isArray(list) ? [cuttable(name, list)] : [],
  );
  while (bytes > ATTRIBUTES_MAX_BYTES) {
    const longest = longestOf(lists);
    const last = longest?.bytes.pop();
    if (longest === undefined || last === undefined) return cutTexts(kept);
    const gone = last + (longest.bytes.length > 0 ? 1 : 0);
    longest.total -= gone;
    kept[longest.name] = longest.list.slice(0, longest.bytes.length);
    const told = `${longest.name}_left_out`;
    const before = kept[told];
    const count = Number(before ?? 0) + 1;
    kept[told] = count;
    bytes += size(count) - gone - (before === undefined ? -(size(told) + 2) : size(before));
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
