// Socket commands about the hub's long-term statistics.
import type { InstantMs } from '../../units/index.ts';
import type { HubCore } from './core.ts';
import { asRecord, entityList, HubRefusal } from './services.ts';
import { type HourRow, hourlyRows, type StatisticKind, statisticKind } from './statistics.ts';
import type { HubUser } from './users.ts';

type Message = Readonly<Record<string, unknown>>;
type Command = (core: HubCore, user: HubUser, message: Message) => unknown;

export const STATISTICS_COMMANDS: readonly (readonly [string, Command])[] = [
  ['recorder/list_statistic_ids', (core) => statistics(core).map(metadataRow)],
  [
    'recorder/get_statistics_metadata',
    (core, _, message) => {
      const wanted = new Set(entityList(message['statistic_ids']));
      return statistics(core)
        .filter(({ id }) => wanted.has(id))
        .map(metadataRow);
    },
  ],
  ['recorder/statistics_during_period', duringPeriod],
  ['recorder/import_statistics', importHours],
];

type Statistic = { readonly id: string; readonly kind: StatisticKind; readonly unit: string | null };

const unitOf = (attributes: Readonly<Record<string, unknown>>): string | null => {
  const unit = attributes['unit_of_measurement'];
  return typeof unit === 'string' ? unit : null;
};

function statistics(core: HubCore): readonly Statistic[] {
  const own = core.states.all().flatMap(({ entity, attributes }): Statistic[] => {
    const kind = statisticKind(attributes);
    return kind === null ? [] : [{ id: entity, kind, unit: unitOf(attributes) }];
  });
  const imported = [...core.importedHours]
    .filter(([id]) => !own.some((one) => one.id === id))
    .map(([id, { unit, rows }]): Statistic => ({ id, unit, kind: rows[0]?.mean == null ? 'total' : 'measurement' }));
  return [...own, ...imported];
}

function metadataRow({ id, kind, unit }: Statistic): unknown {
  return {
    statistic_id: id,
    display_unit_of_measurement: unit,
    statistics_unit_of_measurement: unit,
    has_mean: kind === 'measurement',
    mean_type: kind === 'measurement' ? 1 : 0,
    has_sum: kind === 'total',
    name: null,
    source: 'recorder',
    unit_class: null,
  };
}

function duringPeriod(core: HubCore, _: HubUser, message: Message): unknown {
  const now = core.system.clock.now();
  const from = instantOf(message['start_time'], 'start_time');
  const to = message['end_time'] === undefined ? now : instantOf(message['end_time'], 'end_time');
  if (message['period'] !== 'hour') throw new HubRefusal('invalid_format', 'the simulated hub keeps hours only');
  const types = new Set(message['types'] === undefined ? FIELDS : entityList(message['types']));
  const answer: Record<string, readonly unknown[]> = {};
  for (const id of entityList(message['statistic_ids'])) {
    const rows = hoursOf(core, id, { from, to, now });
    if (rows.length > 0) answer[id] = rows.map((row) => shownRow(row, types));
  }
  return answer;
}

const FIELDS = ['state', 'sum', 'min', 'mean', 'max'] as const;

function shownRow(row: HourRow, types: ReadonlySet<string>): unknown {
  const { start, end } = row;
  return Object.assign(
    { start, end },
    ...FIELDS.filter((field) => types.has(field)).map((field) => ({ [field]: row[field] })),
  );
}

function hoursOf(
  core: HubCore,
  id: string,
  span: { readonly from: InstantMs; readonly to: InstantMs; readonly now: InstantMs },
): readonly HourRow[] {
  const imported = (core.importedHours.get(id)?.rows ?? []).filter(
    ({ start }) => start >= span.from && start < span.to,
  );
  const state = core.states.get(id);
  const kind = state === undefined ? null : statisticKind(state.attributes);
  if (kind === null) return imported;
  // Statistics move along when an entity is renamed.
  const made = core.registry.madeAs(id);
  const own = hourlyRows(core.recorder.allRows(made === id ? [id] : [made, id]), kind, span);
  return [...imported, ...own].sort((a, b) => a.start - b.start);
}

function importHours(core: HubCore, user: HubUser, message: Message): unknown {
  if (!user.administrator) throw new HubRefusal('unauthorized', 'Unauthorized');
  const metadata = asRecord(message['metadata']);
  const list = Array.isArray(message['stats']) ? message['stats'] : [];
  const figure = (value: unknown): number | null => (typeof value === 'number' ? value : null);
  const rows = list.map(asRecord).map((row): HourRow => {
    const start = instantOf(row['start'], 'start');
    return {
      start,
      end: start + 3_600_000,
      state: figure(row['state']),
      sum: figure(row['sum']),
      min: figure(row['min']),
      mean: figure(row['mean']),
      max: figure(row['max']),
    };
  });
  const unit = metadata['unit_of_measurement'];
  core.importedHours.set(String(metadata['statistic_id']), { unit: typeof unit === 'string' ? unit : null, rows });
  return null;
}

function instantOf(value: unknown, field: string): InstantMs {
  const at = typeof value === 'string' ? Date.parse(value) : Number.NaN;
  if (Number.isNaN(at)) throw new HubRefusal(`invalid_${field}`, `Invalid ${field}`);
  return at;
}
