import type { EntityId } from '../../model/index.ts';
import { type EntityState, instantOfSeconds, type Reading, toReading } from '../../observe/index.ts';
import type { Clock } from '../../ports/index.ts';
import type { DurationMs, InstantMs } from '../../units/index.ts';
import { asFailure } from './deadline.ts';
import type { Rest } from './rest.ts';

/**
 * `/api/states` and `get_states` keep the first text they made of a state, report time included, until the state
 * changes: an unchanged 0.0 W looks older and older there although its plug reports every minute. A template reads the
 * live report time, and of many entities at once.
 */
const TEMPLATE = `{% set out = namespace(rows=[]) %}{% for id in ids %}{% set s = states[id] %}{% if s %}
{%- set out.rows = out.rows + [[id, s.state, as_timestamp(s.last_changed), as_timestamp(s.last_reported)]] %}{% endif %}
{%- endfor %}{{ {'now': as_timestamp(utcnow()), 'rows': out.rows} | to_json }}`;

type Rendered = {
  readonly now: number;
  readonly rows: readonly (readonly [id: string, state: string, changed: number, reported: number])[];
};

type LongState = {
  readonly state: string;
  readonly last_changed: string;
  readonly last_updated: string;
  readonly last_reported?: string;
};

export type Look = {
  /** What the hub holds now of these entities, with the time each device was last heard. Missing ones are left out. */
  readings(entities: readonly EntityId[]): Promise<readonly Reading[]>;
  /** How far the hub's clock is ahead of ours; null = could not be told. */
  skew(): Promise<DurationMs | null>;
};

/** `clockEntity`: a state we may post only to see when the hub writes it, where it renders no templates. */
export function createLook(rest: Rest, clock: Clock, clockEntity: EntityId): Look {
  // A hub without templates (or a user who may not render one) is asked state by state.
  let canRender = true;

  const render = async (ids: readonly EntityId[]): Promise<Rendered | null> => {
    if (!canRender) return null;
    try {
      return await rest.post<Rendered>('/api/template', { template: TEMPLATE, variables: { ids } });
    } catch (error) {
      const failure = asFailure(error);
      if (failure.kind !== 'refused') throw failure;
      canRender = false;
      return null;
    }
  };

  return {
    async readings(entities) {
      if (entities.length === 0) return [];
      const rendered = await render(entities);
      if (rendered !== null)
        return rendered.rows.map(([id, state, changed, reported]) =>
          toReading({
            ...plainState(id, state),
            lastChanged: instantOfSeconds(changed),
            lastUpdated: instantOfSeconds(changed),
            lastReported: instantOfSeconds(reported),
          }),
        );
      const found = await Promise.all(entities.map((entity) => readState(rest, entity)));
      return found.filter((reading) => reading !== null);
    },
    async skew() {
      let best: { readonly skewMs: DurationMs; readonly tripMs: DurationMs } | null = null;
      // The shortest of three round trips tells most closely.
      for (let tries = 0; tries < 3; tries += 1) {
        const before = clock.now();
        const rendered = await render([]);
        const hubNow = rendered === null ? await postClock(rest, clockEntity, before) : rendered.now * 1000;
        if (hubNow === null) return null;
        const tripMs = clock.now() - before;
        if (best === null || tripMs < best.tripMs) best = { skewMs: hubNow - before - tripMs / 2, tripMs };
      }
      return best?.skewMs ?? null;
    },
  };
}

async function postClock(rest: Rest, entity: EntityId, now: InstantMs): Promise<InstantMs | null> {
  try {
    const { last_updated: at } = await rest.post<LongState>(`/api/states/${entity}`, {
      state: String(now),
      attributes: {},
    });
    return Date.parse(at);
  } catch (error) {
    if (asFailure(error).kind !== 'refused') throw error;
    return null;
  }
}

async function readState(rest: Rest, entity: EntityId): Promise<Reading | null> {
  try {
    const long = await rest.get<LongState>(`/api/states/${entity}`);
    return toReading({
      ...plainState(entity, long.state),
      lastChanged: Date.parse(long.last_changed),
      lastUpdated: Date.parse(long.last_updated),
      lastReported: Date.parse(long.last_reported ?? long.last_updated),
    });
  } catch (error) {
    const failure = asFailure(error);
    if (failure.code === '404') return null;
    throw failure;
  }
}

function plainState(entity: EntityId, state: string): Omit<EntityState, 'lastChanged' | 'lastUpdated'> {
  return { entity, state, attributes: {}, contextId: '', userId: null };
}
