import assert from 'node:assert/strict';
import { test } from 'node:test';
import { codeOnly, folderOf, relativeImports, type SourceFile, sources } from './source.ts';

type Ban = {
  readonly what: RegExp;
  readonly instead: string;
  readonly where: (path: string) => boolean;
};

const inSrc = (path: string): boolean => path.startsWith('src/');
// The system edge owns the clock; Node-RED nodes live in another process with that runtime's own timers.
const outsideSystem = (path: string): boolean =>
  inSrc(path) && !path.startsWith('src/io/system/') && folderOf(path) !== 'nodes';

const BANS: readonly Ban[] = [
  { what: /\bDate\.now\b/, instead: 'take the time as an argument or from the Clock port', where: outsideSystem },
  { what: /\bnew Date\(\s*\)/, instead: 'take the time as an argument or from the Clock port', where: outsideSystem },
  { what: /\bTemporal\.Now\b/, instead: 'take the time as an argument or from the Clock port', where: outsideSystem },
  { what: /\bMath\.random\b/, instead: 'the Random port, or a seeded generator in sim', where: outsideSystem },
  { what: /\b(?:setTimeout|setInterval)\s*\(/, instead: 'the Timers port', where: outsideSystem },
  { what: /\bexport default\b/, instead: 'a named export', where: inSrc },
  { what: /^\s*(?:export\s+)?(?:const\s+)?enum\s/m, instead: 'a union of literal types', where: () => true },
  { what: /\b(?:test|it|describe)\.(?:skip|only|todo)\b/, instead: 'a test that runs', where: () => true },
  { what: /\bskip:\s*true\b/, instead: 'a test that runs', where: (path) => path.startsWith('test/') },
  { what: /@ts-(?:ignore|nocheck)\b/, instead: 'a type that fits', where: () => true },
];

function broken(file: SourceFile): string[] {
  const code = codeOnly(file.text);
  return BANS.filter((ban) => ban.where(file.path) && ban.what.test(code)).map(
    (ban) => `${file.path}: ${ban.what.source}: use ${ban.instead}`,
  );
}

const fake = (path: string, text: string): SourceFile => ({ path, text, lines: text.split('\n') });

test('banned words are absent', () => {
  const files = [...sources('src'), ...sources('test')];
  assert.deepEqual(files.flatMap(broken), []);
});

test('the bans can fail', () => {
  assert.equal(broken(fake('src/count/x.ts', 'const t = Date.now();')).length, 1);
  assert.equal(broken(fake('src/app/x.ts', 'setTimeout(() => {}, 5);')).length, 1);
  assert.equal(broken(fake('src/app/x.ts', 'export default 1;')).length, 1);
  assert.deepEqual(broken(fake('src/app/x.ts', '// Date.now is banned\nconst s = "Math.random";')), []);
});

test('files stay under 400 lines', () => {
  const long = [...sources('src'), ...sources('test')].filter((file) => file.lines.length > 400);
  assert.deepEqual(
    long.map((file) => `${file.path}: ${file.lines.length} lines`),
    [],
  );
});

test('no source file is dead: everything under src is reached from an edge, a folder index or a test', () => {
  const src = sources('src');
  const reached = new Set<string>();
  for (const file of [...src, ...sources('test')]) for (const { target } of relativeImports(file)) reached.add(target);
  const roots = (path: string): boolean =>
    path.endsWith('/index.ts') || path === 'src/cli/main.ts' || path.startsWith('src/nodes/');
  const dead = src.map((file) => file.path).filter((path) => !reached.has(path) && !roots(path));
  assert.deepEqual(dead, []);
});

test('every folder says in its index what belongs there', () => {
  const missing = sources('src')
    .filter((file) => /^src\/[^/]+\/index\.ts$/.test(file.path))
    .filter((file) => !file.lines[0]?.startsWith('// '))
    .map((file) => file.path);
  assert.deepEqual(missing, []);
});
