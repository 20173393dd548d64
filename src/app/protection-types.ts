import type { Actor, GuardKind } from '../model/index.ts';
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
  readonly kind: 'guard' | 'left-off' | 'still-water' | 'hub-silent' | 'after-watch';
  readonly id: string;
  readonly since: InstantMs;
  readonly text: string;
  readonly toDo: string;
};

export type ProtectionFace = {
  guards(): readonly GuardView[];
  /** Switches nothing on: the guard is armed again, and a person starts what it held off. */
  resetGuard(guard: string, by: Actor): Promise<GuardView>;
  attention(): readonly AttentionLine[];
};
