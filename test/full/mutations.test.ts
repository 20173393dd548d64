import assert from 'node:assert/strict';
import { spawnSync } from 'node:child_process';
import { join } from 'node:path';
import process from 'node:process';
import { test } from 'node:test';
import { ROOT } from '../simulation/mutations/plant.ts';

type Row = { readonly id: string; readonly caught: Readonly<Record<string, string | null>> };

test('every fault planted in the builder and the engine is noticed by some check', (t) => {
  const { NODE_TEST_CONTEXT: _, ...env } = process.env;
  const args = [join(ROOT, 'test/simulation/mutations/main.ts'), '--json'];
  const ended = spawnSync(process.execPath, args, { cwd: ROOT, env, encoding: 'utf8', maxBuffer: 1 << 26 });
  const { rows, missed } = JSON.parse(ended.stdout) as { readonly rows: readonly Row[]; readonly missed: string[] };
  for (const { id, caught } of rows)
    t.diagnostic(
      `${id}: ${Object.entries(caught)
        .map(([by, what]) => `${by}: ${what ?? 'nothing'}`)
        .join('; ')}`,
    );
  assert.ok(rows.length >= 20);
  assert.deepEqual(missed, []);
});
