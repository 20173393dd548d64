import type { Actor, EntityId, EquipmentId, RoleId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import type { DurationMs, InstantMs, PowerW } from '../units/index.ts';
import type { Memory } from './memory.ts';

/**
 * Evidence ladder. 0 command sent; 1 device acknowledged; 2 fresh relay report; 3 fresh watts agree; 4 physical effect
 * seen; 5 a person saw it; 6 the plug is in the person's hand.
 */
export type Rung = 0 | 1 | 2 | 3 | 4 | 5 | 6;

export type StepAction =
  | 'check' // pre-conditions: nothing is commanded
  | 'take-over' // suspend the driver in the hub
  | 'switch-off'
  | 'wait' // a rule's waiting time
  | 'settle' // until the level is steady, with an upper bound on its rise
  | 'unplug' // hold point: person unplugs, claim is placed
  | 'hands-on' // hold point: the work itself
  | 'reading' // hold point: a person reads something off and types the value, held against its limits
  | 'observe' // a sensor must be seen to reach a state: a float, litres, dissolved solids, light
  | 'plug-in' // hold point: person plugs in, hands out, claim released
  | 'switch-on'
  | 'hand-back' // driver resumes
  | 'finish'; // everything back or listed

/** What is done, without further asking, if this step is cut short by a crash, hub loss or a hard limit. */
export type SafeState = 'leave-as-is' | 'stay-off' | 'restart-if-agreed';

export type Step = {
  /** Unique in the session, stable across rebuilds: `off:skimmer`, `wait:skimmer`, `unplug:skimmer`. */
  readonly id: string;
  readonly action: StepAction;
  readonly equipment?: EquipmentId;
  /** The rule that put it there, e.g. `K34`, and why in one sentence. */
  readonly rule: string;
  readonly why: string;
  /** What the person reads. */
  readonly text: string;
  readonly needed: Rung;
  readonly timeoutMs: DurationMs;
  readonly safeState: SafeState;
  /** Waits for a person. */
  readonly holdPoint: boolean;
  /** `wait`: how long. `settle`: steady for so long. `hands-on`: ends by itself after so long, where nothing is claimed. */
  readonly waitMs?: DurationMs;
  /** `wait`: counted from the end of that step rather than from its own beginning. */
  readonly waitFrom?: string;
  /** `settle`: `rise` after a return stop, within the learned rise; `steady` at rest; `mark` at rest where it was before the session. */
  readonly settle?: 'rise' | 'steady' | 'mark';
  /** `reading`: what the person types, and between which values the session goes on. */
  readonly reading?: StepReading;
  /** `observe`: what must be seen before the time-out. */
  readonly observe?: StepObservation;
  /** `switch-on`: watts that prove the whole set, e.g. every tube of a bank; without it the baseline and normal watts count. */
  readonly expectW?: {
    readonly low: PowerW;
    readonly high: PowerW;
    /** So many alike make the set, so that what is short can be told in pieces: "one of three". */
    readonly pieces?: number;
  };
  /** `switch-on`: tried even where it was off before the session: new lamps are seen lit, a power cut's victims come back. */
  readonly evenIfOff?: boolean;
  /** How long a person usually takes at a hold point; for rehearsals, never a limit. */
  readonly personMs?: DurationMs;
  /** Cautions shown at this step. */
  readonly cautions: readonly string[];
};

export type ReadingQuantity =
  | 'salinity-ppt'
  | 'temperature-c'
  | 'level-cm'
  | 'volume-l'
  | 'tds-mg-per-l'
  | 'alkalinity-dkh'
  | 'mass-g'
  | 'age-h'
  | 'count';

/** A value a person types. Outside the limits the session is held with words and asks again. */
export type StepReading = {
  readonly quantity: ReadingQuantity;
  readonly low?: number;
  readonly high?: number;
  /** The value of that earlier reading step, within `tolerance`: litres in as litres out. */
  readonly sameAs?: string;
  readonly tolerance?: number;
  /** A fresh reading of this entity may stand in for the typed one; it is then proposed, and the person confirms it. */
  readonly entity?: EntityId;
};

/** What a sensor must show, and how often with the opposite seen between. */
export type StepObservation = {
  readonly entity: EntityId;
  readonly is: 'on' | 'off' | 'at-least' | 'at-most';
  readonly value?: number;
  readonly times?: number;
};

export type SessionPlan = {
  readonly procedure: string;
  readonly title: string;
  readonly steps: readonly Step[];
  /** Out of service during the session, in stop order. */
  readonly outOfService: readonly EquipmentId[];
  /** Equipment a person handles: gets claimed. */
  readonly handled: readonly EquipmentId[];
  /** Cautions shown at the start, local code and licensed practice first. */
  readonly cautions: readonly string[];
  /** Water movers that stay on: one of them must be proved to run all the time. */
  readonly keptMovers?: readonly EquipmentId[];
  /** Shown and agreed with the begin confirmation: these alone may be restarted by the engine, after re-reading, unclaimed and with nobody's hands in. */
  readonly lifeSupport?: readonly EquipmentId[];
  /** K16: set where every water mover stops; from the last one's stop. Ends in the declared safe state. */
  readonly allStop?: { readonly warnMs: DurationMs; readonly alarmMs: DurationMs; readonly hardMs: DurationMs };
  /** K33: a long stop must be over by then. */
  readonly endBy?: InstantMs;
  /** After the restore each of these is watched for so long. */
  readonly watch?: readonly { readonly equipment: EquipmentId; readonly ms: DurationMs }[];
  /** The plan answers a leak: water where it must not be is known and holds nothing; the steps deal with it. */
  readonly leak?: boolean;
  /** Things the plan had to leave to a person or to defaults ("drain-down unlearned"). */
  readonly notes: readonly string[];
};

/** ISA-88 states. `idle`: plan shown, second confirmation awaited. */
export type SessionStatus =
  | 'idle'
  | 'running'
  | 'held'
  | 'restarting'
  | 'complete'
  | 'stopped'
  | 'aborting'
  | 'aborted';

export type StepResult = 'pending' | 'open' | 'passed' | 'passed-unproven' | 'failed' | 'skipped';

export type StepRecord = {
  readonly id: string;
  readonly result: StepResult;
  readonly evidence: Rung | null;
  /** Why this rung: "relay off 2 s ago, 0.4 W in 3 readings". */
  readonly evidenceText: string;
  readonly openedAt: InstantMs | null;
  readonly closedAt: InstantMs | null;
  readonly tries: number;
  readonly confirmedBy?: string;
  /** Of a `reading` step: what was typed. */
  readonly value?: number;
};

/** A person's claim on an equipment: never energised by us until that person, or the named deputy, releases it. */
export type Claim = {
  readonly equipment: EquipmentId;
  readonly person: string;
  readonly deputy?: string;
  readonly since: InstantMs;
  readonly session: string;
};

export type HoldReason =
  | 'person-needed'
  | 'not-proven'
  | 'effect-missing'
  | 'timed-out'
  | 'contradiction'
  | 'unknown-reading'
  | 'hub-lost'
  | 'service-restarted'
  | 'foreign-hand'
  | 'command-refused'
  | 'limit-exceeded';

/** Commands as data; the one gate carries them out. */
export type SwitchCommand = {
  readonly session: string;
  readonly step: string;
  readonly equipment: EquipmentId;
  readonly entity: EntityId;
  readonly turn: 'on' | 'off';
  /** The guard behind it, outside any session: such a command may only say off, and the gate refuses it otherwise. */
  readonly guard?: string;
  /** Of a light programme, outside any session: the gate takes it for lamps alone. */
  readonly programme?: true;
};

/** How a command ended. After a crash or a lost link the outcome is `sent-unconfirmed`: read the plug, never send blindly again. */
export type CommandOutcome = 'confirmed' | 'still-working' | 'refused' | 'invalid' | 'sent-unconfirmed';

/** A confirmation is bound to session, step and a one-use nonce. */
export type Confirmation = {
  readonly session: string;
  readonly step: string;
  readonly nonce: string;
  readonly actor: Actor;
  readonly at: InstantMs;
  /** Of a `reading` step, in the unit its quantity names. */
  readonly value?: number;
};

export type SessionEvent =
  | {
      readonly kind: 'started';
      readonly at: InstantMs;
      readonly actor: Actor;
      readonly session: string;
      readonly plan: SessionPlan;
      readonly nonce: string;
      /** What it runs under to its end: told again under thresholds edited since, its events would make another session. */
      readonly settings?: EngineSettings;
      /** The tank it was started on, for the same reason. */
      readonly tank?: StartedTank;
    }
  | {
      readonly kind: 'confirmed';
      readonly at: InstantMs;
      readonly confirmation: Confirmation /** nonce for whatever appears next */;
      readonly nextNonce: string;
    }
  | {
      readonly kind: 'readings';
      readonly at: InstantMs;
      readonly readings: readonly Reading[];
      readonly nextNonce: string;
    }
  | { readonly kind: 'tick'; readonly at: InstantMs; readonly nextNonce: string }
  | {
      readonly kind: 'command-ended';
      readonly at: InstantMs;
      readonly command: SwitchCommand;
      readonly outcome: CommandOutcome;
      readonly detail: string;
    }
  /** How far the hub's clock is ahead of the service's, as just measured. */
  | { readonly kind: 'clock-skew'; readonly at: InstantMs; readonly skewMs: DurationMs; readonly nextNonce: string }
  /** The service's own clock was put forward (or back) by so much while no such time passed; `at` is after the jump. */
  | { readonly kind: 'clock-jumped'; readonly at: InstantMs; readonly byMs: DurationMs; readonly nextNonce: string }
  | { readonly kind: 'hub-lost'; readonly at: InstantMs }
  | { readonly kind: 'hub-back'; readonly at: InstantMs; readonly nextNonce: string }
  | {
      readonly kind: 'service-restarted';
      readonly at: InstantMs;
      readonly nextNonce: string;
      /** What is configured otherwise now than at the session's start, in words. */
      readonly changed?: readonly string[];
    }
  | { readonly kind: 'resume'; readonly at: InstantMs; readonly confirmation: Confirmation; readonly nextNonce: string }
  | { readonly kind: 'abort'; readonly at: InstantMs; readonly actor: Actor; readonly nextNonce: string };

/** What a prompt wants typed. */
export type Asked = {
  readonly quantity: ReadingQuantity;
  readonly unit: string;
  readonly low?: number;
  readonly high?: number;
  /** What a sensor reads: confirming without a value takes this one. */
  readonly proposed?: number;
};

export type SessionState = {
  readonly id: string;
  readonly plan: SessionPlan;
  /** Those it was started with. */
  readonly settings?: EngineSettings;
  /** The one it was started on. */
  readonly tank?: StartedTank;
  /** What has been configured otherwise since, in words: shown as long as the session is open. */
  readonly changed?: readonly string[];
  readonly status: SessionStatus;
  /** Index of the open step in the plan; -1 before the second confirmation. */
  readonly stepIndex: number;
  readonly records: readonly StepRecord[];
  readonly startedAt: InstantMs;
  readonly startedBy: Actor;
  readonly claims: readonly Claim[];
  /** What a person may answer now: bound to `step` and `nonce`, ignored until `appearedAt` + 2 s. */
  readonly prompt: {
    readonly step: string;
    readonly nonce: string;
    readonly appearedAt: InstantMs;
    readonly text: string;
    /** Present where a value is to be typed. */
    readonly asks?: Asked;
  } | null;
  readonly hold: { readonly reason: HoldReason; readonly text: string; readonly since: InstantMs } | null;
  readonly usedNonces: readonly string[];
  /** Latest reading per entity. */
  readonly readings: Readonly<Record<EntityId, Reading>>;
  /** Watts and level of each equipment before the session, for the restore proof. */
  readonly baseline: Readonly<Record<EntityId, number>>;
  /** Equipment we switched off and have not yet proved back. */
  readonly offNow: readonly EquipmentId[];
  readonly endedAt: InstantMs | null;
  /** One line for the record: what came back, what did not. */
  readonly summary: string;
  /** When an event last changed anything: the clock of a session never runs backward. */
  readonly workedAt: InstantMs;
  /** Engine-internal memory: proof counters, since when a level is steady, … Read by `recalled`. */
  readonly memory: Memory;
};

export type SessionEffect =
  | { readonly kind: 'command'; readonly command: SwitchCommand }
  | {
      readonly kind: 'driver';
      readonly entity: EntityId;
      readonly turn: 'suspend' | 'resume';
      readonly equipment: EquipmentId;
    }
  | { readonly kind: 'refresh'; readonly entities: readonly EntityId[] }
  | { readonly kind: 'alarm'; readonly code: string; readonly text: string }
  | { readonly kind: 'say'; readonly text: string }
  | { readonly kind: 'ended'; readonly result: 'complete' | 'stopped' | 'aborted' };

/** Thresholds the engine needs beside the plan, all from the rule pack with the tank's overrides. */
export type EngineSettings = {
  readonly proofReadings: number; // K18: 3 …
  readonly proofSpanMs: DurationMs; // … over 10 s
  readonly wattsOffMaxW: PowerW; // never above 2 W
  readonly wattsOffShare: number; // 5 % of normal
  readonly wattsOnTolerance: number; // K19: ±15 %
  readonly wattsOnForMs: DurationMs; // K19: 60 s
  readonly freshMs: DurationMs; // K20: 120 s
  readonly confirmDelayMs: DurationMs; // 2 s
  readonly steadyForMs: DurationMs;
  readonly steadyBandCm: number;
  readonly retries: number; // K35: 1 then a person
  readonly retriesOn: number; // K19: 2 then a person
  readonly staggerMs: DurationMs; // K22: between two starts
  readonly riseShare: number; // K9: over the learned rise
  readonly headRoomFactor: number; // K10
  readonly markBandCm: number; // K23
  readonly probeGapC: number; // K5
  readonly flowMs: DurationMs; // K5: flow proved this long before a heater
  readonly hubGapMs: DurationMs; // K21: a longer gap needs a person's word
  readonly claimRemindMs: DurationMs; // K17: a standing claim, and a hold nobody answers, are told again
  /** K16: from when no water mover is proved to run, where the plan has no clock of its own. */
  readonly allStop: { readonly warnMs: DurationMs; readonly alarmMs: DurationMs; readonly hardMs: DurationMs };
  readonly claimWattsW: PowerW; // K30: above this on a claimed plug …
  readonly claimWattsForMs: DurationMs; // … for this long is an alarm
  readonly wrongCordMs: DurationMs; // K30: another load dying this near an unplugging asks "wrong cord?"
  readonly answerMs: DurationMs; // K35: a plan nobody confirms ends
  readonly refreshMs: DurationMs; // pace of asking the devices to report while a proof is awaited
  /** 1 in service; tests on the real hub run the engine's clock faster and all durations scaled with it. */
  readonly timeFactor: number;
};

/** Static facts of the tank the engine looks up while running. */
export type EngineContext = {
  readonly settings: EngineSettings;
  readonly equipment: Readonly<
    Record<
      EquipmentId,
      {
        readonly name: string;
        readonly role: RoleId;
        readonly switchEntity?: EntityId;
        readonly powerEntity?: EntityId;
        readonly normalPowerW?: PowerW;
        readonly cycling: boolean;
        /** Stands in the sump; only what a level or a flow there concerns. */
        readonly inSump?: boolean;
        /** A schedule or a thermostat may rightly switch its plug at any time. */
        readonly driven?: boolean;
        /** Its plug stays on; what it draws is up to a controller of its own. */
        readonly decidesItself?: boolean;
        /** Its lead parts on the low-voltage side. */
        readonly quickDisconnect?: boolean;
        readonly driverEntity?: EntityId;
        /** How long it may be off without worry. */
        readonly maxOffMs?: DurationMs;
        readonly warnOffMs?: DurationMs;
        /** Switched on by other hands while kept off or claimed: also tell it off again. Never done to the last mover. */
        readonly offAgain?: boolean;
        /** Entity whose change proves the effect (sump level for the return) and which way it goes on stop. */
        readonly effect?: { readonly entity: EntityId; readonly onStop: 'rises' | 'falls'; readonly atLeast: number };
      }
    >
  >;
  readonly sumpLevelEntity?: EntityId;
  readonly sumpLitresPerCm?: number;
  readonly drainDownL?: number;
  readonly sumpRimCm?: number;
  /** Tank temperatures that must be fresh and agree before a heater starts. */
  readonly temperatureEntities: readonly EntityId[];
  /** Must all say dry (0) before anything is switched. */
  readonly wetEntities: readonly EntityId[];
  readonly deputies: Readonly<Record<string, string>>;
};

/** The tank without the thresholds, as a session keeps it. */
export type StartedTank = Omit<EngineContext, 'settings'>;
