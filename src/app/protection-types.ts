import type { Actor, EntityId, EquipmentId, GuardKind } from '../model/index.ts';
import type { HoursFrom, ProgrammeStatus } from '../procedure/acclimation/index.ts';
import type { InstantMs } from '../units/index.ts';

/** A guard as every surface shows it. */
export type GuardView = {
  readonly id: string;
  readonly name: string;
  /** Null = no longer in the configuration, and still latched. */
  readonly kind: GuardKind | null;
  /** Names of what it may switch off. */
  readonly off: readonly string[];
  readonly latched: {
    readonly since: InstantMs;
    readonly reason: string;
    readonly holdsOff: readonly string[];
    /** All of it was seen off since. */
    readonly provedOff: boolean;
  } | null;
};

/** Something that needs a person and must not be forgotten, on every surface until it is settled. */
export type AttentionLine = {
  readonly kind:
    | 'guard'
    | 'left-off'
    | 'still-water'
    | 'dark-plugs'
    | 'hub-silent'
    | 'clock-behind'
    | 'after-watch'
    | 'acclimation';
  readonly id: string;
  readonly since: InstantMs;
  readonly text: string;
  readonly toDo: string;
};

/** A lamp over the display, and its light programme where one runs. */
export type AcclimationView = {
  readonly lamp: EquipmentId;
  readonly name: string;
  /** Null = it can be run by the service; else why not. */
  readonly cannot: string | null;
  /** `09:30-18:30`; null = not known, and why. */
  readonly hours: string | null;
  readonly hoursFrom: HoursFrom | null;
  readonly hoursUnknown: string | null;
  /** Whole sentence of where it is. */
  readonly text: string;
  readonly programme: {
    readonly status: ProgrammeStatus;
    readonly startedAt: InstantMs;
    readonly startedBy: string;
    readonly day: number;
    readonly ofDays: number;
    readonly share: number;
    readonly from: InstantMs;
    readonly to: InstantMs;
    readonly driver: EntityId;
    readonly trouble: string | null;
    readonly why: string;
  } | null;
};

export type ProtectionFace = {
  acclimation(): readonly AcclimationView[];
  /** Opt-in, by a person only; `hours` where neither the configuration nor what was counted tells them. */
  startAcclimation(lamp: EquipmentId, by: Actor, hours?: string): Promise<AcclimationView>;
  stopAcclimation(lamp: EquipmentId, by: Actor): Promise<AcclimationView>;
  guards(): readonly GuardView[];
  /** Switches nothing on: the guard is armed again, and a person starts what it held off. */
  resetGuard(guard: string, by: Actor): Promise<GuardView>;
  attention(): readonly AttentionLine[];
};
