import type { EntityId, EquipmentId } from '../../model/index.ts';
import type { Reading } from '../../observe/index.ts';
import type { DurationMs, InstantMs, IsoDate } from '../../units/index.ts';
import type { CommandOutcome } from '../types.ts';

/** When a lamp is lit on an ordinary day, by the clock of the zone. */
export type LitHours = { readonly onMinute: number; readonly litMs: DurationMs };

/** Written for the equipment, seen in what was counted, or said at the start. */
export type HoursFrom = 'configuration' | 'counted' | 'said';

/** One thing that is told at most once, and once more where it is freshly read as not done. */
export type Edge = {
  readonly tries: number;
  readonly sentAt: InstantMs | null;
  readonly done: boolean;
  /** It did not come about, or nothing tells whether it did; a person was told. */
  readonly told: boolean;
};

/** Somebody else switched the lamp, or gave it back to its driver: nothing is sent against that for the rest of the light day. */
export type OtherHand = { readonly turn: 'on' | 'off' | 'driver'; readonly at: InstantMs };

export type DayRecord = {
  readonly date: IsoDate;
  /** Off before the hours begin, on at their beginning, off at the end of the share. */
  readonly early: Edge;
  readonly on: Edge;
  readonly off: Edge;
  readonly hand: OtherHand | null;
  /** Nobody is told twice of one day. */
  readonly handTold: boolean;
  /** It came on by itself while out of sight, and was switched off for that once. */
  readonly revived: boolean;
};

export type ProgrammeStatus = 'taking-over' | 'running' | 'handing-back' | 'over';

/** One lamp from the start to the hand-back; whole on disk before anything of it goes out. */
export type Programme = {
  readonly lamp: EquipmentId;
  readonly driver: EntityId;
  readonly startedAt: InstantMs;
  readonly startedBy: string;
  /** The light day it began on; that is day 1. */
  readonly firstDate: IsoDate;
  readonly hours: LitHours & { readonly from: HoursFrom };
  /** K24 as it was at the start. */
  readonly startShare: number;
  readonly rampMs: DurationMs;
  readonly status: ProgrammeStatus;
  /** Telling the driver to rest, or to go on. */
  readonly take: Edge;
  readonly day: DayRecord;
  /** The relay and the driver as last seen; null = not seen since a session had the lamp. */
  readonly relay: 0 | 1 | null;
  readonly driverOn: boolean;
  /** What a person has to put right. */
  readonly trouble: string | null;
  /** Why it ends or ended. */
  readonly why: string;
};

export type AcclimationState = {
  readonly at: InstantMs;
  readonly hubUp: boolean;
  /** Hub and service disagree on the time. */
  readonly skewed: boolean;
  /** What was read before this proves nothing any more. */
  readonly upsetAt: InstantMs;
  readonly readings: Readonly<Record<EntityId, Reading>>;
  /** When each was last heard from the hub. */
  readonly heard: Readonly<Record<EntityId, InstantMs>>;
  /** Out of sight since it was last seen: how it changed meanwhile nobody knows. */
  readonly blind: Readonly<Record<EntityId, boolean>>;
  /** In the hands of a session, claimed, held off by a guard or left out of service, and by whom. */
  readonly held: Readonly<Record<EquipmentId, string>>;
  /** When a lamp was last let go: what a session told last may still be under way. */
  readonly freed: Readonly<Record<EquipmentId, InstantMs>>;
  readonly asked: Readonly<
    Record<EquipmentId, { readonly since: InstantMs; readonly at: InstantMs; readonly times: number }>
  >;
  readonly programmes: Readonly<Record<EquipmentId, Programme>>;
};

export type AcclimationInput =
  | { readonly kind: 'readings'; readonly at: InstantMs; readonly readings: readonly Reading[] }
  | { readonly kind: 'tick'; readonly at: InstantMs }
  /** The wall clock was set by so much since the last step. */
  | { readonly kind: 'clock'; readonly at: InstantMs; readonly byMs: DurationMs }
  | { readonly kind: 'skew'; readonly at: InstantMs; readonly skewed: boolean }
  | { readonly kind: 'hub'; readonly at: InstantMs; readonly up: boolean }
  | { readonly kind: 'held'; readonly at: InstantMs; readonly held: AcclimationState['held'] }
  | {
      readonly kind: 'start';
      readonly at: InstantMs;
      readonly lamp: EquipmentId;
      readonly by: string;
      readonly hours: Programme['hours'];
    }
  | { readonly kind: 'stop'; readonly at: InstantMs; readonly lamp: EquipmentId; readonly by: string }
  | {
      readonly kind: 'driver-ended';
      readonly at: InstantMs;
      readonly lamp: EquipmentId;
      readonly outcome: CommandOutcome;
      readonly detail: string;
    };

export type AcclimationEffect =
  /** On disk before anything that follows it. */
  | { readonly kind: 'keep'; readonly programme: Programme }
  | { readonly kind: 'switch'; readonly lamp: EquipmentId; readonly entity: EntityId; readonly turn: 'on' | 'off' }
  | {
      readonly kind: 'driver';
      readonly lamp: EquipmentId;
      readonly entity: EntityId;
      readonly turn: 'suspend' | 'resume';
    }
  | { readonly kind: 'refresh'; readonly entities: readonly EntityId[] }
  | { readonly kind: 'say'; readonly lamp: EquipmentId; readonly text: string }
  | { readonly kind: 'alarm'; readonly lamp: EquipmentId; readonly text: string }
  | { readonly kind: 'alarm-over'; readonly lamp: EquipmentId };

export type Lamp = {
  readonly id: EquipmentId;
  readonly name: string;
  readonly switchEntity: EntityId;
  readonly driverEntity: EntityId;
  readonly switchDelayMs: DurationMs;
};

export type AcclimationContext = {
  readonly zone: string;
  readonly lights?: { readonly onMinute: number; readonly offMinute: number };
  readonly lamps: Readonly<Record<EquipmentId, Lamp>>;
  readonly startShare: number;
  readonly rampMs: DurationMs;
  readonly freshMs: DurationMs; // K20
  /** After a command, until what is freshly read counts as not done. */
  readonly verifyMs: DurationMs;
  readonly askMs: DurationMs;
  readonly askSlowMs: DurationMs;
  /** Not knowing for so long is told. */
  readonly unknownMs: DurationMs;
  /** Not lit for less than this at the end of a day. */
  readonly leastMs: DurationMs;
};
