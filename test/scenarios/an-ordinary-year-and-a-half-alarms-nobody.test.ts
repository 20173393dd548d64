// The healthy demo tank with all of its noise: bubbles under the level sensor, warm-up peaks, days of low mains, a plug bumped
// for 20 s, lost reports, gaps of the hub, closures, a heat spell, a pump swapped and confirmed hours later. Condition,
// guards and the watch over what is left off have nothing to say but of wear that is there. Here the stretch about the
// swap and the weeks about the heat spell; all of it, and more seeds: `node test/simulation/wear/eighteen-months.ts`.
import assert from 'node:assert/strict';
import { test } from 'node:test';
import { runMonths } from '../simulation/wear/eighteen-months.ts';

for (const [what, from, days] of [
  ['the first weeks, with all to be learned', 0, 28],
  ['the heat spell in a closure', 301, 40],
  ['the planned swap of a circulation pump', 462, 40],
] as const)
  test(what, () => {
    const { falseAlarms } = runMonths(7, days, from);
    assert.deepEqual(falseAlarms, []);
  });
