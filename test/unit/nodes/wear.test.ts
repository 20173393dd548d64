import assert from 'node:assert/strict';
import { test } from 'node:test';
import fc from 'fast-check';
import type { WireStanding } from '../../../src/nodes/index.ts';
import { runWear } from '../../../src/nodes/slackwater-wear/controller.ts';
import { type FakeLink, fakeLink, fakeNode } from './fake-node.ts';

const WORDS = ['fine', 'near', 'due', 'overdue', 'unknown'] as const;
const PARTS = ['lamp', 'resin'] as const;
const of = (part: string, word: string): WireStanding => ({ part, name: part, word, reason: `${part} is ${word}` });
const settled = (): Promise<void> => new Promise((done) => setImmediate(done));

function event(link: FakeLink, part: string, word: string, before: string): void {
  for (const listener of link.listeners) {
    listener.onEvent?.({ kind: 'standing', at: 0, standing: of(part, word), before });
  }
}

/** One thing that can happen between service and node. */
type Happening =
  | {
      readonly kind: 'change';
      readonly part: string;
      readonly word: string;
      readonly heard: boolean;
      readonly twice: boolean;
    }
  | { readonly kind: 'reconnect' | 'deploy' };

const happening: fc.Arbitrary<Happening> = fc.oneof(
  {
    weight: 4,
    arbitrary: fc.record({
      kind: fc.constant('change' as const),
      part: fc.constantFrom(...PARTS),
      word: fc.constantFrom(...WORDS),
      heard: fc.boolean(),
      twice: fc.boolean(),
    }),
  },
  { weight: 1, arbitrary: fc.constantFrom({ kind: 'reconnect' as const }, { kind: 'deploy' as const }) },
);

test('whatever is lost, doubled or cut by a deploy: each part’s messages form one chain that ends at the truth', async () => {
  await fc.assert(
    fc.asyncProperty(fc.array(happening, { maxLength: 40 }), async (happenings) => {
      const truth = new Map<string, string>(PARTS.map((part) => [part, 'fine']));
      const due = () => ({ due: [...truth].map(([part, word]) => of(part, word)) });
      const memory = new Map<string, unknown>();
      const link = fakeLink(due);
      let node = fakeNode(memory);
      const sent: unknown[] = [];
      runWear(node, {}, link);
      link.enter({ kind: 'up' });
      await settled();
      assert.deepEqual(node.sent, [], 'the first connection only notes');
      for (const one of happenings) {
        if (one.kind === 'change') {
          const before = truth.get(one.part) ?? 'fine';
          truth.set(one.part, one.word);
          if (one.heard && before !== one.word) {
            event(link, one.part, one.word, before);
            if (one.twice) event(link, one.part, one.word, before);
          }
        } else {
          if (one.kind === 'deploy') {
            // A deploy waits for nothing; what the node had not yet taken is told by the next one.
            node.close();
            sent.push(...node.sent);
            node = fakeNode(memory);
            runWear(node, {}, link);
          }
          link.enter({ kind: 'up' });
          await settled();
        }
      }
      link.enter({ kind: 'up' });
      await settled();
      sent.push(...node.sent);
      const last = new Map<string, string>(PARTS.map((part) => [part, 'fine']));
      for (const { topic, before, payload } of sent as { topic: string; before: string; payload: WireStanding }[]) {
        assert.equal(before, last.get(topic), 'each message starts where the one before it ended');
        assert.notEqual(payload.word, before, 'and is a change');
        last.set(topic, payload.word);
      }
      assert.deepEqual(last, truth);
      assert.deepEqual(node.said, []);
    }),
    { numRuns: 300 },
  );
});

test('an event that arrives while the standings are read anew is not undone by the older answer', async () => {
  const slow = Promise.withResolvers<unknown>();
  const link = fakeLink(() => slow.promise);
  const node = fakeNode(new Map([['lastWords', { lamp: 'fine' }]]));
  runWear(node, {}, link);
  link.enter({ kind: 'up' });
  event(link, 'lamp', 'due', 'fine');
  slow.resolve({ due: [of('lamp', 'fine')] });
  await settled();
  assert.deepEqual(node.sent, [{ topic: 'lamp', payload: of('lamp', 'due'), before: 'fine' }]);
});

test('told to, it sends all at start: once a start, not at a reconnect', async () => {
  const memory = new Map<string, unknown>();
  for (const before of [null, 'fine']) {
    const link = fakeLink(() => ({ due: [of('lamp', 'fine')] }));
    const node = fakeNode(memory);
    runWear(node, { atStart: true }, link);
    for (let connects = 0; connects < 3; connects += 1) link.enter({ kind: 'up' });
    await settled();
    assert.deepEqual(node.sent, [{ topic: 'lamp', payload: of('lamp', 'fine'), before }]);
    node.close();
    assert.equal(link.listeners.size, 0);
  }
});

test('an answer that is no list is an error, not silence', async () => {
  const link = fakeLink(() => ({ due: 'none' }));
  const node = fakeNode();
  runWear(node, { atStart: true }, link);
  link.enter({ kind: 'up' });
  await settled();
  assert.deepEqual(node.sent, []);
  assert.deepEqual(node.said, ['The service sent no list of what is due.']);
});
