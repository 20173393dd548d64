// What will happen, in order of time; what was asked for first comes first at the same instant.
import type { InstantMs } from '../../units/index.ts';

export type Queue = {
  add(at: InstantMs, run: () => void): void;
  /** When the next thing happens; Infinity = never. */
  nextAt(): InstantMs;
  /** Takes the next thing out; undefined = nothing left. */
  take(): { readonly at: InstantMs; readonly run: () => void } | undefined;
};

type Item = { readonly at: InstantMs; readonly order: number; readonly run: () => void };

/** A binary heap: a session puts a few hundred things in and takes them out again. */
export function createQueue(): Queue {
  const heap: Item[] = [];
  let order = 0;
  const before = (a: Item, b: Item): boolean => a.at < b.at || (a.at === b.at && a.order < b.order);
  const up = (from: number): void => {
    let i = from;
    while (i > 0) {
      const parent = (i - 1) >> 1;
      if (!swapIf(parent, i)) return;
      i = parent;
    }
  };
  /** Puts the child above the parent where it comes before it. */
  const swapIf = (parent: number, child: number): boolean => {
    const p = heap[parent];
    const c = heap[child];
    if (!p || !c || !before(c, p)) return false;
    heap[parent] = c;
    heap[child] = p;
    return true;
  };
  const down = (): void => {
    let i = 0;
    for (;;) {
      const left = 2 * i + 1;
      const l = heap[left];
      const r = heap[left + 1];
      if (!l) return;
      const least = r && before(r, l) ? left + 1 : left;
      if (!swapIf(i, least)) return;
      i = least;
    }
  };
  return {
    add(at, run) {
      // Whole milliseconds, as every moment of the service is.
      heap.push({ at: Math.round(at), order: order++, run });
      up(heap.length - 1);
    },
    nextAt: () => heap[0]?.at ?? Number.POSITIVE_INFINITY,
    take() {
      const first = heap[0];
      const last = heap.pop();
      if (first === undefined || last === undefined) return undefined;
      if (heap.length > 0) {
        heap[0] = last;
        down();
      }
      return first;
    },
  };
}
