import type { DatabaseSync } from 'node:sqlite';
import type { Doubt, DoubtKind } from '../../count/index.ts';
import type { CounterId } from '../../model/index.ts';
import type { Answer, AnsweredQuestion, Question, SourceEntry } from '../../ports/index.ts';

export type AskedTables = {
  /** The rest is to be called inside a transaction. */
  doubts(counter: CounterId): readonly Doubt[];
  questions(which: 'open' | 'all'): readonly AnsweredQuestion[];
  sources(counter: CounterId): readonly SourceEntry[];
  putDoubt(counterNo: number, doubt: Doubt): void;
  putQuestion(question: Question): boolean;
  answer(id: string, answer: Answer): boolean;
  putSource(counterNo: number, entry: SourceEntry): void;
};

export function askedTables(db: DatabaseSync): AskedTables {
  const ofCounter = '(SELECT no FROM counters WHERE id = ?)';
  const statements = {
    doubts: db.prepare(`SELECT at, kind, before, after FROM doubts WHERE counter = ${ofCounter} ORDER BY at, kind`),
    putDoubt: db.prepare(
      `INSERT INTO doubts (counter, at, kind, before, after) VALUES (?, ?, ?, ?, ?)
       ON CONFLICT DO UPDATE SET before = excluded.before, after = excluded.after`,
    ),
    open: db.prepare('SELECT question, answer FROM questions WHERE answer IS NULL ORDER BY no'),
    all: db.prepare('SELECT question, answer FROM questions ORDER BY no'),
    ask: db.prepare('INSERT INTO questions (id, question) VALUES (?, ?) ON CONFLICT DO NOTHING'),
    answer: db.prepare('UPDATE questions SET answer = ? WHERE id = ? AND answer IS NULL'),
    sources: db.prepare(`SELECT entry FROM sources WHERE counter = ${ofCounter} ORDER BY since`),
    putSource: db.prepare(
      'INSERT INTO sources (counter, since, entry) VALUES (?, ?, ?) ON CONFLICT DO UPDATE SET entry = excluded.entry',
    ),
  };
  return {
    doubts: (counter) =>
      statements.doubts.all(counter).map((row) => ({
        counter,
        kind: String(row['kind']) as DoubtKind,
        at: Number(row['at']),
        before: Number(row['before']),
        after: Number(row['after']),
      })),
    questions: (which) =>
      (which === 'open' ? statements.open : statements.all).all().map((row) => ({
        ...(JSON.parse(String(row['question'])) as Question),
        answer: row['answer'] === null ? null : (JSON.parse(String(row['answer'])) as Answer),
      })),
    sources: (counter) => statements.sources.all(counter).map((row) => JSON.parse(String(row['entry'])) as SourceEntry),
    putDoubt: (counterNo, { at, kind, before, after }) =>
      void statements.putDoubt.run(counterNo, at, kind, before, after),
    putQuestion: (question) => Number(statements.ask.run(question.id, JSON.stringify(question)).changes) > 0,
    answer: (id, answer) => Number(statements.answer.run(JSON.stringify(answer), id).changes) > 0,
    putSource: (counterNo, entry) => void statements.putSource.run(counterNo, entry.from, JSON.stringify(entry)),
  };
}
