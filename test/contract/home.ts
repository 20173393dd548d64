import type { EntityId } from '../../src/model/index.ts';
import type { System } from '../../src/ports/index.ts';

/** A plug of the home, as the hub shows it. */
export type HomePlug = { readonly switch: EntityId; readonly power: EntityId };

/**
 * `echo-off-keeps-watts`: says "off" while its contact is welded. `answers-with-error`: the hub refuses the call and the
 * plug stays as it is. `none` mends it.
 */
export type PlugTrouble = 'none' | 'echo-off-keeps-watts' | 'answers-with-error';

/**
 * What the suite needs of a home. Kept to what the hub's own protocol cannot do for both: everything else (pressing as a
 * person, posting a state, reading the hub's history) goes over the wire and is the same for the simulated and the real one.
 */
export type Home = {
  readonly url: string;
  /** Of an administrator kept for the service. */
  readonly token: string;
  readonly userId: string;
  /** Clock and timers the home lives by. */
  readonly system: System;
  readonly version: string;
  readonly timeZone: string;
  /** Both on when the suite begins; the plugs switch for real. */
  readonly plug: HomePlug;
  readonly otherPlug: HomePlug;
  /** Something the hub can turn on and off and that stands for a schedule. */
  readonly driver: EntityId;
  /** A notify service that exists. */
  readonly notifyService: string;
  /** Presses a helper button without any logged-in person behind it, as an automation does. */
  pressAsMachine(button: EntityId): Promise<void>;
  setPlugFault(plug: HomePlug, fault: PlugTrouble): Promise<void>;
  /** Messages that reached the notify service; null where the hub does not tell. */
  sentMessages(): readonly Readonly<Record<string, unknown>>[] | null;
  /** Ends the hub without notice. */
  kill(): Promise<void>;
  /** Boots it again; resolves when it is RUNNING. */
  start(): Promise<void>;
  close(): Promise<void>;
};
