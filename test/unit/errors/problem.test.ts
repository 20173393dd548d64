import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import {
  describe as describeError,
  problem,
  problemFrom,
  problemWith,
  SlackwaterError,
} from '../../../src/errors/index.ts';

describe('problem', () => {
  test('fills both texts and knows whether it passes by itself', () => {
    const error = problem('SW-HUB-001', { url: 'http://hub:8123', detail: 'connection refused' });
    assert.ok(error instanceof SlackwaterError);
    assert.ok(error instanceof Error);
    assert.equal(error.code, 'SW-HUB-001');
    assert.equal(error.message, 'The hub at http://hub:8123 cannot be reached: connection refused.');
    assert.equal(error.transient, true);
    assert.deepEqual(error.params, { url: 'http://hub:8123', detail: 'connection refused' });
  });

  test('a refused token is permanent, so nothing retries it', () => {
    assert.equal(problem('SW-HUB-002', { url: 'http://hub' }).transient, false);
  });

  test('a code without placeholders needs no parameters; missing or unknown ones do not compile', () => {
    assert.equal(problem('SW-SES-011').message, 'No session is open.');
    // @ts-expect-error: the parameters are missing
    const bare = problem('SW-HUB-002');
    assert.equal(bare.message, 'The hub at {url} refused the token.');
    // @ts-expect-error: no such code
    assert.throws(() => problem('SW-HUB-999'));
  });

  test('a parameter that looks like a placeholder is not filled again', () => {
    const error = problem('SW-HUB-001', { url: '{detail}', detail: '$& {url}' });
    assert.equal(error.message, 'The hub at {detail} cannot be reached: $& {url}.');
  });
});

describe('describe', () => {
  test('says code, sentence and what to do, without a stack', () => {
    assert.equal(
      describeError(problem('SW-CLI-004', { url: 'http://127.0.0.1:8787' })),
      'SW-CLI-004 The service does not answer at http://127.0.0.1:8787.\nWhat to do: Start it with `slackwater start`, or name its configuration with `--config`.',
    );
  });

  test('lists the single findings of a collected error', () => {
    const one = problem('SW-CFG-004', { at: 'a.yaml:1:1', path: 'tank', expected: 'a group', example: 'tank:' });
    const text = describeError(problemWith([one], 'SW-CFG-001', { file: 'a.yaml', count: '1 problem' }));
    assert.equal(
      text,
      [
        'SW-CFG-001 The configuration a.yaml cannot be used: 1 problem.',
        '  SW-CFG-004 a.yaml:1:1: tank: missing; expected a group.',
        '    Add the key, for example `tank:`.',
        'What to do: Correct the places listed below, then run `slackwater check a.yaml` again. Nothing was started.',
      ].join('\n'),
    );
  });

  test('anything else that was thrown becomes one line without a stack', () => {
    for (const thrown of [new TypeError('x is not a function\nsecond line'), 'x is not a function', { a: 1 }]) {
      const text = describeError(thrown);
      assert.match(text, /^SW-CLI-010 Something unexpected happened: /);
      assert.doesNotMatch(text, /second line|^\s+at /m);
    }
  });

  test('json form keeps the cause and the stack to itself', () => {
    const json = JSON.stringify(problemFrom(new Error('secret cause'), 'SW-API-012'));
    assert.deepEqual(JSON.parse(json), {
      code: 'SW-API-012',
      message: 'The service is stopping.',
      whatToDo: 'Try again when it has started.',
      transient: true,
    });
  });
});
