import type { EntityId, Origin } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';

/**
 * One thing seen of one entity. `value` is a number (on = 1, off = 0, meters as they read) or null for a gap: unknown,
 * unavailable, dead link, hub not running, cached republish. Unknown is never off and never fine.
 */
export type Observation = {
  readonly entity: EntityId;
  readonly value: number | null;
  /** When it became so, by the hub's clock. Orders and identifies the observation together with `entity`. */
  readonly at: InstantMs;
  /** When the hub last heard the device; live only. */
  readonly reportedAt?: InstantMs;
  readonly receivedAt: InstantMs;
  readonly origin: Origin;
  /** Unit text as the hub gives it, for meters. */
  readonly unit?: string;
};

/** The latest known of an entity, with what is needed to judge its freshness. */
export type Reading = {
  readonly entity: EntityId;
  readonly value: number | null;
  /** When the value last changed. */
  readonly changedAt: InstantMs;
  /** When the device was last heard; ≥ changedAt. */
  readonly reportedAt: InstantMs;
  /** The hub's own word where it is no number and yet no gap: the mode of a thermostat. */
  readonly word?: string;
};

/**
 * One hour of an entity as the hub's long-term statistics keep it, which outlive its history. Null = not kept. A total has
 * `state` (its reading at the end of the hour), a measured value `min`, `mean` and `max`.
 */
export type HourStatistic = {
  readonly entity: EntityId;
  readonly from: InstantMs;
  readonly to: InstantMs;
  readonly state: number | null;
  /** Running sum of the hub's own, with its own idea of a reset; `state` is what the meter said. */
  readonly sum: number | null;
  readonly min: number | null;
  readonly mean: number | null;
  readonly max: number | null;
  /** As the hub shows the entity; micro signs made one. */
  readonly unit?: string;
};
