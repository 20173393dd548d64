import { problem } from '../../errors/index.ts';
import type { EntityId } from '../../model/index.ts';
import { type EntityMap, instantOfSeconds, mergeByTime, type Observation, stateValue } from '../../observe/index.ts';
import type { HistoryRequest, System } from '../../ports/index.ts';
import { DAY_MS, type DurationMs, type InstantMs, MINUTE_MS, SECOND_MS } from '../../units/index.ts';
import { asFailure, type CallFailure } from './deadline.ts';
import type { Link } from './link.ts';
import type { Names, PastName } from './names.ts';
import type { HubSetup } from './options.ts';
import { nextSliceMs, SHORTEST_MS, SLOW_MS, TRIES } from './pace.ts';
import type { Pauses } from './pauses.ts';

export type HistoryDeps = {
  readonly link: Link;
  readonly setup: HubSetup;
  readonly system: System;
  readonly pauses: Pauses;
  readonly states: () => EntityMap;
  readonly hubNow: () => InstantMs;
  readonly names: Names;
};

/** Share done, 0 to 1: a first read of a long absence takes a while. */
export type OnProgress = (share: number) => void;

type Row = {
  /** Null where the entity was removed. */
  readonly s: string | null;
  readonly a?: Readonly<Record<string, unknown>>;
  readonly lu: number;
  readonly lc?: number;
};
type Rows = Readonly<Record<EntityId, readonly Row[]>>;

/** The hub leaves out a row that lies exactly on a bound, so every query begins a little earlier. */
const OVERLAP_MS = 5 * SECOND_MS;
/** Rows younger than this may not have been written yet. */
const UNSURE_MS = 2 * MINUTE_MS;
const SWITCHES_PER_QUERY = 8;
/** A row that says an entity was removed, and the first under its new name, lie this close. */
const RENAME_MS = 5 * SECOND_MS;

/**
 * The hub's history in slices of time, one query at a time, oldest first. Slices shrink and pauses grow where the hub is
 * slow: the same recorder also serves the home.
 */
export async function* readHistory(
  deps: HistoryDeps,
  request: HistoryRequest,
  onProgress: OnProgress = () => undefined,
): AsyncIterable<readonly Observation[]> {
  const { from, to } = request;
  await catchUp(deps, request);
  const reader = new Reader(deps, request);
  let sliceMs = reader.firstSliceMs;
  for (let start = from; start < to && !request.signal?.aborted; ) {
    const end = Math.min(start + sliceMs, to);
    const taken = await reader.slice(start, end);
    if (request.signal?.aborted) return;
    if (taken === 'too slow') {
      sliceMs = Math.max(SHORTEST_MS, (end - start) / 4);
      continue;
    }
    // The newest rows may come late, and must not follow later ones of another entity.
    const late = end === to ? await reader.awaitRecorder() : [];
    const batch = late.length === 0 ? taken.batch : mergeByTime([taken.batch, late]);
    if (batch.length > 0) yield batch;
    start = end;
    onProgress((start - from) / (to - from));
    sliceMs = nextSliceMs(sliceMs, taken.tookMs, taken.rowCount);
    if (taken.tookMs > SLOW_MS && start < to) await deps.pauses.wait(taken.tookMs, 'hub: give the recorder air');
  }
}

/** Whatever the hub told before it answers this has then been taken in, so the newest live state really is the newest. */
async function catchUp({ link }: HistoryDeps, { from, to }: HistoryRequest): Promise<void> {
  try {
    await link.call({ type: 'ping' });
  } catch (error) {
    throw historyProblem(asFailure(error), from, to);
  }
}

/**
 * A moment just before, in odd microseconds. A row exactly at a query's start is neither within it nor the state before
 * it: the hub would give an older state instead. Rows fall on whole milliseconds now and then, hardly ever on this.
 */
function offTheGrid(at: InstantMs): string {
  return new Date(at - 1).toISOString().replace('Z', '357Z');
}

export function historyProblem(failure: CallFailure, start: InstantMs, end: InstantMs): Error {
  const text = (at: InstantMs): string => new Date(at).toISOString();
  return problem('SW-HUB-013', { from: text(start), to: text(end), detail: failure.message });
}

class Reader {
  readonly #deps: HistoryDeps;
  readonly #from: InstantMs;
  readonly #to: InstantMs;
  readonly #groups: readonly Group[];
  /** Newest row given out, per entity: later slices overlap. */
  readonly #newest = new Map<EntityId, InstantMs>();
  /** When the hub's present state of each entity began, as it was when the reading began. */
  readonly #target: ReadonlyMap<EntityId, InstantMs>;
  #tries = 0;

  constructor(deps: HistoryDeps, request: HistoryRequest) {
    this.#deps = deps;
    this.#from = request.from;
    this.#to = request.to;
    const states = deps.states();
    this.#groups = inGroups(request.entities, states);
    const live = request.entities.map((entity) => [entity, states.get(entity)?.lastChanged ?? 0] as const);
    this.#target = new Map(live.filter(([, at]) => at > request.from));
  }

  get firstSliceMs(): DurationMs {
    return this.#groups.some((group) => group.meters) ? DAY_MS : 7 * DAY_MS;
  }

  async slice(
    start: InstantMs,
    end: InstantMs,
  ): Promise<'too slow' | { batch: readonly Observation[]; tookMs: DurationMs; rowCount: number }> {
    const { linkClock } = this.#deps.setup;
    const began = linkClock.monotonicMs();
    const found: Observation[][] = [];
    try {
      for (const group of this.#groups) found.push(await this.#query(group, start, end));
    } catch (error) {
      return this.#onFailure(asFailure(error), start, end);
    }
    this.#tries = 0;
    const batch = mergeByTime(found);
    this.#remember(batch);
    return { batch, tookMs: linkClock.monotonicMs() - began, rowCount: batch.length };
  }

  /** Asks the last minutes again until the newest state that was live is there, or the time for that is up. */
  async awaitRecorder(): Promise<readonly Observation[]> {
    const { system, setup, pauses, hubNow } = this.#deps;
    if (this.#to < hubNow() - UNSURE_MS) return [];
    const began = setup.linkClock.monotonicMs();
    const late: Observation[] = [];
    for (let waitMs = SECOND_MS / 4; ; waitMs = Math.min(waitMs * 2, 3 * SECOND_MS)) {
      const missing = this.#groups.filter((group) => group.entities.some((entity) => this.#isBehind(entity)));
      if (missing.length === 0) break;
      if (setup.linkClock.monotonicMs() - began > setup.recorderMs) {
        const names = missing.flatMap((group) => group.entities.filter((entity) => this.#isBehind(entity)));
        system.log.warn(`hub: the recorder has not written the newest state of ${names.join(', ')}`);
        break;
      }
      await pauses.wait(waitMs, 'hub: wait for the recorder');
      for (const group of missing) late.push(...(await this.#tail(group)));
    }
    return mergeByTime([late]);
  }

  /** A later row of the same entity proves that the recorder has got past the present state too. */
  #isBehind(entity: EntityId): boolean {
    const target = this.#target.get(entity);
    const newest = this.#newest.get(entity);
    // No row at all: the recorder leaves this entity out, and waiting would not help.
    return target !== undefined && newest !== undefined && newest < target;
  }

  async #tail(group: Group): Promise<readonly Observation[]> {
    const start = Math.min(...group.entities.map((entity) => this.#newest.get(entity) ?? this.#to));
    try {
      // To the present, so that rows after the wanted end show how far the recorder is. In full: the short form leaves out
      // a state that is the same again, as after a start of the hub, and it would be awaited in vain.
      const rows = await this.#query(group, Math.max(start, this.#from), this.#deps.hubNow() + OVERLAP_MS, false);
      this.#remember(rows);
      return rows.filter((row) => row.at <= this.#to);
    } catch (error) {
      throw historyProblem(asFailure(error), start, this.#to);
    }
  }

  async #query(group: Group, start: InstantMs, end: InstantMs, minimal = !group.meters): Promise<Observation[]> {
    const first = start === this.#from;
    const names = new Map(group.entities.map((entity) => [entity, this.#namesIn(entity, start)]));
    const rows = await this.#deps.link.call<Rows>({
      type: 'history/history_during_period',
      start_time: offTheGrid(start - OVERLAP_MS),
      end_time: new Date(end + SECOND_MS).toISOString(),
      entity_ids: [...new Set([...names.values()].flat().map((name) => name.entity))],
      include_start_time_state: first,
      significant_changes_only: false,
      minimal_response: minimal,
      no_attributes: !group.meters,
    } as { type: string });
    const receivedAt = this.#deps.system.clock.now();
    return group.entities.flatMap((entity) =>
      this.#take(entity, joinNames(names.get(entity) ?? [], rows), end, receivedAt),
    );
  }

  /** Where rows of that time may lie, the oldest name first. */
  #namesIn(entity: EntityId, start: InstantMs): readonly PastName[] {
    return this.#deps.names
      .pastNames(entity)
      .filter(({ until }) => until === null || until >= start)
      .reverse();
  }

  /** Rows not yet given out, up to `end`. Whatever held at `from` is given as the state at `from`, of unknown age. */
  #take(entity: EntityId, rows: readonly Row[], end: InstantMs, receivedAt: InstantMs): Observation[] {
    const all = rows.map((row) => toRow(entity, row, receivedAt));
    const known = this.#newest.get(entity) ?? this.#from - 1;
    const atStart = all.filter((row) => row.at <= this.#from).at(-1);
    const fresh = all.filter((row) => row.at > Math.max(known, this.#from) && row.at <= end);
    if (atStart === undefined || known >= this.#from) return fresh;
    return [{ ...atStart, at: this.#from }, ...fresh];
  }

  #remember(rows: readonly Observation[]): void {
    for (const { entity, at } of rows) this.#newest.set(entity, Math.max(at, this.#newest.get(entity) ?? 0));
  }

  #onFailure(failure: CallFailure, start: InstantMs, end: InstantMs): 'too slow' {
    this.#tries += 1;
    const last = this.#tries >= TRIES || (end - start <= SHORTEST_MS && this.#tries > 1);
    if (failure.kind !== 'deadline' || last) throw historyProblem(failure, start, end);
    return 'too slow';
  }
}

/**
 * Rows of one entity under all its names. After a rename the hub may leave the old rows where they are, with one that says
 * the old name is gone; that is no gap where the new name's first row follows at once.
 */
function joinNames(names: readonly PastName[], rows: Rows): readonly Row[] {
  const lists = names.map(({ entity, until }) =>
    (rows[entity] ?? []).filter((row) => until === null || row.lu * 1000 <= until + RENAME_MS),
  );
  const [only] = lists;
  if (lists.length === 1 && only !== undefined) return only;
  const all = lists.flat().sort((a, b) => a.lu - b.lu);
  return all.filter((row, index) => {
    const next = all[index + 1];
    return row.s !== null || next === undefined || next.s === null || (next.lu - row.lu) * 1000 > RENAME_MS;
  });
}

function toRow(entity: EntityId, row: Row, receivedAt: InstantMs): Observation {
  const unit = row.a?.['unit_of_measurement'];
  return {
    entity,
    value: row.s === null ? null : stateValue(row.s),
    at: instantOfSeconds(row.lc ?? row.lu),
    receivedAt,
    origin: 'history',
    ...(typeof unit === 'string' && unit !== '' ? { unit } : {}),
  };
}

/** `meters`: numbers with a unit, asked for in full since the short form drops the unit. */
type Group = { readonly meters: boolean; readonly entities: readonly EntityId[] };

const SWITCHING = new Set(['switch', 'input_boolean', 'binary_sensor', 'light', 'automation', 'fan', 'input_button']);

function inGroups(entities: readonly EntityId[], states: EntityMap): readonly Group[] {
  const isMeter = (entity: EntityId): boolean =>
    states.get(entity)?.attributes['unit_of_measurement'] !== undefined ||
    !SWITCHING.has(entity.slice(0, entity.indexOf('.')));
  const switches = entities.filter((entity) => !isMeter(entity));
  const groups: Group[] = entities.filter(isMeter).map((entity) => ({ meters: true, entities: [entity] }));
  for (let first = 0; first < switches.length; first += SWITCHES_PER_QUERY) {
    groups.push({ meters: false, entities: switches.slice(first, first + SWITCHES_PER_QUERY) });
  }
  return groups;
}
