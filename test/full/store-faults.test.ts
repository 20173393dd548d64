import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { FAULTS, runFault } from './store-faults.ts';

// What is said in each case, by code. Where a disk cannot be mounted, "full" is a file that may not grow.
const SAID: Readonly<Record<string, readonly string[]>> = {
  'full disk': ['SW-STORE-001'],
  'full disk while a store is brought up to date': ['SW-STORE-001'],
  'read-only file': ['SW-STORE-002'],
  'read-only folder': ['SW-STORE-002'],
  'second instance': ['SW-STORE-003'],
  'a broken page': ['SW-STORE-005', 'SW-STORE-005'],
  'a broken heading': ['SW-STORE-005', 'SW-STORE-005'],
  'a changed letter': ['SW-STORE-005', 'SW-STORE-005'],
  'changed bytes in the log of a service that was killed': [],
  'kill -9 during checkpoint': [],
};

describe('a store to which something is done says what, and has lost nothing that was confirmed', () => {
  for (const fault of FAULTS) {
    test(fault.name, async (t) => {
      const row = await runFault(fault);
      t.diagnostic(`${row.done}: ${row.said}`);
      t.diagnostic(`${row.lost.length} of ${row.confirmed} confirmed are gone`);
      assert.deepEqual(row.lost, []);
      assert.deepEqual(row.codes, SAID[fault.name]);
      assert.ok(row.confirmed > 50);
    });
  }
});
