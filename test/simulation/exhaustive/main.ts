import { parseArgs } from 'node:util';
import { explore } from './explore.ts';
import { loadProduct, OWN_SOURCE } from './product.ts';

// node test/simulation/exhaustive/main.ts --faults 2 [--wrongs 1] [--procedure pump-pause] [--story] [--json]

const { values } = parseArgs({
  options: {
    faults: { type: 'string', default: '1' },
    wrongs: { type: 'string', default: '1' },
    procedure: { type: 'string', default: 'pump-pause' },
    source: { type: 'string', default: OWN_SOURCE },
    story: { type: 'boolean', default: false },
    json: { type: 'boolean', default: false },
  },
});

const started = performance.now();
const product = await loadProduct(values.source);
const { procedure } = values;
const outcome = explore(product, { procedure, faults: Number(values.faults), wrongs: Number(values.wrongs) });
const seconds = (performance.now() - started) / 1000;

if (values.json) console.log(JSON.stringify({ procedure, ...outcome, seconds }, null, 2));
else {
  console.log(`${procedure}: up to ${values.faults} fault(s), ${values.wrongs} wrong or silent answer(s)`);
  console.log(`states visited ${outcome.states}, transitions ${outcome.transitions}, paths judged ${outcome.paths}`);
  console.log(`ends: ${JSON.stringify(outcome.ended)}, joined to a known state: ${outcome.cut}`);
  console.log(`armed: ${JSON.stringify(outcome.armed)}`);
  console.log(
    `${seconds.toFixed(1)} s, ${((process.cpuUsage().user + process.cpuUsage().system) / 1e6).toFixed(1)} s of processor`,
  );
  for (const { what, path, story } of outcome.findings) {
    console.log(`\nFOUND ${what}\n  ${path.join(' ')}`);
    if (values.story) console.log(story().join('\n'));
  }
}
process.exitCode = outcome.findings.length > 0 ? 1 : 0;
