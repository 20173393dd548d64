import assert from 'node:assert/strict';
import { join } from 'node:path';
import { test } from 'node:test';
import { BUILDER_MUTATIONS } from './list-builder.ts';
import { ENGINE_MUTATIONS } from './list-engine.ts';
import { mutated, ROOT } from './plant.ts';

const ALL = [...ENGINE_MUTATIONS, ...BUILDER_MUTATIONS];

test('every fault to be planted still has its place in the source, once', () => {
  assert.ok(ALL.length >= 20);
  assert.equal(new Set(ALL.map(({ id }) => id)).size, ALL.length);
  for (const mutation of ALL) {
    const text = mutated(mutation, join(ROOT, 'src'));
    assert.ok(text.includes(mutation.instead), mutation.id);
  }
});

test('a fault that has lost its place is told, not passed over', () => {
  const [first] = ALL;
  assert.ok(first !== undefined);
  assert.throws(() => mutated({ ...first, text: 'no such text' }, join(ROOT, 'src')), /stands 0 times/);
  assert.throws(() => mutated({ ...first, file: 'procedure/none.ts' }, join(ROOT, 'src')), /there is no/);
});
