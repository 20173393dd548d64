import assert from 'node:assert/strict';
import { test } from 'node:test';
import { createUnitWatch } from '../../../src/app/units.ts';
import { keptLog } from '../../../src/io/system/index.ts';
import type { AnsweredQuestion, CounterDef } from '../../../src/model/index.ts';
import type { Observation } from '../../../src/observe/index.ts';
import type { StorePort } from '../../../src/ports/index.ts';

const METER = 'sensor.litres';
const def = (unitsPerReading: number): CounterDef => ({
  id: 'water',
  name: 'Water',
  source: { kind: 'total', entity: METER, unitsPerReading, maxPerHour: 60 },
  measures: ['litres'],
});
const row = (at: number, value: number, unit?: string): Observation => ({
  entity: METER,
  value,
  at,
  receivedAt: at,
  origin: 'live',
  ...(unit === undefined ? {} : { unit }),
});

/** The part of a store that is asked: settings and questions. */
function keep() {
  const settings = new Map<string, string>();
  const questions: AnsweredQuestion[] = [];
  const store = {
    setting: (key: string) => settings.get(key) ?? null,
    putSetting: (key: string, value: string) => void settings.set(key, value),
    questions: () => questions,
    putQuestion: (question: AnsweredQuestion) => {
      if (questions.some(({ id, answer }) => id === question.id && answer === null)) return false;
      questions.push({ ...question, answer: null });
      return true;
    },
  };
  const answer = (choice: string): void => {
    const [first] = questions.splice(0, 1);
    assert.ok(first);
    questions.push({ ...first, answer: { at: 1, by: 'Ada', choice } });
  };
  return { store: store as unknown as StorePort, questions, answer };
}

const values = (rows: readonly Observation[]) => rows.map(({ value }) => value);

test('a source that tells in another unit stands still with one question, over restarts, until a person says yes', () => {
  const { store, questions, answer } = keep();
  const log = keptLog();
  const watch = createUnitWatch([def(1)], store, log);
  assert.deepEqual(values(watch.screen([row(1, 10, 'L'), row(2, 11)])), [10, 11]);
  assert.deepEqual(values(watch.screen([row(3, 12, 'L'), row(4, 3.4, 'gal'), row(5, 3.5, 'gal')])), [12, null, null]);
  assert.equal(questions.length, 1);
  assert.match(questions[0]?.text ?? '', /counted in L and now tells gal/);
  const later = createUnitWatch([def(1)], store, log);
  assert.deepEqual(values(later.screen([row(6, 3.6, 'gal')])), [null]);
  assert.equal(questions.length, 1);
  answer('yes');
  assert.deepEqual(values(later.screen([row(7, 3.7, 'gal')])), [3.7]);
});

test('after a no it goes on standing still until the configuration reads the source otherwise', () => {
  const { store, answer } = keep();
  const log = keptLog();
  const watch = createUnitWatch([def(1)], store, log);
  watch.screen([row(1, 10, 'L'), row(2, 3, 'gal')]);
  answer('no');
  assert.deepEqual(values(watch.screen([row(3, 3, 'gal')])), [null]);
  const corrected = createUnitWatch([def(3.785)], store, log);
  assert.deepEqual(values(corrected.screen([row(4, 3, 'gal')])), [3]);
});

test('another spelling of the same unit, and a row without any, are no change', () => {
  const { store, questions } = keep();
  const watch = createUnitWatch([def(1)], store, keptLog());
  assert.deepEqual(values(watch.screen([row(1, 10, 'L'), row(2, 11, 'l'), row(3, 12)])), [10, 11, 12]);
  assert.equal(questions.length, 0);
});
