import type { Bench } from './bench.ts';

/** One claim about any hub we work with. Checks run in order on one bench; each leaves the home as it found it. */
export type Check = { readonly name: string; readonly run: (bench: Bench) => Promise<void> };
