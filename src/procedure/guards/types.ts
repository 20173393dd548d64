import type { Actor, EntityId, EquipmentId, GuardDef, GuardId, RoleId, SensorKind } from '../../model/index.ts';
import type { Reading } from '../../observe/index.ts';
import type { DurationMs, InstantMs, PowerW, VolumeL } from '../../units/index.ts';
import type { CommandOutcome } from '../types.ts';

export type GuardedEquipment = {
  readonly id: EquipmentId;
  readonly name: string;
  readonly role: RoleId;
  readonly switchEntity?: EntityId;
  readonly powerEntity?: EntityId;
  readonly normalPowerW?: PowerW;
  readonly cycling: boolean;
  readonly switchDelayMs: DurationMs;
  readonly waterMover: boolean;
};

export type GuardSensor = {
  readonly id: string;
  readonly name: string;
  readonly kind: SensorKind;
  readonly entity: EntityId;
  readonly maxAgeMs: DurationMs;
};

/** Facts of the tank that guards look up; every duration already in the time the service runs in. */
export type GuardContext = {
  readonly guards: readonly GuardDef[];
  readonly equipment: Readonly<Record<EquipmentId, GuardedEquipment>>;
  readonly sensors: Readonly<Record<string, GuardSensor>>;
  readonly volumeL: VolumeL;
  readonly settings: GuardSettings;
};

export type GuardSettings = {
  readonly freshMs: DurationMs; // K20
  readonly offMaxW: PowerW; // K18: never counted as off above this
  readonly runFactor: number; // K3: times the median run
  readonly runMaxMs: DurationMs; // K3: longest run of all
  readonly dayFactor: number; // K3: times the median day
  readonly resendMs: DurationMs; // least time between two "off" to one equipment
  readonly resendWindowMs: DurationMs; // no more than `resendMost` of them …
  readonly resendMost: number; // … within this
  readonly unprovedMs: DurationMs; // an "off" that is not proved by then is an alarm
  readonly askMs: DurationMs; // pace of asking a device to report
  readonly answerMs: DurationMs; // a report asked for and not given by then is taken as the worst
  readonly blindMs: DurationMs; // a guard whose sensors say nothing for so long is told
  readonly timeFactor: number;
};

/** What a guard remembers between two looks, by names of its own; plain, so that it can be kept. */
export type GuardMemory = Readonly<Record<string, number | readonly number[]>>;

/** Off until a named person resets it. */
export type Latch = {
  readonly guard: GuardId;
  readonly name: string;
  readonly since: InstantMs;
  readonly reason: string;
  readonly equipment: readonly EquipmentId[];
  /** When "off" was sent to each, the last few; rate-limits what goes out. */
  readonly sent: Readonly<Record<EquipmentId, readonly InstantMs[]>>;
  /** Seen off since the last "off" was sent. */
  readonly provedOff: readonly EquipmentId[];
  readonly told: readonly string[];
  readonly remindAt: InstantMs;
};

export type GuardState = {
  readonly at: InstantMs;
  /** Steps so far: orders what happened within one instant. */
  readonly seq: number;
  readonly hubUp: boolean;
  readonly readings: Readonly<Record<EntityId, Reading>>;
  /** What an open session has in its hands: it looks after these itself. */
  readonly inSession: readonly EquipmentId[];
  readonly latches: Readonly<Record<GuardId, Latch>>;
  readonly memory: Readonly<Record<GuardId, GuardMemory>>;
};

export type GuardInput =
  | { readonly kind: 'readings'; readonly at: InstantMs; readonly readings: readonly Reading[] }
  | { readonly kind: 'tick'; readonly at: InstantMs }
  /** The wall clock was set by so much since the last step. */
  | { readonly kind: 'clock'; readonly at: InstantMs; readonly byMs: DurationMs }
  | { readonly kind: 'hub'; readonly at: InstantMs; readonly up: boolean }
  | { readonly kind: 'session'; readonly at: InstantMs; readonly equipment: readonly EquipmentId[] }
  | {
      readonly kind: 'off-ended';
      readonly at: InstantMs;
      readonly guard: GuardId;
      readonly equipment: EquipmentId;
      readonly outcome: CommandOutcome;
      readonly detail: string;
    }
  | { readonly kind: 'reset'; readonly at: InstantMs; readonly guard: GuardId; readonly by: Actor };

/** There is no effect that switches anything on. Records come before what they record is done. */
export type GuardEffect =
  | {
      readonly kind: 'record';
      readonly change: 'latched' | 'reset';
      readonly guard: GuardId;
      readonly equipment: readonly EquipmentId[];
      readonly text: string;
      readonly by: string;
    }
  | { readonly kind: 'off'; readonly guard: GuardId; readonly equipment: EquipmentId; readonly entity: EntityId }
  | { readonly kind: 'refresh'; readonly entities: readonly EntityId[] }
  | { readonly kind: 'alarm'; readonly code: string; readonly text: string }
  | { readonly kind: 'alarm-over'; readonly code: string };

/** What the journal keeps of guards, oldest first. */
export type GuardRecord = {
  readonly at: InstantMs;
  readonly change: 'latched' | 'reset';
  readonly guard: GuardId;
  readonly equipment: readonly EquipmentId[];
  readonly text: string;
};
