import type { DatabaseSync } from 'node:sqlite';
import type { PartLife } from '../../model/index.ts';
import type { JournalEntry, JournalRow } from '../../record/index.ts';
import type { InstantMs } from '../../units/index.ts';

export type RecordTables = {
  /** To be called inside a transaction. */
  append(entry: JournalEntry, now: InstantMs): JournalRow;
  journal(kinds: readonly JournalEntry['kind'][], afterSeq: number): readonly JournalRow[];
  lives(): readonly PartLife[];
  /** To be called inside a transaction. */
  putLife(life: PartLife, ended: PartLife | null): void;
  setting(key: string): string | null;
  putSetting(key: string, value: string): void;
};

export function recordTables(db: DatabaseSync): RecordTables {
  const statements = {
    // Booking time never runs backward, also where the machine's clock did.
    append: db.prepare(
      `INSERT INTO journal (booked_at, kind, entry)
       VALUES (max(?, coalesce((SELECT booked_at FROM journal ORDER BY seq DESC LIMIT 1), 0)), ?, ?) RETURNING seq`,
    ),
    journal: db.prepare(
      `SELECT seq, entry FROM journal WHERE seq > ? AND kind IN (SELECT value FROM json_each(?)) ORDER BY seq`,
    ),
    lives: db.prepare('SELECT life FROM lives ORDER BY part, number'),
    putLife: db.prepare(
      'INSERT INTO lives (part, number, life) VALUES (?, ?, ?) ON CONFLICT DO UPDATE SET life = excluded.life',
    ),
    setting: db.prepare('SELECT value FROM settings WHERE key = ?'),
    putSetting: db.prepare(
      'INSERT INTO settings (key, value) VALUES (?, ?) ON CONFLICT DO UPDATE SET value = excluded.value',
    ),
  };
  const write = (life: PartLife): void => {
    statements.putLife.run(life.part, life.number, JSON.stringify(life));
  };
  return {
    append(entry, now) {
      const row = statements.append.get(Math.floor(now), entry.kind, JSON.stringify(entry));
      return { seq: Number(row?.['seq']), entry };
    },
    journal: (kinds, afterSeq) =>
      statements.journal.all(afterSeq, JSON.stringify(kinds)).map((row) => ({
        seq: Number(row['seq']),
        entry: JSON.parse(String(row['entry'])) as JournalEntry,
      })),
    lives: () => statements.lives.all().map((row) => JSON.parse(String(row['life'])) as PartLife),
    putLife(life, ended) {
      if (ended !== null) write(ended);
      write(life);
    },
    setting(key) {
      const row = statements.setting.get(key);
      return row === undefined ? null : String(row['value']);
    },
    putSetting: (key, value) => void statements.putSetting.run(key, value),
  };
}
