import type { EntityId, Origin } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import type { Observation, Reading } from './types.ts';
import { stateValue } from './value.ts';

/** An entity as the hub keeps it, with times already in UTC ms. */
export type EntityState = {
  readonly entity: EntityId;
  readonly state: string;
  readonly attributes: Readonly<Record<string, unknown>>;
  readonly lastChanged: InstantMs;
  readonly lastUpdated: InstantMs;
  readonly lastReported?: InstantMs;
  readonly contextId: string;
  /** The logged-in person behind the change; null = a machine or nobody known. */
  readonly userId: string | null;
};

/** The hub writes instants as seconds with fractions; live and history must land on the same millisecond. */
export function instantOfSeconds(seconds: number): InstantMs {
  return Math.floor(Math.round(seconds * 1e6) / 1000);
}

function unitOf(state: EntityState): { unit?: string } {
  const unit = state.attributes['unit_of_measurement'];
  return typeof unit === 'string' && unit !== '' ? { unit } : {};
}

/**
 * Dated by the last change of the state, never by an update of attributes alone: that one says nothing new of the value,
 * and the hub's history, which is asked again after an absence, does not hold it.
 */
export function toObservation(state: EntityState, origin: Origin, receivedAt: InstantMs): Observation {
  const reported = state.lastReported ?? state.lastUpdated;
  return {
    entity: state.entity,
    value: stateValue(state.state),
    at: state.lastChanged,
    ...(origin === 'live' ? { reportedAt: Math.max(reported, state.lastChanged) } : {}),
    receivedAt,
    origin,
    ...unitOf(state),
  };
}

/** What the hub says of an entity of which it knows nothing. */
const GAPS: readonly string[] = ['unknown', 'unavailable', ''];

export function toReading(state: EntityState): Reading {
  const reported = state.lastReported ?? state.lastUpdated;
  const value = stateValue(state.state);
  return {
    entity: state.entity,
    value,
    changedAt: state.lastChanged,
    reportedAt: Math.max(reported, state.lastChanged),
    ...(value === null && !GAPS.includes(state.state.trim()) ? { word: state.state } : {}),
  };
}
