import type { DatabaseSync } from 'node:sqlite';
import type { EntityId } from '../../model/index.ts';
import type { MinutePower, MinuteState } from '../../observe/index.ts';
import type { MinuteCommit } from '../../ports/index.ts';
import { DAY_MS, HOUR_MS, type InstantMs, MINUTE_MS } from '../../units/index.ts';
import { DamagedBytes } from './bytes.ts';
import { codesOf, type MinuteCodes, mergeMinutes, minuteOf, packMinutes, unpackMinutes } from './pack-minutes.ts';

const DAY_HOURS = 24;
const HOUR_MINUTES = 60;

export type MinuteTables = {
  /** To be called inside a transaction. */
  write(commits: readonly MinuteCommit[]): void;
  between(entity: EntityId, from: InstantMs, to: InstantMs): readonly MinutePower[];
  states(): ReadonlyMap<EntityId, MinuteState>;
  /** Packs the days that are over of the next entity; to be called inside a transaction. */
  packNext(): void;
};

type HourRow = { readonly hour: number; readonly packed: unknown };

const nextEntity = `
  SELECT entity, min(hour) AS oldest, max(hour) AS newest FROM minute_hours
  WHERE entity = (SELECT min(entity) FROM minute_hours WHERE entity > ?)`;

function prepared(db: DatabaseSync) {
  const put = (table: string, at: string): string =>
    `INSERT INTO ${table} (entity, ${at}, packed) VALUES (?, ?, ?) ON CONFLICT DO UPDATE SET packed = excluded.packed`;
  return {
    name: db.prepare('INSERT INTO entities (id) VALUES (?) ON CONFLICT DO NOTHING'),
    number: db.prepare('SELECT no FROM entities WHERE id = ?'),
    putState: db.prepare('UPDATE entities SET minute_state = ? WHERE no = ?'),
    states: db.prepare('SELECT id, minute_state FROM entities WHERE minute_state IS NOT NULL ORDER BY no'),
    hour: db.prepare('SELECT packed FROM minute_hours WHERE entity = ? AND hour = ?'),
    putHour: db.prepare(put('minute_hours', 'hour')),
    hours: db.prepare(
      'SELECT hour, packed FROM minute_hours WHERE entity = ? AND hour >= ? AND hour < ? ORDER BY hour',
    ),
    dropHours: db.prepare('DELETE FROM minute_hours WHERE entity = ? AND hour >= ? AND hour < ?'),
    day: db.prepare('SELECT packed FROM minute_days WHERE entity = ? AND day = ?'),
    putDay: db.prepare(put('minute_days', 'day')),
    days: db.prepare('SELECT day, packed FROM minute_days WHERE entity = ? AND day >= ? AND day <= ? ORDER BY day'),
    nextEntity: db.prepare(nextEntity),
  };
}

export function minuteTables(db: DatabaseSync): MinuteTables {
  const statements = prepared(db);
  const numbers = new Map<EntityId, number>();
  const numberOf = (id: EntityId): number | null => {
    const known = numbers.get(id);
    if (known !== undefined) return known;
    const found = statements.number.get(id)?.['no'];
    return found === undefined ? null : Number(found);
  };
  const made = (id: EntityId): number => {
    statements.name.run(id);
    return numberOf(id) ?? 0;
  };

  const writeMinutes = (entity: number, id: EntityId, minutes: readonly MinutePower[]): void => {
    for (const [hour, added] of byHour(minutes)) {
      const old = statements.hour.get(entity, hour);
      const all = old === undefined ? added : mergeMinutes(unpack(id, old['packed']), added);
      statements.putHour.run(entity, hour, packMinutes(all));
    }
  };

  const packDay = (entity: number, day: number): void => {
    const from = day * DAY_HOURS;
    const hours = statements.hours.all(entity, from, from + DAY_HOURS) as unknown as HourRow[];
    const name = `number ${entity}`;
    const loose = hours.flatMap(({ hour, packed }) =>
      unpack(name, packed).map((minute) => ({ ...minute, slot: minute.slot + (hour - from) * HOUR_MINUTES })),
    );
    const old = statements.day.get(entity, day);
    const all = old === undefined ? loose : mergeMinutes(unpack(name, old['packed']), loose);
    statements.putDay.run(entity, day, packMinutes(all));
    statements.dropHours.run(entity, from, from + DAY_HOURS);
  };

  let last = -1;
  return {
    write(commits) {
      for (const { entity, minutes, state } of commits) {
        const no = made(entity);
        writeMinutes(no, entity, minutes);
        if (state !== undefined) statements.putState.run(JSON.stringify(state), no);
      }
    },
    between(entity, from, to) {
      const no = numberOf(entity);
      if (no === null || to <= from) return [];
      const days = statements.days
        .all(no, Math.floor(from / DAY_MS), Math.floor(to / DAY_MS))
        .flatMap((row) => placed(unpack(entity, row['packed']), Number(row['day']) * DAY_MS));
      const hours = (
        statements.hours.all(no, Math.floor(from / HOUR_MS), Math.ceil(to / HOUR_MS)) as unknown as HourRow[]
      ).flatMap(({ hour, packed }) => placed(unpack(entity, packed), hour * HOUR_MS));
      return newest(days, hours).filter(({ minute }) => minute >= from && minute < to);
    },
    states: () =>
      new Map(
        statements.states
          .all()
          .map((row) => [String(row['id']), JSON.parse(String(row['minute_state'])) as MinuteState]),
      ),
    packNext() {
      const next = statements.nextEntity.get(last);
      if (next === undefined || next['entity'] === null) {
        last = -1;
        return;
      }
      last = Number(next['entity']);
      const oldestDay = Math.floor(Number(next['oldest']) / DAY_HOURS);
      // Today's and yesterday's still change.
      if (oldestDay < Math.floor(Number(next['newest']) / DAY_HOURS) - 1) packDay(last, oldestDay);
    },
  };
}

function byHour(minutes: readonly MinutePower[]): Map<number, MinuteCodes[]> {
  const hours = new Map<number, MinuteCodes[]>();
  for (const minute of minutes) {
    const hour = Math.floor(minute.minute / HOUR_MS);
    const codes = codesOf(minute, (minute.minute - hour * HOUR_MS) / MINUTE_MS);
    const found = hours.get(hour);
    if (found === undefined) hours.set(hour, [codes]);
    else found.push(codes);
  }
  return hours;
}

function unpack(entity: string, packed: unknown): readonly MinuteCodes[] {
  if (!(packed instanceof Uint8Array)) throw new DamagedBytes(`minutes of ${entity} are missing`);
  try {
    return unpackMinutes(packed);
  } catch (error) {
    throw new DamagedBytes(`minutes of ${entity} cannot be read`, { cause: error });
  }
}

const placed = (codes: readonly MinuteCodes[], start: number): MinutePower[] =>
  codes.map((one) => minuteOf(one, start));

/** An hour written after its day was packed stands for its minutes. */
function newest(days: readonly MinutePower[], hours: readonly MinutePower[]): readonly MinutePower[] {
  const first = hours[0];
  const last = days.at(-1);
  if (first === undefined) return days;
  if (last === undefined) return hours;
  if (first.minute > last.minute) return [...days, ...hours];
  const all = new Map(days.map((one) => [one.minute, one]));
  for (const one of hours) all.set(one.minute, one);
  return [...all.values()].sort((a, b) => a.minute - b.minute);
}
