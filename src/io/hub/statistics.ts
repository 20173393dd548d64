import type { EntityId } from '../../model/index.ts';
import { type HourStatistic, unitText } from '../../observe/index.ts';
import type { HistoryRequest, HubReach } from '../../ports/index.ts';
import { DAY_MS, HOUR_MS, type InstantMs, SECOND_MS } from '../../units/index.ts';
import { asFailure } from './deadline.ts';
import { type HistoryDeps, historyProblem, type OnProgress } from './history.ts';
import { nextSliceMs, SHORTEST_MS, SLOW_MS, TRIES } from './pace.ts';

/** What the hub says of one statistic. Fields came and went over its versions, so every one may be missing. */
type Metadata = {
  readonly statistic_id?: unknown;
  readonly has_sum?: unknown;
  readonly has_mean?: unknown;
  readonly mean_type?: unknown;
  readonly display_unit_of_measurement?: unknown;
  readonly statistics_unit_of_measurement?: unknown;
  readonly unit_of_measurement?: unknown;
};

type HourRow = {
  /** Milliseconds; text on older hubs. */
  readonly start?: unknown;
  readonly end?: unknown;
  readonly state?: unknown;
  readonly sum?: unknown;
  readonly min?: unknown;
  readonly mean?: unknown;
  readonly max?: unknown;
};

type Kept = { readonly id: EntityId; readonly unit: string | null };

/** A year of hours is less than ten thousand rows. */
const FIRST_SLICE_MS = 90 * DAY_MS;
const LONGEST_SLICE_MS = 360 * DAY_MS;

/** The one place that knows how the hub's long-term statistics are asked for. A hub without them gives none. */
export async function* readStatistics(
  deps: HistoryDeps,
  request: HistoryRequest,
  onProgress: OnProgress = () => undefined,
): AsyncIterable<readonly HourStatistic[]> {
  const kept = await keptStatistics(deps, request.entities);
  const entities = request.entities.filter((entity) => kept.has(entity));
  for (const [index, entity] of entities.entries()) {
    for (const { id, unit } of kept.get(entity) ?? []) {
      for await (const hours of readOne(deps, { ...request, entity, id, unit })) {
        if (request.signal?.aborted) return;
        yield hours;
      }
    }
    onProgress((index + 1) / entities.length);
  }
}

type One = HistoryRequest & Kept & { readonly entity: EntityId };

async function* readOne(deps: HistoryDeps, one: One): AsyncIterable<readonly HourStatistic[]> {
  const { linkClock } = deps.setup;
  let [sliceMs, tries] = [FIRST_SLICE_MS, 0];
  for (let start = one.from; start < one.to && !one.signal?.aborted; ) {
    const end = Math.min(start + sliceMs, one.to);
    const began = linkClock.monotonicMs();
    try {
      const hours = await askHours(deps, one, start, end);
      const tookMs = linkClock.monotonicMs() - began;
      tries = 0;
      if (hours.length > 0) yield hours;
      start = end;
      sliceMs = nextSliceMs(sliceMs, tookMs, hours.length, LONGEST_SLICE_MS);
      if (tookMs > SLOW_MS && start < one.to) await deps.pauses.wait(tookMs, 'hub: give the recorder air');
    } catch (error) {
      const failure = asFailure(error);
      tries += 1;
      if (failure.kind !== 'deadline' || tries >= TRIES) throw historyProblem(failure, start, end);
      sliceMs = Math.max(SHORTEST_MS, (end - start) / 4);
    }
  }
}

async function askHours(deps: HistoryDeps, one: One, start: InstantMs, end: InstantMs): Promise<HourStatistic[]> {
  const answer = await deps.link.call<Readonly<Record<string, readonly HourRow[]>>>({
    type: 'recorder/statistics_during_period',
    start_time: new Date(start).toISOString(),
    end_time: new Date(end).toISOString(),
    statistic_ids: [one.id],
    period: 'hour',
    types: ['state', 'sum', 'min', 'mean', 'max'],
  } as { type: string });
  return (answer[one.id] ?? []).flatMap((row) => {
    const from = instant(row.start);
    if (from === null) return [];
    const to = instant(row.end) ?? from + HOUR_MS;
    // An hour belongs to the slice it begins in; one that is not wholly asked for is left out.
    if (from < start || from >= end || to > one.to) return [];
    return [
      {
        entity: one.entity,
        from,
        to,
        state: number(row.state),
        sum: number(row.sum),
        min: number(row.min),
        mean: number(row.mean),
        max: number(row.max),
        ...(one.unit === null ? {} : { unit: one.unit }),
      },
    ];
  });
}

/** Which of these have statistics, under any of their names, the oldest name first; asked by two commands, since not every version has both. */
async function keptStatistics(
  { link, names }: HistoryDeps,
  entities: readonly EntityId[],
): Promise<ReadonlyMap<EntityId, readonly Kept[]>> {
  const ids = new Map(entities.map((entity) => [entity, names.pastNames(entity).map((name) => name.entity)]));
  const wanted = [...new Set([...ids.values()].flat())];
  const ask = (message: object): Promise<readonly Metadata[]> => link.call(message as { type: string });
  let rows: readonly Metadata[];
  try {
    rows = await ask({ type: 'recorder/get_statistics_metadata', statistic_ids: wanted }).catch((error: unknown) => {
      if (asFailure(error).kind !== 'refused') throw error;
      return ask({ type: 'recorder/list_statistic_ids' });
    });
  } catch (error) {
    const failure = asFailure(error);
    if (failure.kind === 'refused') return new Map();
    throw failure;
  }
  const found = new Map<string, Kept>();
  for (const row of rows) {
    const id = row.statistic_id;
    if (typeof id === 'string' && isUsable(row)) found.set(id, { id, unit: unitOf(row) });
  }
  const kept = [...ids].map(
    ([entity, all]) =>
      [
        entity,
        all
          .map((id) => found.get(id))
          .filter((one) => one !== undefined)
          .reverse(),
      ] as const,
  );
  return new Map(kept.filter(([, list]) => list.length > 0));
}

const isUsable = (row: Metadata): boolean =>
  row.has_sum === true || row.has_mean === true || (typeof row.mean_type === 'number' && row.mean_type > 0);

function unitOf(row: Metadata): string | null {
  const unit = row.display_unit_of_measurement ?? row.statistics_unit_of_measurement ?? row.unit_of_measurement;
  return typeof unit === 'string' && unit !== '' ? unitText(unit) : null;
}

const number = (value: unknown): number | null => (typeof value === 'number' && Number.isFinite(value) ? value : null);

function instant(value: unknown): InstantMs | null {
  if (typeof value === 'number') return value;
  const at = typeof value === 'string' ? Date.parse(value) : Number.NaN;
  return Number.isNaN(at) ? null : at;
}

const FARTHEST_MS = 1_100 * DAY_MS;

/**
 * How far back the hub's history goes, by asking what it knows of a moment and halving: it gives the state at a moment
 * only where it still has an older row. No command tells how long its recorder keeps rows.
 */
export async function readReach(deps: HistoryDeps, entities: readonly EntityId[]): Promise<HubReach> {
  const now = deps.hubNow();
  const hourly = [...(await keptStatistics(deps, entities)).keys()];
  const known = async (at: InstantMs): Promise<boolean> => {
    const rows = await deps.link.call<Readonly<Record<string, readonly unknown[]>>>({
      type: 'history/history_during_period',
      start_time: new Date(at).toISOString(),
      end_time: new Date(at + 1).toISOString(),
      entity_ids: entities.map((entity) => deps.names.toHub(entity)),
      include_start_time_state: true,
      significant_changes_only: false,
      minimal_response: true,
      no_attributes: true,
    } as { type: string });
    return Object.values(rows).some((list) => list.length > 0);
  };
  if (entities.length === 0 || !(await known(now))) return { bridgeableMs: null, hourly };
  let [near, far] = [0, FARTHEST_MS];
  while (far - near > Math.max(SECOND_MS, far / 100)) {
    const middle = (near + far) / 2;
    if (await known(now - middle)) near = middle;
    else far = middle;
  }
  return { bridgeableMs: near, hourly };
}
