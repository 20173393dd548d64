import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { bindPress, type Shown } from '../../../src/procedure/index.ts';

const shown: readonly Shown[] = [
  { session: 's1', step: 'unplug:skimmer', nonce: 'a', publishedAt: 10_000 },
  { session: 's1', step: 'hands-on:lift', nonce: 'b', publishedAt: 20_000 },
  { session: 's1', step: null, nonce: null, publishedAt: 30_000 },
];

describe('a press of the one button in the hub', () => {
  test('means the step that was shown when it was pressed, however late it arrives', () => {
    assert.deepEqual(bindPress(shown, { at: 19_999, userId: 'u' }), {
      ok: true,
      session: 's1',
      step: 'unplug:skimmer',
      nonce: 'a',
    });
    const later = bindPress(shown, { at: 25_000, userId: 'u' });
    assert.ok(later.ok && later.nonce === 'b');
  });

  test('within 2 s of the step’s appearing it is a reflex for the one before', () => {
    const press = bindPress(shown, { at: 21_999, userId: 'u' });
    assert.ok(!press.ok && press.reason === 'too-early');
    assert.match(press.why, /2\.0 s after/);
    assert.ok(bindPress(shown, { at: 22_000, userId: 'u' }).ok);
  });

  test('with nothing shown it means nothing', () => {
    for (const at of [5_000, 40_000]) {
      const press = bindPress(shown, { at, userId: 'u' });
      assert.ok(!press.ok && press.reason === 'nothing-shown');
    }
    assert.ok(!bindPress([], { at: 1, userId: null }).ok);
  });
});
