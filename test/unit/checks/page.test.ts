import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { test } from 'node:test';
import { checksPage, everyCheck } from '../../checks/page.ts';
import { holdAgainst } from '../../checks/run.ts';
import { type CheckRow, COUNTED, type Grade } from '../../checks/types.ts';

test('docs/checks.md is what the checks give now (renew it with: node test/checks/write-page.ts)', async () => {
  assert.equal(readFileSync(new URL('../../../docs/checks.md', import.meta.url), 'utf8'), await checksPage());
});

test('every row of every file holds, and no two rows share an id', async () => {
  const checked = await everyCheck();
  assert.deepEqual(
    checked.filter(({ holds }) => !holds).map(({ row, error }) => `${row.id} is off by ${JSON.stringify(error)}`),
    [],
  );
  const ids = checked.map(({ row }) => row.id);
  assert.deepEqual(
    ids.filter((id, index) => ids.indexOf(id) !== index),
    [],
  );
});

test('no kind of check rests on weak pages, memory or common practice alone', async () => {
  const checked = await everyCheck();
  const weak: readonly Grade[] = ['C', 'practice', 'memory'];
  // Arithmetic on a published definition, such as that of rejection, stands beside a weak page well enough.
  const strong: readonly Grade[] = ['A', 'library', 'B', 'arithmetic'];
  const alone = checked.filter(
    ({ row }) =>
      weak.includes(row.grade) &&
      !checked.some((other) => other.row.check === row.check && strong.includes(other.row.grade)),
  );
  assert.deepEqual(
    alone.map(({ row }) => `${row.id} (${row.check})`),
    [],
  );
});

test('at least three hundred rows are of a standard or an independent library', async () => {
  const checked = await everyCheck();
  const counted = checked.filter(({ row }) => COUNTED.includes(row.grade));
  assert.ok(counted.length >= 300, `${counted.length} rows`);
});

test('a wrong, missing or surplus value fails its row', () => {
  const row: CheckRow = {
    id: 'x',
    topic: 'x',
    check: 'x',
    inputs: {},
    expected: { a: [1, 2], b: 'yes' },
    tolerance: 0.1,
    unit: '-',
    source: 'made up here',
    grade: 'arithmetic',
  };
  const holds = (ours: never): boolean => holdAgainst(row, { x: () => ours }).holds;
  assert.equal(holds({ a: [1, 2.05], b: 'yes' } as never), true);
  assert.equal(holds({ a: [1, 2.2], b: 'yes' } as never), false);
  assert.equal(holds({ a: [1], b: 'yes' } as never), false);
  assert.equal(holds({ a: [1, 2, 3], b: 'yes' } as never), false);
  assert.equal(holds({ a: [1, Number.NaN], b: 'yes' } as never), false);
  assert.equal(holds({ a: [1, 2], b: 'no' } as never), false);
  assert.equal(holds({ a: [1, 2] } as never), false);
});
