import type { TestContext } from 'node:test';
import fc from 'fast-check';

/** `SEED=… node --test …` repeats a run; without it every run draws its own cases. */
const given = process.env['SEED'];

/** Checks a property over at least a thousand cases and says which ones. */
export function holds<Ts>(t: TestContext, property: fc.IRawProperty<Ts>, numRuns = 1_000): void {
  const seed = given === undefined ? (Date.now() ^ (process.pid << 8)) | 0 : Number(given);
  t.diagnostic(`${numRuns} cases, seed ${seed}`);
  fc.assert(property, { seed, numRuns });
}
