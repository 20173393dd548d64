import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { linkStatus, said, type WireStanding } from '../../../src/nodes/index.ts';
import { runDue } from '../../../src/nodes/slackwater-due/controller.ts';
import { runSession } from '../../../src/nodes/slackwater-session/controller.ts';
import { fakeLink, fakeNode } from './fake-node.ts';

const of = (word: string): WireStanding => ({ part: word, name: word, word, reason: word });
const ALL = ['fine', 'order', 'near', 'due', 'overdue', 'unknown'].map(of);
const view = { id: 's1', status: 'idle', title: 'Skimmer service' };

describe('due', () => {
  test('shows all that is not fine unless told otherwise; what is unknown is not fine', async () => {
    const expected = [
      [{}, ['order', 'near', 'due', 'overdue', 'unknown']],
      [{ show: 'not-fine' }, ['order', 'near', 'due', 'overdue', 'unknown']],
      [{ show: 'due' }, ['due', 'overdue']],
      [{ show: 'all' }, ['fine', 'order', 'near', 'due', 'overdue', 'unknown']],
    ] as const;
    for (const [config, words] of expected) {
      const node = fakeNode();
      runDue(
        node,
        config,
        fakeLink(() => ({ due: ALL })),
      );
      const { out, failure } = await node.input({ topic: 'kept', payload: 'lost' });
      assert.equal(failure, undefined);
      assert.deepEqual(out, [{ topic: 'kept', payload: words.map(of) }]);
    }
  });

  test('no list is not an empty list: nothing is sent, the reason goes to the catch node', async () => {
    for (const answer of [null, {}, { due: null }, { due: [{ part: 'x' }] }, { due: 'none' }]) {
      const node = fakeNode();
      runDue(
        node,
        {},
        fakeLink(() => answer),
      );
      const { out, failure } = await node.input({});
      assert.deepEqual(out, []);
      assert.equal(failure, 'The service sent no list of what is due.');
      assert.equal(node.shown.at(-1)?.fill, 'red');
    }
  });
});

describe('session', () => {
  test('does what topic or form says, and nothing else', async () => {
    const wanted = [
      [{}, { topic: 'start', payload: 'pump-pause' }, '/v1/session/start', { procedure: 'pump-pause' }],
      [
        { action: 'start', procedure: 'skimmer-service' },
        { payload: 7 },
        '/v1/session/start',
        { procedure: 'skimmer-service' },
      ],
      [{ action: 'topic' }, { topic: 'abort', payload: 'x' }, '/v1/session/abort', undefined],
      [{ action: 'show' }, { topic: 'start' }, '/v1/session', undefined],
    ] as const;
    for (const [config, message, path, body] of wanted) {
      const node = fakeNode();
      const link = fakeLink(() => ({ session: view }));
      runSession(node, config, link);
      const { out, failure } = await node.input({ ...message });
      assert.equal(failure, undefined);
      assert.deepEqual(
        link.asked.map((one) => [one.path, one.body]),
        [[path, body]],
      );
      assert.deepEqual(out[0]?.payload, view);
    }
  });

  test('what is unclear never leaves the node', async () => {
    const unclear = [
      {},
      { topic: 'go' },
      { topic: 'START', payload: 'skimmer-service' },
      { topic: 'start' },
      { topic: 'start', payload: { procedure: 'skimmer-service' } },
      { topic: 'confirm', payload: 'yes' },
      { topic: 'confirm', payload: { session: 's1', step: 'x' } },
      { topic: 'confirm', payload: { session: 's1', step: 'x', nonce: 1 } },
    ];
    for (const message of unclear) {
      const node = fakeNode();
      const link = fakeLink(() => ({ session: view }));
      runSession(node, {}, link);
      const { out, failure } = await node.input(message);
      assert.deepEqual(out, []);
      assert.match(failure ?? '', /^Nothing done: /);
      assert.deepEqual(link.asked, []);
    }
  });

  test('a confirmation counts as accepted only on a clear yes', async () => {
    for (const accepted of [true, false, 'true', 1, undefined]) {
      const node = fakeNode();
      runSession(
        node,
        { action: 'confirm' },
        fakeLink(() => ({ accepted, why: 'because', session: view })),
      );
      const { out } = await node.input({ payload: { session: 's1', step: 'x', nonce: 'n' } });
      assert.equal(out[0]?.['accepted'], accepted === true);
      assert.equal(out[0]?.['why'], 'because');
    }
  });

  test('follows only where told to, and leaves on close', () => {
    for (const follow of [true, false, 'true', undefined]) {
      const node = fakeNode();
      const link = fakeLink(() => ({}));
      runSession(node, { follow }, link);
      for (const listener of link.listeners) {
        listener.onEvent?.({ kind: 'session', at: 1, view });
        listener.onEvent?.({ kind: 'alarm', at: 2, code: 'c', text: 't' });
      }
      const expected = [
        { topic: 'session', payload: view },
        { topic: 'alarm', payload: { code: 'c', text: 't', at: 2 } },
      ];
      assert.deepEqual(node.sent, follow === true ? expected : []);
      node.close();
      assert.equal(link.listeners.size, 0);
    }
  });
});

test('status texts are short and carry the time of the last message', () => {
  const at = new Date(2026, 0, 5, 14, 5).getTime();
  assert.deepEqual(said('3 listed', at), { fill: 'green', shape: 'dot', text: '3 listed · 14:05' });
  const long = said('Activated carbon in the second reactor: overdue', at).text ?? '';
  assert.ok(long.length <= 40 && long.endsWith('… · 14:05'), long);
  assert.equal(linkStatus({ kind: 'down', since: at }).text, 'no service since 14:05');
  assert.equal(linkStatus({ kind: 'refused', text: 'long words' }).text, 'credential refused');
});
