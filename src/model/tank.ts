import type { DurationMs, InstantMs, LengthCm, PowerW, VolumeL } from '../units/index.ts';
import type { Measure, RoleId, SensorKind } from './roles.ts';

/** Name of an entity in the hub, e.g. `switch.return_pump`. */
export type EntityId = string;
export type EquipmentId = string;
export type PartId = string;
export type CounterId = string;

/** Who decides when an equipment is on. `entity` is what a session suspends in the hub while it has the equipment. */
export type Driver =
  | { readonly kind: 'always-on' }
  | { readonly kind: 'schedule'; readonly entity?: EntityId }
  | { readonly kind: 'thermostat'; readonly entity?: EntityId }
  | { readonly kind: 'own-controller' };

/** A device of the tank, usually behind one plug. */
export type Equipment = {
  readonly id: EquipmentId;
  readonly name: string;
  readonly role: RoleId;
  readonly driver: Driver;
  /** The plug's switch. Without one, every step on this equipment falls to a person's eyes. */
  readonly switchEntity?: EntityId;
  /** The plug's power reading. Without one, the evidence stops at the relay's own report. */
  readonly powerEntity?: EntityId;
  /** Steady watts when running; absent = unlearned. */
  readonly normalPowerW?: PowerW;
  /** True where "on" draws watts only now and then (heater, top-off, solenoid): zero watts prove nothing. */
  readonly cycling: boolean;
  /** Heaters and skimmers: stands in the sump, so a falling return changes its surroundings. */
  readonly inSump: boolean;
  /** Names the redundancy pair or group it belongs to, e.g. two heaters. */
  readonly pair?: string;
  /** Its lead parts on the low-voltage side, so that it can be taken out with its supply still plugged in. */
  readonly quickDisconnect?: boolean;
  /** A sensor kind whose reading proves an effect is found by the rules; `switchDelayMs` is this plug's slowest report. */
  readonly switchDelayMs: DurationMs;
  /** What its plug does when power comes back, as found; absent = nobody has looked (K31). */
  readonly startUp?: StartUp;
  /** Names of the strip and of the circuit it hangs on, where the keeper told. */
  readonly strip?: string;
  readonly circuit?: string;
  /** Of a lamp: when it is lit on an ordinary day, in minutes of the local day. */
  readonly lit?: { readonly onMinute: number; readonly offMinute: number };
  /** Where its plug is found, in words for a person in a hurry. */
  readonly place?: string;
};

/** Of a plug after a power cut: on, off, or whatever it was before. */
export const START_UPS = ['on', 'off', 'as-before'] as const;
export type StartUp = (typeof START_UPS)[number];

export type Sensor = {
  readonly id: string;
  readonly name: string;
  readonly kind: SensorKind;
  readonly entity: EntityId;
  /** A reading older than this is unknown (K20). */
  readonly maxAgeMs: DurationMs;
};

export type Limit = { readonly measure: Measure; readonly amount: number };

/** Something of an equipment that wears or is used up. `usageFrom` says which counter feeds which measure. */
export type Part = {
  readonly id: PartId;
  readonly name: string;
  /** Row of the rule pack's parts table, e.g. `fluorescent-tubes`. */
  readonly kind: string;
  readonly equipment?: EquipmentId;
  readonly pieces: number;
  /** First one reached wins. */
  readonly limits: readonly Limit[];
  /** A safety part's life is never silently lengthened. */
  readonly safety: boolean;
  readonly usageFrom: Readonly<Partial<Record<Measure, CounterId>>>;
  readonly fittedAt?: InstantMs;
  /** Usage already on it when fitted or when the service was installed, in the measure's own unit. */
  readonly usedBefore: Readonly<Partial<Record<Measure, number>>>;
  readonly leadTimeMs?: DurationMs;
  /** Rotable spares that take turns in this place, each with a life of its own; the first was in at the beginning. */
  readonly spares?: readonly string[];
};

/**
 * A lifetime meter of what the device takes: where its switch could not be seen, what the meter has gone on by tells how
 * long it can have been on. All but the first two in kWh (electric meter) or litres (water meter).
 */
export type Narrowing = {
  readonly entity: EntityId;
  readonly unitsPerReading: number;
  /** The least and the most it takes in an hour of on-time, and the most in an hour of off-time; error of the meter included. */
  readonly leastPerHourOn: number;
  readonly mostPerHourOn: number;
  readonly mostPerHourOff: number;
  /** The most by which the meter's reading can be behind what was really used. */
  readonly coarseness: number;
};

/** How observations of one source become usage. */
export type CounterSource =
  | { readonly kind: 'on-state'; readonly entity: EntityId; readonly narrowedBy?: Narrowing }
  | {
      readonly kind: 'power-threshold';
      readonly entity: EntityId;
      readonly onAboveW: PowerW;
      readonly offBelowW: PowerW;
      readonly minOnMs: DurationMs;
      readonly minOffMs: DurationMs;
      readonly narrowedBy?: Narrowing;
    }
  | {
      readonly kind: 'total';
      readonly entity: EntityId;
      readonly unitsPerReading: number;
      readonly maxPerHour: number;
      /** `confirmed` (default): a fall waits for a second reading. `at-once`: as the hub's own statistics take it. */
      readonly resets?: 'confirmed' | 'at-once';
    }
  | { readonly kind: 'pulses'; readonly entity: EntityId; readonly litresPerPulse: VolumeL }
  | {
      readonly kind: 'runtime-rate';
      readonly entity: EntityId;
      readonly litresPerHour: number;
      readonly narrowedBy?: Narrowing;
    }
  | {
      readonly kind: 'held-power';
      readonly entity: EntityId;
      readonly maxHoldMs: DurationMs;
      readonly maxPowerW: PowerW;
    }
  /** Every change of a contact between two known states (`both`), or only off to on (`rising`). */
  | {
      readonly kind: 'edges';
      readonly entity: EntityId;
      readonly edges: 'both' | 'rising';
      /** The shortest time from one counted change to the next that is thought possible; absent: ten seconds. */
      readonly shortestMs?: DurationMs;
    }
  /** Grams of dissolved solids: a running total of litres times the dissolved solids read beside it. */
  | {
      readonly kind: 'dissolved';
      readonly entity: EntityId;
      /** Litres in one unit of the reading, and the most litres an hour, as of a `total`. */
      readonly unitsPerReading: number;
      readonly maxPerHour: number;
      readonly resets?: 'confirmed' | 'at-once';
      readonly tdsEntity: EntityId;
      /** A reading of the dissolved solids says nothing of water that flows later than this after it. */
      readonly tdsMaxAgeMs: DurationMs;
      /** What the water can hold at most where no reading says. */
      readonly maxTdsMgPerL: number;
    };

/**
 * One fold over one source. `on-state` and `power-threshold` give on-hours and starts, `edges` actuations, `dissolved`
 * grams; the others litres or energy.
 */
export type CounterDef = {
  readonly id: CounterId;
  readonly name: string;
  readonly source: CounterSource;
  readonly measures: readonly Measure[];
};

export type Person = {
  readonly name: string;
  /** The hub's user id, where this person presses buttons in the hub. */
  readonly hubUserId?: string;
};

export type Sump = {
  readonly litresPerCm: number;
  readonly normalLevelCm: LengthCm;
  readonly rimLevelCm: LengthCm;
  /** Litres that come down when the return stops; absent = unlearned. */
  readonly drainDownL?: VolumeL;
};

export type Tank = {
  readonly name: string;
  /** IANA zone; periods (today, week, month) are cut in it. */
  readonly timeZone: string;
  readonly volumeL: VolumeL;
  readonly sump?: Sump;
  /** When the display is lit, in minutes of the local day; absent = nobody told. */
  readonly lights?: { readonly onMinute: number; readonly offMinute: number };
  readonly equipment: readonly Equipment[];
  readonly sensors: readonly Sensor[];
  readonly parts: readonly Part[];
  readonly counters: readonly CounterDef[];
  readonly people: readonly Person[];
  /** Hub notify services beside the persistent notification, e.g. `notify.mobile_app_phone`. */
  readonly notifyServices: readonly string[];
};

/** Who did something. Only `person` may say "unplugged" or release a claim. */
export type Actor =
  | { readonly kind: 'person'; readonly name: string; readonly via: 'hub' | 'api' | 'simulated' }
  | { readonly kind: 'machine'; readonly name: string }
  | { readonly kind: 'unknown'; readonly via: string };
