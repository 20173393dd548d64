import assert from 'node:assert/strict';
import { test } from 'node:test';
import { folderOf, relativeImports, sources } from './source.ts';

// Who may import whom. A folder always sees itself. Pure stages are listed in the direction data flows.
const PURE = [
  'units',
  'errors',
  'model',
  'rules',
  'observe',
  'count',
  'water',
  'condition',
  'forecast',
  'remind',
  'plan',
  'procedure',
  'record',
  'publish',
];
const before = (folder: string): string[] => PURE.slice(0, PURE.indexOf(folder));
const MAY_SEE: Readonly<Record<string, readonly string[]>> = {
  ...Object.fromEntries(PURE.map((folder) => [folder, before(folder)])),
  // Side by side, neither downstream of the other.
  condition: before('water'),
  plan: before('remind'),
  config: ['units', 'errors', 'model', 'rules'],
  ports: PURE,
  io: [...PURE, 'ports'],
  sim: [...PURE, 'ports'],
  app: [...PURE, 'ports', 'config'],
  cli: [...PURE, 'ports', 'config', 'io', 'sim', 'app', 'web'],
  web: [...PURE, 'ports', 'config', 'io', 'app'],
  nodes: ['units', 'errors', 'model'],
};

function offences(paths: readonly { from: string; target: string; line: number }[]): string[] {
  const bad: string[] = [];
  for (const { from, target, line } of paths) {
    const own = folderOf(from);
    const other = folderOf(target);
    if (own === null || other === null || own === other) continue;
    const allowed = MAY_SEE[own];
    if (allowed === undefined) bad.push(`${from}: folder ${own} is not in the import order`);
    else if (!allowed.includes(other)) bad.push(`${from}:${line} imports ${target}; ${own} may not see ${other}`);
    else if (!/\/(index|types)\.ts$/.test(target) && !target.startsWith('src/io/') && PURE.includes(other))
      bad.push(`${from}:${line} reaches inside ${other} (${target}); import its index.ts`);
  }
  return bad;
}

test('data flows one way: no folder imports one downstream of it', () => {
  const all = sources('src').flatMap((file) =>
    relativeImports(file).map(({ target, line }) => ({ from: file.path, target, line })),
  );
  assert.ok(all.length > 50, 'the import scan found the project');
  assert.deepEqual(offences(all), []);
});

test('the direction check can fail', () => {
  assert.equal(offences([{ from: 'src/count/a.ts', target: 'src/procedure/index.ts', line: 1 }]).length, 1);
  assert.equal(offences([{ from: 'src/io/hub/a.ts', target: 'src/app/index.ts', line: 1 }]).length, 1);
  assert.equal(offences([{ from: 'src/remind/a.ts', target: 'src/count/fold.ts', line: 1 }]).length, 1);
  assert.equal(offences([{ from: 'src/new/a.ts', target: 'src/count/index.ts', line: 1 }]).length, 1);
  assert.deepEqual(offences([{ from: 'src/remind/a.ts', target: 'src/count/index.ts', line: 1 }]), []);
});
