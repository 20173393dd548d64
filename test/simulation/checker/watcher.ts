import type { TraceEntry } from '../trace.ts';
import type { World } from './world.ts';

export type Invariant = 'I1' | 'I2' | 'I3' | 'I4' | 'I5' | 'I6' | 'I7' | 'I8' | 'I9' | 'I10';

export type Violation = { readonly invariant: Invariant; readonly at: number; readonly text: string };

/** How a check speaks: `arm` counts an occasion on which the invariant could have been broken, `fail` that it was. */
export type Report = { readonly arm: () => void; readonly fail: (text: string, at?: number) => void };

/** One invariant at work on one trace. `before` sees an entry with the world as it was, `after` with the entry in it. */
export type Watcher = {
  readonly before?: (entry: TraceEntry, world: World) => void;
  readonly after?: (entry: TraceEntry, world: World) => void;
  readonly end?: (world: World) => void;
};

/**
 * An invariant: what it keeps in mind while it reads (`memory`, plain data that `copy` can double where a story parts into
 * several), and how it looks at each entry.
 */
export type Check<M> = {
  /** Of which entries `after` is to see; no other changes what it goes by. */
  readonly kinds: readonly TraceEntry['kind'][];
  readonly memory: () => M;
  readonly copy: (memory: M) => M;
  readonly watch: (memory: M, report: Report) => Watcher;
};
