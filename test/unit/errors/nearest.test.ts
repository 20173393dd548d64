import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import { didYouMean, editSteps, listWords, nearest } from '../../../src/errors/index.ts';

describe('nearest', () => {
  test('finds a slip of the finger, whatever the case or dash', () => {
    const roles = ['return-pump', 'circulation-pump', 'heater', 'skimmer'];
    assert.equal(nearest('skimer', roles), 'skimmer');
    assert.equal(nearest('Return_Pump', roles), 'return-pump');
    assert.equal(nearest('haeter', roles), 'heater');
    assert.equal(nearest('return', roles), 'return-pump');
  });

  test('stays silent where nothing is near', () => {
    assert.equal(nearest('television', ['heater', 'skimmer']), null);
    assert.equal(nearest('x', []), null);
    assert.equal(didYouMean('television', ['heater'], 'Choose one.'), 'Choose one.');
    assert.equal(didYouMean('heeter', ['heater'], 'Choose one.'), 'Did you mean "heater"?');
  });

  test('counts the textbook pairs', () => {
    // The usual example of the edit distance in textbooks, from memory: kitten → sitting takes 3.
    assert.equal(editSteps('kitten', 'sitting'), 3);
    assert.equal(editSteps('', 'abc'), 3);
    assert.equal(editSteps('ab', 'ba'), 1);
  });

  test('is symmetric, zero only for equal words, bounded by the longer word', () => {
    fc.assert(
      fc.property(fc.string({ maxLength: 12 }), fc.string({ maxLength: 12 }), (a, b) => {
        const steps = editSteps(a, b);
        assert.equal(steps, editSteps(b, a));
        assert.equal(steps === 0, a === b);
        assert.ok(steps <= Math.max(a.length, b.length));
      }),
    );
  });

  test('lists words and cuts long lists', () => {
    assert.equal(listWords([]), 'none');
    assert.equal(listWords(['a', 'b']), 'a, b');
    assert.equal(listWords(['a', 'b', 'c'], 2), 'a, b and 1 more');
  });
});
