import assert from 'node:assert/strict';
import { test } from 'node:test';
import { createLoop } from '../../../src/app/loop.ts';

const turn = (): Promise<void> => new Promise((resolve) => setImmediate(resolve));
const newLoop = () => createLoop((name, error) => assert.fail(`${name}: ${String(error)}`));

/** Takes the processor for as long as said. */
function busy(ms: number): void {
  const until = performance.now() + ms;
  while (performance.now() < until);
}

test('long work gives way: what comes in meanwhile is done before its next step', async () => {
  const loop = newLoop();
  const order: string[] = [];
  const steps = function* () {
    for (let step = 1; step <= 3; step++) {
      order.push(`step ${step}`);
      busy(5);
      yield;
    }
  };
  const long = loop.aside('long', steps());
  await turn();
  loop.enqueue('report', () => order.push('report'));
  await long;
  assert.deepEqual(order, ['step 1', 'report', 'step 2', 'step 3']);
});

test('the loop is idle while only long work is left, and its end is told', async () => {
  const loop = newLoop();
  let done = 0;
  const long = loop.aside(
    'long',
    (function* () {
      for (; done < 20; done++) {
        busy(4);
        yield;
      }
    })(),
  );
  await loop.idle();
  assert.ok(done < 20, 'nobody waited for it');
  await long;
  assert.equal(done, 20);
});

test('two pieces of long work follow one another; one that fails tells its owner, and the other goes on', async () => {
  const loop = newLoop();
  const order: string[] = [];
  const first = loop.aside(
    'first',
    (function* () {
      yield order.push('first');
      throw new Error('no more');
    })(),
  );
  const second = loop.aside(
    'second',
    (function* () {
      yield order.push('second');
    })(),
  );
  await assert.rejects(first, /no more/);
  await second;
  assert.deepEqual(order, ['first', 'second']);
});
