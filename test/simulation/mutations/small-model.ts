import { readFileSync } from 'node:fs';
import { parseArgs } from 'node:util';
import { type Bounds, explore } from '../exhaustive/explore.ts';
import { loadProduct } from '../exhaustive/product.ts';

// Asked for a copy of the product: what does trying every way on the small tank find that it does not find in the
// product itself? From the smallest bounds up, ending at the first find. Prints one line of JSON.

const { values } = parseArgs({
  options: { source: { type: 'string' }, known: { type: 'string' }, everything: { type: 'boolean', default: false } },
});
if (values.source === undefined) throw new Error('--source names the folder of the sources');

export const STAGES: readonly Bounds[] = [
  { procedure: 'pump-pause', faults: 0, wrongs: 1 },
  { procedure: 'skimmer-service', faults: 0, wrongs: 1 },
  // A plan that forgets to have it plugged in and released must not get it energised.
  { procedure: 'skimmer-service', faults: 0, wrongs: 0, without: 'plug-in' },
  { procedure: 'pump-pause', faults: 1, wrongs: 0 },
  { procedure: 'skimmer-service', faults: 1, wrongs: 0 },
];

const known = new Set(values.known === undefined ? [] : (JSON.parse(readFileSync(values.known, 'utf8')) as string[]));
const product = await loadProduct(values.source);
const found: string[] = [];
let states = 0;
for (const bounds of STAGES) {
  const outcome = explore(product, { ...bounds, known, stopAtFirst: !values.everything });
  states += outcome.states;
  found.push(...outcome.findings.map(({ what }) => what).filter((what) => !known.has(what)));
  const complete = outcome.ended['complete'] ?? 0;
  if (complete === 0 && found.length === 0 && bounds.without === undefined)
    found.push(`no ${bounds.procedure} ever completes`);
  if (found.length > 0 && !values.everything) break;
}
console.log(JSON.stringify({ found: [...new Set(found)], states }));
