import assert from 'node:assert/strict';
import { test } from 'node:test';
import { createTyping } from '../../../src/app/typing.ts';
import type { System } from '../../../src/ports/index.ts';

const ASKED = 1_000;
const question = { since: ASKED, userId: 'robin', unit: 'ppt' };

function field() {
  let emptied = 0;
  const typing = createTyping({
    hub: {
      emptyField: async () => {
        emptied += 1;
      },
    },
    system: { log: { warn: assert.fail } } as unknown as System,
  });
  const type = (text: string, at = ASKED + 500, userId: string | null = 'robin'): void =>
    typing.take({ kind: 'typed', field: 'value', text, at, receivedAt: at, userId });
  return { typing, type, emptied: () => emptied };
}

test('a number counts as it is typed, with a comma, with its unit', () => {
  for (const text of ['35.2', ' 35,2 ', '35.2 ppt', '+35.2']) {
    const { typing, type } = field();
    type(text);
    assert.equal(typing.valueFor(question), 35.2, text);
  }
  assert.equal(field().typing.valueFor(question), undefined, 'an empty field is no value');
});

test('what is no number of that unit is refused with words and left to be put right', () => {
  for (const text of ['about 35', '35.2 °C', '1.2.3', '1e3', 'ppt']) {
    const { typing, type, emptied } = field();
    type(text);
    assert.throws(() => typing.valueFor(question), /is not taken: it is no number of ppt/, text);
    assert.equal(emptied(), 0);
  }
});

test('typed for an earlier question, or by somebody else, it never counts and the field is emptied', () => {
  const early = field();
  early.type('35.2', ASKED - 1);
  assert.throws(() => early.typing.valueFor(question), /typed before this was asked/);
  assert.equal(early.emptied(), 1);
  assert.equal(early.typing.valueFor(question), undefined);
  for (const other of ['kim', null]) {
    const { typing, type, emptied } = field();
    type('35.2', ASKED + 1, other);
    assert.throws(() => typing.valueFor(question), /somebody else typed it/);
    assert.equal(emptied(), 1);
  }
});

test('with the question its answer is over; an empty field is not emptied again', () => {
  const { typing, type, emptied } = field();
  typing.asked('first');
  assert.equal(emptied(), 0);
  type('35.2');
  typing.asked('first');
  assert.equal(typing.valueFor(question), 35.2, 'the same question still stands');
  typing.asked('second');
  typing.asked(null);
  assert.equal(emptied(), 1);
  assert.equal(typing.valueFor(question), undefined);
});
