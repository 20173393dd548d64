import { after, before, describe, test } from 'node:test';
import { type Bench, makeBench } from './bench.ts';
import type { Check } from './check.ts';
import { connectChecks } from './checks-connect.ts';
import { gateChecks } from './checks-gate.ts';
import { historyChecks } from './checks-history.ts';
import { linkChecks } from './checks-link.ts';
import { pastChecks } from './checks-past.ts';
import { publishChecks } from './checks-publish.ts';
import { renameChecks } from './checks-renames.ts';
import { stateChecks } from './checks-states.ts';
import type { Home } from './home.ts';

/** In this order: the last ones take the hub down. */
export const CHECKS: readonly Check[] = [
  ...connectChecks,
  ...stateChecks,
  ...historyChecks,
  ...pastChecks,
  ...renameChecks,
  ...gateChecks,
  ...publishChecks,
  ...linkChecks,
];

/** What the hub edge promises, checked the same way against every hub: one simulated, one real. */
export function hubContract(name: string, makeHome: () => Promise<Home>): void {
  describe(name, () => {
    const made = Promise.withResolvers<Bench>();
    before(async () => {
      made.resolve(makeHome().then(makeBench));
      await made.promise;
    });
    after(async () => (await made.promise).close());
    for (const check of CHECKS) test(check.name, async () => check.run(await made.promise));
  });
}
