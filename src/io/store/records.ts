import type { DatabaseSync } from 'node:sqlite';
import type { PartLife } from '../../model/index.ts';
import type { JournalEntry, JournalRow } from '../../record/index.ts';
import type { InstantMs } from '../../units/index.ts';
import { checkedText, crcOf } from './bytes.ts';

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
      `INSERT INTO journal (booked_at, kind, entry, crc)
       VALUES (max(?, coalesce((SELECT booked_at FROM journal ORDER BY seq DESC LIMIT 1), 0)), ?, ?, ?) RETURNING seq`,
    ),
    journal: db.prepare(
      `SELECT seq, entry, crc FROM journal WHERE seq > ? AND kind IN (SELECT value FROM json_each(?)) ORDER BY seq`,
    ),
    lives: db.prepare('SELECT part, number, life, crc FROM lives ORDER BY part, number'),
    putLife: db.prepare(
      `INSERT INTO lives (part, number, life, crc) VALUES (?, ?, ?, ?)
       ON CONFLICT DO UPDATE SET life = excluded.life, crc = excluded.crc`,
    ),
    setting: db.prepare('SELECT value FROM settings WHERE key = ?'),
    putSetting: db.prepare(
      'INSERT INTO settings (key, value) VALUES (?, ?) ON CONFLICT DO UPDATE SET value = excluded.value',
    ),
  };
  const write = (life: PartLife): void => {
    const text = JSON.stringify(life);
    statements.putLife.run(life.part, life.number, text, crcOf(text));
  };
  return {
    append(entry, now) {
      const text = JSON.stringify(entry);
      const row = statements.append.get(Math.floor(now), entry.kind, text, crcOf(text));
      return { seq: Number(row?.['seq']), entry };
    },
    journal: (kinds, afterSeq) =>
      statements.journal.all(afterSeq, JSON.stringify(kinds)).map((row) => {
        const text = checkedText(`journal entry ${row['seq']}`, row['entry'], row['crc']);
        return { seq: Number(row['seq']), entry: JSON.parse(text) as JournalEntry };
      }),
    lives: () =>
      statements.lives.all().map((row) => {
        const text = checkedText(`life ${row['number']} of part ${row['part']}`, row['life'], row['crc']);
        return JSON.parse(text) as PartLife;
      }),
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
