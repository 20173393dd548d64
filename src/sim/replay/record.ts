// What a replayed hub has of its entities, and what it still knows of their past.
import type { EntityId } from '../../model/index.ts';
import { type HourStatistic, mergeByTime, type Observation, stateValue } from '../../observe/index.ts';
import type { Clock, HistoryRequest, HubPort } from '../../ports/index.ts';
import { DAY_MS, type DurationMs, type InstantMs } from '../../units/index.ts';
import type { RecordedPast } from '../history/index.ts';
import { hourlyRows, statisticKind } from '../hub/index.ts';
import { heardBy, type KeptRows, READY_AFTER_MS, type Span } from './rows.ts';

export type ReplayOptions = {
  readonly past: Pick<RecordedPast, 'rows'>;
  readonly entities: readonly EntityId[];
  readonly clock: Clock;
  /** When the hub is down, in order. */
  readonly downs: readonly Span[];
  readonly keepDays: number;
  readonly timeZone: string;
  /** At which time of its day (UTC) the hub purges. */
  readonly purgeAtMs?: DurationMs;
};

const PURGE_AT_MS = 4.2 * 3_600_000;

export type HubRecord = {
  readonly entities: readonly EntityId[];
  readonly clock: Clock;
  readonly downs: readonly Span[];
  rowsOf(entity: EntityId): KeptRows | undefined;
  attributesOf(entity: EntityId): Readonly<Record<string, unknown>>;
  /** Down, or not yet running again. */
  isDown(at: InstantMs): boolean;
  /** Everything older is gone; the hub purges once a day. */
  purgedBefore(): InstantMs;
  observation(entity: EntityId, at: InstantMs, state: string, origin: Observation['origin']): Observation;
  /** Rows in (from, to]. */
  between(entity: EntityId, from: InstantMs, to: InstantMs, origin: Observation['origin']): readonly Observation[];
};

export function openRecord(options: ReplayOptions): HubRecord {
  const { clock, downs, entities } = options;
  const rows = new Map<EntityId, KeptRows>();
  const attributes = new Map<EntityId, Readonly<Record<string, unknown>>>();
  for (const entity of entities) {
    const past = options.past.rows(entity);
    if (past === undefined) continue;
    rows.set(entity, heardBy(past, downs));
    attributes.set(entity, past.attributes);
  }
  const observation: HubRecord['observation'] = (entity, at, state, origin) => {
    const unit = attributes.get(entity)?.['unit_of_measurement'];
    return {
      entity,
      value: stateValue(state),
      at: Math.floor(at),
      receivedAt: clock.now(),
      origin,
      ...(typeof unit === 'string' ? { unit } : {}),
    };
  };
  return {
    entities,
    clock,
    downs,
    rowsOf: (entity) => rows.get(entity),
    attributesOf: (entity) => attributes.get(entity) ?? {},
    isDown: (at) => downs.some(({ from, to }) => at >= from && at < to + READY_AFTER_MS),
    purgedBefore: () => {
      const purgeAt = options.purgeAtMs ?? PURGE_AT_MS;
      return Math.floor((clock.now() - purgeAt) / DAY_MS) * DAY_MS + purgeAt - options.keepDays * DAY_MS;
    },
    observation,
    between: (entity, from, to, origin) => {
      const list = rows.get(entity);
      const found: Observation[] = [];
      if (list === undefined) return found;
      for (let index = list.firstAfter(from); index < list.count; index += 1) {
        const { updatedAt, state } = list.row(index);
        if (updatedAt > to) break;
        found.push(observation(entity, updatedAt, state, origin));
      }
      return found;
    },
  };
}

/** The past as the hub port gives it. */
export function pastPort(record: HubRecord): Required<Pick<HubPort, 'history' | 'statistics' | 'reach'>> {
  const { clock } = record;
  const kindOf = (entity: EntityId) => statisticKind(record.attributesOf(entity));
  return {
    async *history({ entities, from, to }: HistoryRequest) {
      const oldest = record.purgedBefore();
      const found = entities.flatMap((entity) => [
        ...heldAt(record, entity, from, oldest),
        ...record.between(entity, Math.max(from, oldest), Math.min(to, clock.now()), 'history'),
      ]);
      if (found.length > 0) yield mergeByTime([found]);
    },
    async *statistics({ entities, from, to }: HistoryRequest) {
      for (const entity of entities) {
        const rows = record.rowsOf(entity);
        const kind = kindOf(entity);
        if (rows === undefined || kind === null) continue;
        const unit = record.attributesOf(entity)['unit_of_measurement'];
        // The hub makes an hour's row when the hour is over, or not at all.
        const hours = hourlyRows(rows, kind, { from, to, now: clock.now() })
          .filter(({ end }) => end <= to && !record.isDown(end))
          .map(
            ({ start, end, ...figures }): HourStatistic => ({
              entity,
              from: start,
              to: end,
              ...figures,
              ...(typeof unit === 'string' ? { unit } : {}),
            }),
          );
        if (hours.length > 0) yield hours;
      }
    },
    reach: async (entities) => {
      const ages = entities.flatMap((entity) => {
        const rows = record.rowsOf(entity);
        const index = rows?.firstAfter(record.purgedBefore()) ?? 0;
        return rows === undefined || index >= rows.count ? [] : [clock.now() - rows.row(index).updatedAt];
      });
      const bridgeableMs = Math.max(...ages);
      return {
        bridgeableMs: bridgeableMs >= 0 ? bridgeableMs : null,
        hourly: entities.filter((entity) => kindOf(entity) !== null),
      };
    },
  };
}

function heldAt(record: HubRecord, entity: EntityId, at: InstantMs, oldest: InstantMs): readonly Observation[] {
  const rows = record.rowsOf(entity);
  const index = rows === undefined ? -1 : rows.firstAfter(at) - 1;
  const row = rows !== undefined && index >= 0 ? rows.row(index) : null;
  return row !== null && row.updatedAt >= oldest ? [record.observation(entity, at, row.state, 'history')] : [];
}
