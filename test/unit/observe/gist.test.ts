import assert from 'node:assert/strict';
import { test } from 'node:test';
import fc from 'fast-check';
import { type Reading, withReading } from '../../../src/observe/index.ts';

test('few readings are kept of a moment, and none of what it did is lost: beginning, lowest, highest, unknown, end', () => {
  fc.assert(
    fc.property(fc.array(fc.option(fc.integer({ min: 0, max: 300 })), { minLength: 1, maxLength: 200 }), (values) => {
      const all = values.map((value, at): Reading => ({ entity: 'sensor.a', value, changedAt: at, reportedAt: at }));
      const kept = all.reduce<readonly Reading[]>(withReading, []);
      assert.ok(kept.length <= 5, `${kept.length}`);
      assert.equal(kept[0], all[0]);
      assert.equal(kept.at(-1), all.at(-1));
      assert.ok(kept.every((one, at) => at === 0 || one.reportedAt > (kept[at - 1]?.reportedAt ?? 0)));
      const known = (list: readonly Reading[]) => list.flatMap(({ value }) => (value === null ? [] : [value]));
      assert.equal(Math.max(...known(kept)), Math.max(...known(all)));
      assert.equal(Math.min(...known(kept)), Math.min(...known(all)));
      assert.equal(
        kept.some(({ value }) => value === null),
        values.includes(null),
      );
    }),
    { numRuns: 1_000 },
  );
});
