import type { EntityId, EquipmentId, PartId, RoleId, SensorKind } from '../model/index.ts';
import type { MinutePower, Observation } from '../observe/index.ts';
import type { InstantMs } from '../units/index.ts';

/**
 * What can be found.
 *
 * - `dead-lamp`, `dead-fan`: a step down in watts by whole shares of the set; `lamp-fading`: fewer lux for the same watts
 * - `pump-fouling`, `skimmer-air`: steady watts drifted, or got ragged; `pump-dry`: fell far; `pump-not-turning`: hardly any
 * - `no-draw`: switched on, and nothing flows; `welded-relay`: switched off, and watts stay
 * - `heater-watts`: less than rated; `heater-duty`: more energy for the same gap to the room; `heater-no-warming`: watts
 *   without warmth
 * - `sticky-float`, `float-growth`, `top-off-weak`, `store-empty`, `siphon`: the top-off's runs and the water line they hold
 * - `resin-breakthrough`, `rejection-decline`, `flow-when-off`: water making
 * - `probe-disagreement`: two thermometers in one water; `siphon-hole`: a stop lifts the sump more than it used to
 */
export const FINDING_KINDS = [
  ...(['dead-lamp', 'dead-fan', 'lamp-fading', 'pump-fouling', 'skimmer-air', 'pump-dry', 'pump-not-turning'] as const),
  ...(['no-draw', 'welded-relay', 'heater-watts', 'heater-duty', 'heater-no-warming', 'probe-disagreement'] as const),
  ...(['sticky-float', 'float-growth', 'top-off-weak', 'store-empty', 'siphon', 'siphon-hole'] as const),
  ...(['resin-breakthrough', 'rejection-decline', 'flow-when-off'] as const),
] as const;
export type FindingKind = (typeof FINDING_KINDS)[number];

/** How sure that it is so; not how bad it is. */
export const SURE = ['suspected', 'likely', 'certain'] as const;
export type Sure = (typeof SURE)[number];

export type Finding = {
  readonly kind: FindingKind;
  readonly equipment?: EquipmentId;
  /** The parts it speaks of, where the tank has them. */
  readonly parts: readonly PartId[];
  /** When it began, as far as was seen. */
  readonly since: InstantMs;
  /** When it was first said, and when it was last said anew or with more certainty. */
  readonly saidAt: InstantMs;
  readonly toldAt: InstantMs;
  readonly sure: Sure;
  /** What was seen, in one sentence with figures. */
  readonly evidence: string;
  readonly value: number;
  readonly normal: number | null;
  readonly unit: string;
  /** 1 = the part is due by this alone; absent where being there is enough. */
  readonly ofLimit?: number;
  /** Of a set: how many are out. */
  readonly pieces?: { readonly out: number; readonly of: number };
};

/** A finding as a detector gives it; the book adds when it was first said. */
export type Seen = Omit<Finding, 'saidAt' | 'toldAt' | 'parts'>;

export type WatchedEquipment = {
  readonly id: EquipmentId;
  readonly name: string;
  readonly role: RoleId;
  readonly power: EntityId | null;
  readonly switch: EntityId | null;
  readonly normalW: number | null;
  /** Lamps or fans in the set; null = not known. */
  readonly pieces: number | null;
  /** Its parts by kind. */
  readonly parts: Readonly<Record<string, PartId>>;
};

/** What is watched, taken from the tank's configuration. */
export type ConditionSetup = {
  readonly volumeL: number;
  readonly sump: { readonly litresPerCm: number; readonly drainDownL: number | null } | null;
  readonly equipment: readonly WatchedEquipment[];
  readonly sensors: Readonly<Partial<Record<SensorKind, EntityId>>>;
  /** Parts that belong to no equipment, by kind. */
  readonly parts: Readonly<Record<string, PartId>>;
};

/** Something a person did that makes what was learned before out of date. */
export type ServiceMark = {
  readonly at: InstantMs;
  readonly what: 'serviced' | 'new-meter';
  /** Absent with `part`: a part of no equipment. */
  readonly equipment?: EquipmentId;
  /** Kind of the part. */
  readonly part?: string;
};

/** All that became known up to `until` and was not given before; minutes and observations in order of time per entity. */
export type ConditionBatch = {
  readonly minutes: readonly { readonly entity: EntityId; readonly minutes: readonly MinutePower[] }[];
  readonly observations: readonly Pick<Observation, 'entity' | 'at' | 'value'>[];
  readonly services?: readonly ServiceMark[];
  readonly until: InstantMs;
};
