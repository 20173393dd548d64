import assert from 'node:assert/strict';
import { test } from 'node:test';
import type { Part } from '../../../src/model/index.ts';
import { acceptedLimits, type JournalRow, readEntry, withAcceptedLimits } from '../../../src/record/index.ts';

const part = (amount: number, safety = false): Part => ({
  id: 'resin',
  name: 'DI resin',
  kind: 'di-resin',
  pieces: 1,
  limits: [
    { measure: 'litres', amount },
    { measure: 'days', amount: 365 },
  ],
  safety,
  usageFrom: {},
  usedBefore: {},
});

const row = (seq: number, amount: number, change: 'accepted' | 'given-back' = 'accepted'): JournalRow => ({
  seq,
  entry: readEntry({
    ...{ v: 1, kind: 'limit-set', at: seq, part: 'resin', measure: 'litres', change, amount },
    ...{ before: 1_500, configured: 1_500, by: 'Ana', why: '' },
  }),
});
const litres = (own: Part, rows: readonly JournalRow[]) =>
  withAcceptedLimits([own], acceptedLimits(rows))[0]?.limits.map(({ amount }) => amount);

test('the latest accepted limit is in force, and only for its measure', () => {
  assert.deepEqual(litres(part(1_500), [row(1, 1_300), row(2, 1_200)]), [1_200, 365]);
  assert.deepEqual(litres(part(1_500), [row(1, 1_300), row(2, 1_500, 'given-back')]), [1_500, 365]);
});

test('where the configuration says something else now, that is the newer word', () => {
  assert.deepEqual(litres(part(1_400), [row(1, 1_300)]), [1_400, 365]);
});

test('a part that guards against harm takes a shorter limit and never a longer one, whatever was written', () => {
  assert.deepEqual(litres(part(1_500, true), [row(1, 1_300)]), [1_300, 365]);
  assert.deepEqual(litres(part(1_500, true), [row(1, 1_900)]), [1_500, 365]);
  assert.deepEqual(litres(part(1_500), [row(1, 1_900)]), [1_900, 365]);
});
