import type { DatabaseSync } from 'node:sqlite';
import type { CounterState, ResetEntry } from '../../count/index.ts';
import type { CounterId, EntityId } from '../../model/index.ts';
import type { CountCommit } from '../../ports/index.ts';
import type { InstantMs } from '../../units/index.ts';
import type { AskedTables } from './asked.ts';
import { checkedText, crcOf } from './bytes.ts';
import type { MinuteTables } from './minutes.ts';
import type { SliceTable } from './slices.ts';

export type CountTables = {
  states(): ReadonlyMap<CounterId, CounterState>;
  cursors(): ReadonlyMap<EntityId, InstantMs>;
  /** To be called inside a transaction. */
  write(commit: CountCommit): void;
  /** A small piece of packing. To be called inside a transaction. */
  tidy(): void;
  /** Number under which a counter is stored, given to it if it has none. To be called inside a transaction. */
  numberOf(id: CounterId): number;
  resets(counter: CounterId): readonly ResetEntry[];
};

type Others = { readonly slices: SliceTable; readonly minutes: MinuteTables; readonly asked: AskedTables };

const readResets = `
  SELECT at, before, after FROM resets WHERE counter = (SELECT no FROM counters WHERE id = ?) ORDER BY at`;

export function countTables(db: DatabaseSync, { slices, minutes, asked }: Others): CountTables {
  const statements = {
    state: db.prepare(
      `INSERT INTO counters (id, state, crc) VALUES (?, ?, ?)
       ON CONFLICT (id) DO UPDATE SET state = excluded.state, crc = excluded.crc`,
    ),
    name: db.prepare('INSERT INTO counters (id) VALUES (?) ON CONFLICT DO NOTHING'),
    number: db.prepare('SELECT no FROM counters WHERE id = ?'),
    reset: db.prepare(
      'INSERT INTO resets (counter, at, before, after) VALUES (?, ?, ?, ?) ON CONFLICT DO UPDATE SET after = excluded.after',
    ),
    cursor: db.prepare(
      'INSERT INTO cursors (entity, at) VALUES (?, ?) ON CONFLICT DO UPDATE SET at = max(at, excluded.at)',
    ),
    cursorSet: db.prepare('INSERT INTO cursors (entity, at) VALUES (?, ?) ON CONFLICT DO UPDATE SET at = excluded.at'),
    allStates: db.prepare('SELECT id, state, crc FROM counters WHERE state IS NOT NULL ORDER BY no'),
    allCursors: db.prepare('SELECT entity, at FROM cursors'),
    resets: db.prepare(readResets),
  };
  const numberOf = (id: CounterId): number => {
    statements.name.run(id);
    return Number(statements.number.get(id)?.['no']);
  };
  const tidy = (): void => {
    slices.packNext();
    minutes.packNext();
  };
  const write = (commit: CountCommit): void => {
    for (const state of commit.states) {
      const text = JSON.stringify(state);
      statements.state.run(state.id, text, crcOf(text));
    }
    let counter = -1;
    let last: CounterId | null = null;
    for (const slice of commit.slices) {
      if (slice.counter !== last) counter = numberOf(slice.counter);
      last = slice.counter;
      slices.add(counter, slice);
    }
    for (const { counter: id, at, before, after } of commit.resets)
      statements.reset.run(numberOf(id), at, before, after);
    for (const doubt of commit.doubts ?? []) asked.putDoubt(numberOf(doubt.counter), doubt);
    for (const question of commit.questions ?? []) asked.putQuestion(question);
    const cursor = commit.clockSet === true ? statements.cursorSet : statements.cursor;
    for (const [entity, at] of commit.cursors) cursor.run(entity, at);
    minutes.write(commit.minutes ?? []);
    if (commit.isLive !== true) tidy();
  };
  return {
    write,
    tidy,
    numberOf,
    states: () =>
      new Map(
        statements.allStates.all().map((row) => {
          const text = checkedText(`the state of counter ${String(row['id'])}`, row['state'], row['crc']);
          return [String(row['id']), JSON.parse(text) as CounterState];
        }),
      ),
    cursors: () => new Map(statements.allCursors.all().map((row) => [String(row['entity']), Number(row['at'])])),
    resets: (counter) =>
      statements.resets.all(counter).map((row) => ({
        counter,
        at: Number(row['at']),
        before: Number(row['before']),
        after: Number(row['after']),
      })),
  };
}
