import type { EntityId } from '../model/index.ts';
import type { HourStatistic, Observation, Reading } from '../observe/index.ts';
import type { CommandOutcome, SwitchCommand } from '../procedure/index.ts';
import type { Reminder } from '../remind/index.ts';
import type { DurationMs, InstantMs } from '../units/index.ts';

/** A press of one of our buttons in the hub, or an answered notification. `userId` null = no logged-in person behind it. */
export type HubPress =
  | {
      readonly kind: 'button';
      readonly button: string;
      readonly at: InstantMs;
      readonly receivedAt: InstantMs;
      readonly userId: string | null;
    }
  | {
      readonly kind: 'notification';
      readonly action: string;
      readonly at: InstantMs;
      readonly receivedAt: InstantMs;
      readonly userId: string | null;
    }
  /** Text typed into a field of ours, or its emptying. */
  | {
      readonly kind: 'typed';
      readonly field: string;
      readonly text: string;
      readonly at: InstantMs;
      readonly receivedAt: InstantMs;
      readonly userId: string | null;
    };

/** Someone or something switched an entity: used to notice foreign hands. */
export type HubChange = {
  readonly entity: EntityId;
  readonly value: number | null;
  readonly at: InstantMs;
  readonly userId: string | null;
  readonly contextId: string;
};

/** Handlers only enqueue; they are called in the order things arrived. */
export type HubHandlers = {
  /** Live observations; only sent while the hub is RUNNING and the link is up. */
  onObservations(batch: readonly Observation[]): void;
  onReadings(readings: readonly Reading[]): void;
  onPress(press: HubPress): void;
  onChange(change: HubChange): void;
  /** `up` comes after RUNNING, a full snapshot and the helper check; `hubRestarted` tells a restart lay in between. */
  onLink(
    link:
      | {
          readonly up: true;
          readonly at: InstantMs;
          readonly hubRestarted: boolean;
          readonly restartedAt: InstantMs | null;
        }
      | { readonly up: false; readonly at: InstantMs; readonly reason: string },
  ): void;
  /** Permanent: token refused. The hub edge stops by itself; nothing is retried. */
  onRefused(reason: string): void;
  /** How far the hub's clock is ahead of ours; measured at each connection and every hour. */
  onSkew?(skewMs: DurationMs): void;
};

export type HistoryRequest = {
  readonly entities: readonly EntityId[];
  readonly from: InstantMs;
  readonly to: InstantMs;
  /** Ends the reading: nothing more is asked, and what was asked last is dropped. */
  readonly signal?: AbortSignal;
};

/** How far back the hub can tell, as observed. */
export type HubReach = {
  /**
   * The longest absence its history bridges: the age of the oldest row it still has of any of the entities. Null where it
   * has none. What is older than that was purged, or never recorded.
   */
  readonly bridgeableMs: DurationMs | null;
  /** Entities with hourly statistics, which are kept without end. */
  readonly hourly: readonly EntityId[];
};

/** One thing shown in the hub as a state. */
export type PublishedState = {
  readonly entity: EntityId;
  readonly state: string;
  readonly attributes: Readonly<Record<string, unknown>>;
};

/** A helper button we keep in the hub; `button` is our own name for it, the hub may give another entity id. */
export type ButtonDef = {
  readonly button: string;
  readonly name: string;
  readonly icon: string;
  /** A field to type into, kept and followed like a button. */
  readonly isField?: boolean;
};

export type HubInfo = { readonly version: string; readonly timeZone: string; readonly clockSkewMs: DurationMs };

export type HubPort = {
  /** Connects and keeps connected until `stop`. Resolves after the first `up`; rejects with a catalogue error when refused. */
  start(handlers: HubHandlers): Promise<HubInfo>;
  stop(): Promise<void>;
  /** Rows strictly inside [from, to], oldest first per entity and merged by time; waits for the recorder. Yields batches. */
  history(request: HistoryRequest): AsyncIterable<readonly Observation[]>;
  /** Hours inside [from, to] of those entities that have hourly statistics, oldest first per entity. Nothing where a hub has none. */
  statistics?(request: HistoryRequest): AsyncIterable<readonly HourStatistic[]>;
  reach?(entities: readonly EntityId[]): Promise<HubReach>;
  /** What the hub's clock reads now, and what it shows of everything that is counted; null where it cannot be asked. */
  present?(): Promise<{ readonly hubNow: InstantMs; readonly observations: readonly Observation[] } | null>;
  /** Forces the devices to report where they can, then gives fresh readings with their true report time. */
  refresh(entities: readonly EntityId[]): Promise<readonly Reading[]>;
  /** The one gate: configured entities only. Never throws; the outcome tells. */
  command(command: SwitchCommand): Promise<{ readonly outcome: CommandOutcome; readonly detail: string }>;
  /** Suspends or resumes a driver (automation, thermostat) that the configuration names. */
  driver(
    entity: EntityId,
    turn: 'suspend' | 'resume',
  ): Promise<{ readonly outcome: CommandOutcome; readonly detail: string }>;
  /**
   * Leaves a sign in the hub's memory that is gone after a restart of it. Called once everything from before has been
   * counted: until then a restart must be told again to whoever asks next.
   */
  leaveMark(): Promise<void>;
  /** Posts states; remembers them and posts again after a hub restart. True when the hub shows all of these now. */
  publish(states: readonly PublishedState[]): Promise<boolean>;
  /** Makes missing helper buttons once and returns our name → entity id. */
  ensureButtons(buttons: readonly ButtonDef[]): Promise<ReadonlyMap<string, EntityId>>;
  /** Takes away what was typed into a field of ours. */
  emptyField?(field: string): Promise<void>;
  /** Persistent notification plus the configured notify services. `existing` tells whether it was already there. */
  notify(
    reminder: Reminder,
    notifyServices: readonly string[],
  ): Promise<{ readonly existing: boolean; readonly missingServices: readonly string[] }>;
  /** A plain message to the hub itself and the named services: alarms and answers. The same key replaces. No buttons. */
  tell(
    message: { readonly key: string; readonly title: string; readonly message: string },
    notifyServices: readonly string[],
  ): Promise<void>;
  clearNotification(key: string, notifyServices: readonly string[]): Promise<void>;
  /** Saves a dashboard under `urlPath`, making it first if needed. */
  installDashboard(urlPath: string, title: string, config: unknown): Promise<void>;
};
