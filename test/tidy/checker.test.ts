import assert from 'node:assert/strict';
import { test } from 'node:test';
import { relativeImports, type SourceFile, sources } from './source.ts';

// The judge of sessions must be right when sessions are built or carried out wrongly: it knows nothing of src at all.
const ALLOWED = /^test\/simulation\/(?:checker\/[^/]+|trace)\.ts$/;

const outside = (file: SourceFile): string[] => [
  ...relativeImports(file)
    .filter(({ target }) => !ALLOWED.test(target))
    .map(({ target, line }) => `${file.path}:${line} imports ${target}`),
  // Not by a name of a package either, nor by a path put together.
  ...[...file.text.matchAll(/(?:\bfrom|\bimport)\s*\(?\s*['"`](?!\.{1,2}\/|node:)([^'"`]+)/g)].map(
    (match) => `${file.path} imports ${match[1]}`,
  ),
  ...[...file.text.matchAll(/\bimport\s*\(\s*[^'"\s]/g)].map(() => `${file.path} imports something put together`),
];

const judge = (): SourceFile[] => [
  ...sources('test/simulation/checker'),
  ...sources('test/simulation').filter((file) => file.path === 'test/simulation/trace.ts'),
];

test('the independent checker imports nothing of the product', () => {
  const files = judge();
  assert.ok(files.length >= 15, 'the scan found the checker');
  assert.deepEqual(files.flatMap(outside), []);
});

test('the ban can fail', () => {
  const fake = (text: string): SourceFile => ({ path: 'test/simulation/checker/x.ts', text, lines: text.split('\n') });
  assert.equal(outside(fake("import { advance } from '../../../src/procedure/index.ts';")).length, 1);
  assert.equal(outside(fake("import type { Rule } from '../../../src/rules/types.ts';")).length, 1);
  assert.equal(outside(fake("import { z } from 'zod';")).length, 1);
  assert.equal(outside(fake('const m = await import(name);')).length, 1);
  assert.deepEqual(
    outside(fake("import type { Trace } from '../trace.ts';\nimport { i1 } from './i1-called-safe.ts';")),
    [],
  );
});
