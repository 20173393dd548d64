import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { loadConfig } from '../../../src/config/index.ts';
import { SlackwaterError } from '../../../src/errors/index.ts';
import { BAD } from './bad-configurations.ts';
import { badText, GOOD } from './good-configuration.ts';

describe('a configuration that is wrong', () => {
  test('the tank that all cases start from is right', () => {
    const { config } = loadConfig(GOOD, 'slackwater.yaml');
    assert.equal(config.tank.equipment.length, 2);
  });

  test('there are more than twenty cases, no two alike', () => {
    assert.ok(BAD.length > 20, `${BAD.length} cases`);
    assert.equal(new Set(BAD.map((each) => badText(each))).size, BAD.length);
  });

  for (const each of BAD) {
    test(each.name, () => {
      assert.throws(
        () => loadConfig(badText(each), 'slackwater.yaml'),
        (error: unknown) => {
          assert.ok(error instanceof SlackwaterError, String(error));
          assert.equal(error.code, 'SW-CFG-001');
          assert.equal(error.transient, false);
          const said = error.details.map((detail) => [detail.code, detail.message, detail.whatToDo]);
          assert.deepEqual(said, each.says);
          for (const detail of error.details)
            assert.doesNotMatch(detail.message + detail.whatToDo, /[{]\w+[}]$|undefined|NaN/);
          return true;
        },
      );
    });
  }
});
