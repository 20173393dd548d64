import type { Reading } from './types.ts';

/** So many readings of one entity tell what it did in a moment: where it began, how low and how high it went, where it is. */
const MOST = 4;

/**
 * A moment's readings of one entity, with one more: all of them while they are few, and of many those that tell the most.
 * Order is that of arrival, the newest arrival last.
 */
export function withReading(held: readonly Reading[], reading: Reading): readonly Reading[] {
  const all = [...held, reading];
  if (all.length <= MOST) return all;
  const inner = all.slice(1, -1);
  const values = inner.map(({ value }) => value);
  const known = values.filter((value) => value !== null);
  const telling = (one: Reading, at: number): boolean =>
    one.value === null
      ? values.indexOf(null) === at
      : values.indexOf(one.value) === at && (one.value === Math.min(...known) || one.value === Math.max(...known));
  return [all[0] ?? reading, ...inner.filter(telling), reading];
}
