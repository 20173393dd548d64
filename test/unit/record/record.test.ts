import assert from 'node:assert/strict';
import { describe, test } from 'node:test';
import { SlackwaterError } from '../../../src/errors/index.ts';
import type { Actor, PartLife } from '../../../src/model/index.ts';
import type { SessionEvent } from '../../../src/procedure/index.ts';
import {
  type JournalEntry,
  type JournalRow,
  livesFrom,
  openReminders,
  openSession,
  presentLives,
  putOffs,
  readEntry,
  serviceRecord,
  sessionEvents,
} from '../../../src/record/index.ts';
import { lamp } from './tank.ts';

const ana: Actor = { kind: 'person', name: 'Ana', via: 'hub' };
const rowsOf = (...entries: JournalEntry[]): JournalRow[] => entries.map((entry, i) => ({ seq: i + 1, entry }));
const codeOf = (run: () => unknown): string => {
  try {
    run();
  } catch (error) {
    assert.ok(error instanceof SlackwaterError);
    return `${error.code} ${error.message}`;
  }
  return 'no error';
};

const fitted: JournalEntry = {
  v: 1,
  kind: 'part-fitted',
  at: 20,
  part: 'lamp',
  life: 2,
  fittedAt: 10,
  by: 'Ana',
  note: 'new batch',
  usageAtRemoval: { 'on-hours': { low: 3590, best: 3600, high: 3610 } },
  baseline: {},
};
const putOff: JournalEntry = { v: 1, kind: 'put-off', at: 5, part: 'lamp', until: 99, by: 'Ana' };
const reminder = (change: 'sending' | 'raised' | 'cleared', key = 'k', token = 't'): JournalEntry => ({
  v: 1,
  kind: 'reminder',
  at: 1,
  key,
  change,
  token,
});
const started = (session: string, at: number): JournalEntry => ({
  v: 1,
  kind: 'session-event',
  at,
  session,
  event: {
    kind: 'started',
    at,
    actor: ana,
    session,
    nonce: 'n0',
    plan: {
      procedure: 'skimmer-service',
      title: 'Skimmer service',
      steps: [],
      outOfService: [],
      handled: [],
      cautions: [],
      notes: [],
    },
  },
});
const aborted = (session: string, at: number): JournalEntry => ({
  v: 1,
  kind: 'session-event',
  at,
  session,
  event: { kind: 'abort', at, actor: ana, nextNonce: 'n1' },
});

describe('readEntry', () => {
  test('every kind written as JSON is read back the same', () => {
    const reading: JournalEntry = { v: 1, kind: 'reading', at: 1, what: 'salinity', value: 35, unit: 'ppt', by: 'Ana' };
    const note: JournalEntry = { v: 1, kind: 'note', at: 1, text: 'hub moved' };
    for (const entry of [fitted, putOff, reminder('raised'), started('s1', 1), reading, note])
      assert.deepEqual(readEntry(JSON.stringify(entry)), entry);
  });

  test('an unknown version is refused with what was found and what is known', () => {
    assert.equal(
      codeOf(() => readEntry({ ...fitted, v: 7 })),
      'SW-REC-001 A journal entry has version 7; this program reads up to version 1.',
    );
  });

  test('broken entries are refused naming the place', () => {
    assert.match(
      codeOf(() => readEntry('{"v":1,')),
      /^SW-REC-002 .*expected JSON/,
    );
    assert.match(
      codeOf(() => readEntry(null)),
      /^SW-REC-002 .*expected an object/,
    );
    assert.match(
      codeOf(() => readEntry({ v: 1, kind: 'toString', at: 1 })),
      /^SW-REC-002 .*kind: found "toString"/,
    );
    assert.match(
      codeOf(() => readEntry({ ...fitted, fittedAt: 'monday' })),
      /fittedAt: found "monday", expected a number/,
    );
    assert.match(
      codeOf(() => readEntry({ ...putOff, at: undefined })),
      /at: found undefined, expected a number/,
    );
  });
});

describe('livesFrom', () => {
  const second: PartLife = { part: 'lamp', number: 2, fittedAt: 500, fittedBy: 'Ana' };

  test("the configuration's date is life 1 until a later one is stored, and stays known after", () => {
    const part = { ...lamp, fittedAt: 100 };
    assert.deepEqual(presentLives(livesFrom([part], [])).get('lamp')?.number, 1);
    const both = livesFrom([part], [second]).get('lamp');
    assert.deepEqual(
      both?.map((life) => [life.number, life.removedAt]),
      [
        [1, 500],
        [2, undefined],
      ],
    );
    assert.equal(presentLives(livesFrom([part], [second])).get('lamp'), second);
  });

  test('what is stored wins over a configured date that contradicts it', () => {
    assert.deepEqual(livesFrom([{ ...lamp, fittedAt: 600 }], [second]).get('lamp'), [second]);
    const first: PartLife = { ...second, number: 1, fittedAt: 90, removedAt: 500 };
    assert.deepEqual(livesFrom([{ ...lamp, fittedAt: 100 }], [second, first]).get('lamp'), [first, second]);
  });

  test('a part without any date has no present life', () => {
    assert.equal(presentLives(livesFrom([lamp], [])).has('lamp'), false);
  });
});

describe('replay', () => {
  test('reminders: open until cleared, sending until known, the newest telling counts', () => {
    assert.deepEqual(openReminders(rowsOf(reminder('sending'), reminder('raised'), reminder('cleared'))), []);
    const [one] = openReminders(rowsOf(reminder('sending'), reminder('raised'), reminder('sending', 'k', 't2')));
    assert.deepEqual([one?.state, one?.token], ['sending', 't2']);
    assert.equal(
      openReminders(rowsOf(reminder('raised', 'a'), reminder('raised', 'b'), reminder('cleared', 'a'))).length,
      1,
    );
  });

  test('a put-off ends when the part is done', () => {
    assert.deepEqual(putOffs(rowsOf(putOff)).get('lamp'), { until: 99, by: 'Ana', at: 5 });
    assert.equal(putOffs(rowsOf(putOff, fitted)).size, 0);
    assert.equal(putOffs(rowsOf(fitted, { ...putOff, until: 120 })).get('lamp')?.until, 120);
  });

  test('the latest session is replayed unless it has ended; an older one never is', () => {
    const hasEnded = (events: readonly SessionEvent[]) => events.at(-1)?.kind === 'abort';
    const rows = rowsOf(started('s1', 1), aborted('s1', 2), started('s2', 3), putOff);
    assert.equal(openSession(rows, hasEnded)?.session, 's2');
    assert.deepEqual(
      sessionEvents(rows, 's1').map((event) => event.kind),
      ['started', 'abort'],
    );
    assert.equal(openSession(rowsOf(started('s1', 1), started('s2', 3), aborted('s2', 4)), hasEnded), null);
    assert.equal(openSession([], hasEnded), null);
  });
});

describe('serviceRecord', () => {
  test('lists what people did, with the usage the old part had', () => {
    const lines = serviceRecord(
      rowsOf(putOff, reminder('raised'), started('s1', 6), aborted('s1', 7), fitted),
      () => 'Lamp',
    );
    assert.deepEqual(
      lines.map(({ at, who, what }) => [at, who, what]),
      [
        [5, 'Ana', 'Lamp put off'],
        [6, 'Ana', 'started Skimmer service (session s1)'],
        [7, 'Ana', 'aborted session s1'],
        [
          10,
          'Ana',
          'Lamp replaced or serviced, number 2 begins; the one before had 3,600 h (3,590 to 3,610); new batch',
        ],
      ],
    );
  });
});
