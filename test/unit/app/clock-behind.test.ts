import assert from 'node:assert/strict';
import { test } from 'node:test';
import { createClockBehind } from '../../../src/app/clock-behind.ts';
import { DAY_MS, HOUR_MS, SECOND_MS } from '../../../src/units/index.ts';

const COUNTED = Date.UTC(2026, 4, 2, 9);

test('a clock that was set back while nobody looked is an alarm once, and attention until it has come as far again', () => {
  const told: string[] = [];
  const behind = createClockBehind({
    raise: (code, text) => void told.push(`${code}: ${text}`),
    over: (code) => void told.push(`over: ${code}`),
  });
  behind.look(COUNTED, COUNTED + HOUR_MS);
  behind.look(COUNTED, COUNTED - 5 * SECOND_MS);
  assert.deepEqual([told, behind.attention()], [[], []], 'what delays make is no news');
  behind.look(COUNTED, COUNTED - 3 * DAY_MS);
  behind.look(COUNTED, COUNTED - 3 * DAY_MS + HOUR_MS);
  assert.equal(told.length, 1);
  assert.match(
    told[0] ?? '',
    /^clock_behind: The hub's clock is 3 d behind what was counted already: hours and starts/,
  );
  const [line] = behind.attention();
  assert.deepEqual([line?.kind, line?.since], ['clock-behind', COUNTED - 3 * DAY_MS]);
  assert.match(line?.text ?? '', /2 d 23 h behind/);
  behind.look(COUNTED, COUNTED);
  assert.equal(told.at(-1), 'over: clock_behind');
  assert.deepEqual(behind.attention(), []);
});
