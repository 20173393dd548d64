import assert from 'node:assert/strict';
import { PassThrough } from 'node:stream';
import { text } from 'node:stream/consumers';
import { describe, test } from 'node:test';
import { stripVTControlCharacters } from 'node:util';
import fc from 'fast-check';
import { type Column, hang, table } from '../../../src/cli/layout.ts';
import { createOutput, type Look } from '../../../src/cli/output.ts';
import { hasEscapes, widest } from './run-cli.ts';

const plain = (width: number): Look => ({ width, paint: (_style, text) => text });

const COLUMNS: readonly Column[] = [
  { title: 'Part', wrap: true },
  { title: 'Used', right: true },
  { title: 'Why', wrap: true },
];
const ROW = [
  'Tubes of lamp bank 1',
  '3,096 h',
  '344 d of 365 d of age; due in 21 days, on 23 Mar 2027, by age',
] as const;

describe('table', () => {
  test('is as narrow as its content where there is room', () => {
    assert.equal(table(plain(100), COLUMNS, [['A', '5 h', 'because']]), 'Part  Used  Why\nA      5 h  because');
  });

  test('breaks long text between words inside its column', () => {
    assert.equal(
      table(plain(60), COLUMNS, [ROW]),
      [
        'Part                     Used  Why',
        'Tubes of lamp bank 1  3,096 h  344 d of 365 d of age; due in',
        '                               21 days, on 23 Mar 2027, by',
        '                               age',
      ].join('\n'),
    );
  });

  test('tells row by row where columns would become too narrow to read', () => {
    assert.equal(
      table(plain(30), COLUMNS, [ROW]),
      [
        'Part: Tubes of lamp bank 1',
        'Used: 3,096 h',
        'Why: 344 d of 365 d of age;',
        '     due in 21 days, on 23 Mar',
        '     2027, by age',
      ].join('\n'),
    );
  });

  test('pieces of a cell stand below each other, numbers at the right', () => {
    const rows = [[[{ text: 'Heater 1' }, { text: 'heater-1' }], '807 d', '-']];
    assert.equal(table(plain(100), COLUMNS, rows), 'Part       Used  Why\nHeater 1  807 d  -\nheater-1');
  });

  const word = fc.stringMatching(/^[a-z0-9.,]{1,12}$/);
  const sentence = fc.array(word, { minLength: 1, maxLength: 30 }).map((words) => words.join(' '));

  test('never gets wider than it is read at, and loses no word', () => {
    fc.assert(
      fc.property(
        fc.array(fc.tuple(sentence, word, sentence), { minLength: 1 }),
        fc.integer({ min: 60, max: 160 }),
        (rows, width) => {
          const told = table(plain(width), COLUMNS, rows);
          assert.ok(widest(told) <= width, `${widest(told)} columns of ${width}`);
          const words = (from: string): string[] =>
            from
              .split(/\s+/)
              .filter((one) => one !== '')
              .sort();
          for (const row of rows) for (const one of words(row.join(' '))) assert.ok(words(told).includes(one), one);
        },
      ),
    );
  });
});

test('hanging text stands below its beginning', () => {
  assert.equal(
    hang(plain(30), '  ! ', 'Salt water and mains kill: dry hands at every plug.'),
    '  ! Salt water and mains kill:\n    dry hands at every plug.',
  );
});

describe('output', () => {
  const stream = (more: object): PassThrough => Object.assign(new PassThrough(), more);
  const read = (from: PassThrough): Promise<string> => text(from.end());

  test('a pipe is 100 columns wide and has no colour', () => {
    const { look } = createOutput(stream({}), stream({}));
    assert.equal(look.width, 100);
    assert.equal(look.paint('red', 'overdue'), 'overdue');
  });

  test('a terminal says how wide it is and gets colour beside the words', () => {
    const { look } = createOutput(stream({ isTTY: true, columns: 72 }), stream({}));
    assert.equal(look.width, 72);
    const painted = look.paint('red', 'overdue');
    assert.ok(hasEscapes(painted));
    assert.equal(stripVTControlCharacters(painted), 'overdue');
  });

  test('progress renews one line on a terminal and gives way to the log', async () => {
    const err = stream({ isTTY: true, columns: 80 });
    const out = createOutput(stream({}), err);
    out.progress('reading', 0.1);
    out.log('a line\n');
    out.progressDone();
    const lines = (await read(err)).split('\r').map((line) => line.trimEnd());
    assert.deepEqual(
      lines.filter((line) => line !== ''),
      ['reading: 10 %', 'a line', 'reading: 10 %'],
    );
  });

  test('progress costs a log four lines', async () => {
    const err = stream({});
    const out = createOutput(stream({}), err);
    for (let share = 0; share < 1; share += 0.01) out.progress('reading', share);
    assert.deepEqual((await read(err)).trim().split('\n'), [
      'reading: 0 %',
      'reading: 25 %',
      'reading: 50 %',
      'reading: 75 %',
    ]);
  });
});
