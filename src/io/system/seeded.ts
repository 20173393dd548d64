import { createHash } from 'node:crypto';
import type { Random } from '../../ports/index.ts';

/** Repeatable tokens of the real ones' shape. Only for tests and simulations: whoever knows the seed knows them all. */
export function seededRandom(seed: number): Random {
  let count = 0;
  return {
    token: () => createHash('sha256').update(`${seed}:${count++}`).digest().subarray(0, 18).toString('base64url'),
  };
}
