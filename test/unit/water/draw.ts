import type { TestContext } from 'node:test';
import fc from 'fast-check';

/** `SEED=… node --test …` repeats a run; without it every run draws its own cases. */
const given = process.env['SEED'];

/** Checks a property over two hundred cases and says which ones; each case of water solves equations. */
export function holds<Ts>(t: TestContext, property: fc.IRawProperty<Ts>, numRuns: number = 200): void {
  const seed = given === undefined ? (Date.now() ^ (process.pid << 8)) | 0 : Number(given);
  t.diagnostic(`${numRuns} cases, seed ${seed}`);
  fc.assert(property, { seed, numRuns });
}

/** A number of a range, ends included. */
export const between = (min: number, max: number): fc.Arbitrary<number> =>
  fc.double({ min, max, noNaN: true, noDefaultInfinity: true });

export const salinities = between(0.5, 41);
export const temperatures = between(0, 38);
export const volumes = between(5, 5000);
