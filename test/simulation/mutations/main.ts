import { parseArgs } from 'node:util';
import { DETECTORS, type Detector, NEEDED } from './detectors.ts';
import { BUILDER_MUTATIONS } from './list-builder.ts';
import { ENGINE_MUTATIONS } from './list-engine.ts';
import { type Copy, copyProduct, type Mutation, mutated, plant } from './plant.ts';

// node test/simulation/mutations/main.ts [--all] [--only ID] [--by DETECTOR] [--json]
// Plants one fault after another in a copy of the builder and the engine and asks who notices. Without --all a fault is
// done with as soon as one does.

export const MUTATIONS: readonly Mutation[] = [...ENGINE_MUTATIONS, ...BUILDER_MUTATIONS];

const { values } = parseArgs({
  options: {
    all: { type: 'boolean', default: false },
    only: { type: 'string', multiple: true },
    by: { type: 'string', multiple: true },
    json: { type: 'boolean', default: false },
  },
});

type Row = { readonly id: string; readonly what: string; readonly caught: Readonly<Record<string, string | null>> };

const say = (text: string): void => {
  if (!values.json) console.log(text);
};

async function soundness(copy: Copy, detectors: readonly Detector[]): Promise<Map<string, readonly string[]>> {
  const known = new Map<string, readonly string[]>();
  for (const detector of detectors) {
    const found = await detector.look(copy, []);
    known.set(detector.name, found);
    say(`without a fault: ${detector.name} ${found.length === 0 ? 'finds nothing' : `finds ${found.join('; ')}`}`);
  }
  return known;
}

async function tryOut(
  mutation: Mutation,
  copy: Copy,
  detectors: readonly Detector[],
  known: ReadonlyMap<string, readonly string[]>,
): Promise<Row> {
  const takeOut = plant(mutation, copy);
  const caught: Record<string, string | null> = {};
  try {
    for (const detector of detectors) {
      const before = known.get(detector.name) ?? [];
      const found = (await detector.look(copy, before)).filter((what) => !before.includes(what));
      caught[detector.name] = found[0] ?? null;
      if (found.length > 0 && !values.all) break;
    }
  } finally {
    takeOut();
  }
  return { id: mutation.id, what: mutation.what, caught };
}

async function main(): Promise<number> {
  const mutations = MUTATIONS.filter(({ id }) => values.only === undefined || values.only.includes(id));
  const detectors = DETECTORS.filter(
    ({ name }) => values.by === undefined || values.by.some((by) => name.includes(by)),
  );
  const copy = copyProduct(NEEDED);
  try {
    // All texts are looked for before anything is run: one that no longer stands in the source is a failure, not a pass.
    for (const mutation of mutations) mutated(mutation, copy.source);
    const known = await soundness(copy, detectors);
    const rows: Row[] = [];
    for (const mutation of mutations) {
      const row = await tryOut(mutation, copy, detectors, known);
      rows.push(row);
      const by = Object.entries(row.caught).map(([name, what]) => `${name}: ${what ?? 'nothing'}`);
      say(`${isCaught(row) ? 'caught' : 'MISSED'}  ${row.id} (${row.what})\n        ${by.join('\n        ')}`);
    }
    const missed = rows.filter((row) => !isCaught(row)).map(({ id }) => id);
    say(
      `${rows.length - missed.length} of ${rows.length} caught${missed.length > 0 ? `; missed: ${missed.join(', ')}` : ''}`,
    );
    if (values.json) console.log(JSON.stringify({ rows, missed, soundness: Object.fromEntries(known) }, null, 2));
    return missed.length === 0 ? 0 : 1;
  } finally {
    copy.remove();
  }
}

const isCaught = (row: Row): boolean => Object.values(row.caught).some((what) => what !== null);

process.exitCode = await main();
