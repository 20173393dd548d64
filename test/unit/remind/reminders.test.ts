import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import fc from 'fast-check';
import type { PartLife } from '../../../src/model/index.ts';
import { type JournalRow, openReminders, reminderEntry } from '../../../src/record/index.ts';
import {
  actionText,
  answerOf,
  type ReminderEffect,
  reminderKey,
  reminders,
  type Standing,
  type StandingWord,
} from '../../../src/remind/index.ts';

const standing = (word: StandingWord, more: Partial<Standing> = {}): Standing => ({
  part: 'c1-tubes',
  name: 'C1 tubes',
  word,
  reason: 'C1 tubes: 3,600 h of 3,600 h lit; due now by hours',
  measure: 'on-hours',
  used: null,
  limit: 3600,
  share: word === 'due' || word === 'overdue' ? 1.01 : 0.5,
  reachedAt: null,
  putOffUntil: null,
  all: [],
  ...more,
});
const lives = (number: number): ReadonlyMap<string, PartLife> =>
  new Map([['c1-tubes', { part: 'c1-tubes', number, fittedAt: 0, fittedBy: 'Ana' }]]);

/** A service that keeps nothing but its journal, so that every turn is also a restart. */
const fromJournal = () => {
  const rows: JournalRow[] = [];
  let tokens = 0;
  const write = (effect: ReminderEffect, change: 'sending' | 'raised' | 'cleared') =>
    rows.push({ seq: rows.length + 1, entry: reminderEntry(effect, change, rows.length) });
  return {
    open: () => openReminders(rows),
    turn: (standings: readonly Standing[], life = 1, diesAfterSending = false) => {
      const effects = reminders({
        open: openReminders(rows),
        standings,
        lives: lives(life),
        newToken: () => `t-${++tokens}_x`,
      });
      for (const effect of effects) {
        write(effect, effect.kind === 'clear' ? 'cleared' : 'sending');
        if (effect.kind === 'raise' && !diesAfterSending) write(effect, 'raised');
      }
      return effects;
    },
  };
};

describe('reminders', () => {
  test('a part that turns due is told once, however often it is looked at', () => {
    const service = fromJournal();
    const [first] = service.turn([standing('due')]);
    assert.equal(first?.kind, 'raise');
    assert.equal(first.kind === 'raise' && first.reminder.key, 'slackwater_c1_tubes_1');
    for (let i = 0; i < 5; i += 1) assert.deepEqual(service.turn([standing('due')]), []);
  });

  test('overdue updates the same notification once: same key, same token', () => {
    const service = fromJournal();
    service.turn([standing('due')]);
    const [token] = service.open().map((one) => one.token);
    const effects = service.turn([standing('overdue')]);
    assert.deepEqual(
      effects.map(
        (effect) => effect.kind === 'raise' && [effect.reminder.key, effect.reminder.token, effect.reminder.title],
      ),
      [['slackwater_c1_tubes_1', token, 'Overdue: C1 tubes']],
    );
    assert.deepEqual(service.turn([standing('overdue')]), []);
    assert.deepEqual(service.turn([standing('due')]), []);
  });

  test('killed between sending and knowing, it goes out again under the same key and token', () => {
    const service = fromJournal();
    const [sent] = service.turn([standing('due')], 1, true);
    const [again] = service.turn([standing('due')]);
    assert.deepEqual(again, sent);
    assert.deepEqual(service.turn([standing('due')]), []);
  });

  test('done clears it everywhere, and the next life is told anew', () => {
    const service = fromJournal();
    service.turn([standing('due')]);
    assert.deepEqual(service.turn([standing('fine')], 2), [{ kind: 'clear', key: 'slackwater_c1_tubes_1' }]);
    assert.deepEqual(service.open(), []);
    assert.equal(service.turn([standing('due')], 2).length, 1);
    assert.equal(service.open()[0]?.key, 'slackwater_c1_tubes_2');
  });

  test('later takes it back until the time has passed, then it is told again with a new token', () => {
    const service = fromJournal();
    service.turn([standing('due')]);
    const token = service.open()[0]?.token;
    assert.deepEqual(service.turn([standing('due', { putOffUntil: 5 })]), [
      { kind: 'clear', key: 'slackwater_c1_tubes_1' },
    ]);
    assert.deepEqual(service.turn([standing('overdue', { putOffUntil: 5 })]), []);
    assert.equal(service.turn([standing('overdue')]).length, 1);
    assert.notEqual(service.open()[0]?.token, token);
  });

  test('a count that settles just under the limit, or a hub that cannot be read, takes nothing back', () => {
    const service = fromJournal();
    service.turn([standing('due')]);
    assert.deepEqual(service.turn([standing('near', { share: 0.999 })]), []);
    assert.deepEqual(service.turn([standing('unknown', { share: null })]), []);
    assert.deepEqual(service.turn([standing('due')]), []);
    assert.deepEqual(service.turn([standing('near', { share: 0.9 })]), [
      { kind: 'clear', key: 'slackwater_c1_tubes_1' },
    ]);
  });

  test('a part taken out of the configuration leaves no reminder behind', () => {
    const service = fromJournal();
    service.turn([standing('due')]);
    assert.deepEqual(service.turn([]), [{ kind: 'clear', key: 'slackwater_c1_tubes_1' }]);
  });

  test('over any run of standings and restarts, each change to a worse word is told exactly once', () => {
    const words = fc.array(fc.constantFrom<StandingWord>('fine', 'order', 'near', 'due', 'overdue'), { maxLength: 30 });
    fc.assert(
      fc.property(words, (run) => {
        const service = fromJournal();
        let told: StandingWord | null = null;
        for (const word of run) {
          const raised = service.turn([standing(word)]).filter((effect) => effect.kind === 'raise').length;
          const isNew: boolean = (word === 'due' && told === null) || (word === 'overdue' && told !== 'overdue');
          assert.equal(raised, isNew ? 1 : 0);
          if (isNew) told = word;
          if (word !== 'due' && word !== 'overdue') told = null;
        }
      }),
      { numRuns: 1000 },
    );
  });

  test('keys hold only characters that any notifier takes', () => {
    fc.assert(
      fc.property(fc.string(), fc.nat(), (part, life) =>
        assert.match(reminderKey(part, life), /^slackwater_[a-z0-9_]*\d+$/),
      ),
      { numRuns: 1000 },
    );
  });
});

describe('answerOf', () => {
  test('finds part and action by the token, and nothing once the reminder is closed', () => {
    const service = fromJournal();
    const [effect] = service.turn([standing('due')]);
    assert.ok(effect?.kind === 'raise');
    const { token } = effect.reminder;
    const actions = (['done', 'later', 'open'] as const).map((action) => actionText(action, token));
    assert.deepEqual(
      actions.map((action) => answerOf(action, service.open())?.action),
      ['done', 'later', 'open'],
    );
    assert.equal(answerOf(actionText('done', 'guess'), service.open()), null);
    assert.equal(answerOf(actionText('done', ''), service.open()), null);
    service.turn([standing('fine')], 2);
    assert.equal(answerOf(actions[0] ?? '', service.open()), null);
  });
});
