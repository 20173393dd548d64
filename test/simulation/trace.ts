// What one simulated session leaves behind for an independent judge: the tank's truth, what went out, what was said, what
// the service could know and what persons did. Plain data; nothing here knows how a session is built or carried out.

/** True time in UTC ms, monotone, not the service's clock. */
export type TraceInstant = number;

/**
 * `mover` moves water in the display (return or circulation), `heater` warms tank water, `adder` puts water or chemicals
 * in, `other` is everything else.
 */
export type EquipmentKind = 'mover' | 'heater' | 'adder' | 'other';

export type EquipmentFacts = {
  readonly name: string;
  readonly kind: EquipmentKind;
  /** Starting or stopping it moves the sump level: a return pump. */
  readonly movesLevel: boolean;
  /** An adder that answers to the level, so that it comes back after everything else. */
  readonly toppingOff?: boolean;
  /** Idles at 0 W by itself: a thermostat load, a top-off pump. */
  readonly cycling: boolean;
  readonly switchEntity?: string;
  readonly powerEntity?: string;
  readonly normalPowerW?: number;
  /** Has a driver in the hub: schedule, thermostat, automation. */
  readonly driven: boolean;
  /** Entity whose change proves that it stopped, which way that goes and by how much at least. */
  readonly effect?: { readonly entity: string; readonly onStop: 'rises' | 'falls'; readonly atLeast: number };
};

/** What is to be held against the trace. The recorder fills them from the tank's settings; `DEFAULT_LIMITS` are the usual ones. */
export type TraceLimits = {
  /** Readings older than this are no evidence. */
  readonly freshMs: number;
  /** Proved off: that many readings over at least so long, watts below min(2, max(1, 5 % of normal)). */
  readonly offReadings: number;
  readonly offSpanMs: number;
  readonly wattsOffMaxW: number;
  readonly wattsOffShare: number;
  /** Proved on: watts within this share of normal. Pulsing loads are given with `normalPowerW` left out. */
  readonly wattsOnTolerance: number;
  /** A heater needs flow proved for so long, and probes that agree within so much. */
  readonly flowForMs: number;
  readonly probeGapC: number;
  /** Believable water: outside, a thermometer is broken. */
  readonly temperatureLowC: number;
  readonly temperatureHighC: number;
  /** Free sump volume over the learned drain-down; rise over the learned one that ends the stop. */
  readonly headRoomFactor: number;
  readonly riseShare: number;
  /** From the readings that show an excess of rise to the command or the alarm. */
  readonly riseAnswerMs: number;
  /** From the report that a claimed equipment is on to the alarm. */
  readonly alarmWithinMs: number;
  readonly claimWattsW: number;
  readonly claimWattsForMs: number;
  /** A confirmation sooner after its prompt is no word of a person. */
  readonly confirmDelayMs: number;
  /** A hub loss up to this long needs re-reading but no person. */
  readonly shortGapMs: number;
  /** No mover proved for so long, by fresh readings, without a word. */
  readonly moverAlarmMs: number;
};

export const DEFAULT_LIMITS: TraceLimits = {
  freshMs: 120_000,
  offReadings: 3,
  offSpanMs: 10_000,
  wattsOffMaxW: 2,
  wattsOffShare: 0.05,
  wattsOnTolerance: 0.15,
  flowForMs: 120_000,
  probeGapC: 0.7,
  temperatureLowC: 15,
  temperatureHighC: 35,
  headRoomFactor: 1.2,
  riseShare: 0.2,
  riseAnswerMs: 60_000,
  alarmWithinMs: 2_000,
  claimWattsW: 2,
  claimWattsForMs: 2_000,
  confirmDelayMs: 2_000,
  shortGapMs: 60_000,
  moverAlarmMs: 180_000,
};

export type TraceHeader = {
  /** How to make this run again. */
  readonly seed: string;
  readonly procedure: string;
  /** Everything of the tank, also what the session leaves alone. */
  readonly equipment: Readonly<Record<string, EquipmentFacts>>;
  /** What the session takes out of service; each must be back or listed at its end. */
  readonly outOfService: readonly string[];
  readonly sumpLevelEntity?: string;
  readonly sumpLitresPerCm?: number;
  readonly sumpRimCm?: number;
  readonly drainDownL?: number;
  readonly temperatureEntities: readonly string[];
  /** Present where the plan stops every mover: warn, alarm and hard limit from the last one's stop. */
  readonly allStop?: { readonly warnMs: number; readonly alarmMs: number; readonly hardMs: number };
  /** person → deputy who may answer for that person. */
  readonly deputies: Readonly<Record<string, string>>;
  readonly limits: TraceLimits;
};

/** Truth of one equipment; a field left out has not changed. The first entries of a trace give every field of every equipment. */
export type EquipmentTruth = {
  readonly kind: 'truth';
  readonly at: TraceInstant;
  readonly equipment: string;
  readonly pluggedIn?: boolean;
  readonly relayOn?: boolean;
  readonly watts?: number;
  /** It does its work: moves water, heats, adds. A scaled pump may draw watts and not run. */
  readonly running?: boolean;
  readonly driverSuspended?: boolean;
  /** Heaters: under water. */
  readonly immersed?: boolean;
  /** Who changed it last, where something did: us, another automation or person at the switch, or the plug by itself. */
  readonly by?: 'us' | 'foreign' | 'itself' | 'person';
};

export type WaterTruth = {
  readonly kind: 'water';
  readonly at: TraceInstant;
  readonly sumpCm?: number;
  readonly displayCm?: number;
  readonly temperatureC?: number;
  /** Water moves past the heaters. */
  readonly flow?: boolean;
};

/** Where a person's hands are. `holds`: plugs in that person's hand (rung 6), named by equipment. */
export type HandsTruth = {
  readonly kind: 'hands';
  readonly at: TraceInstant;
  readonly person: string;
  readonly inWater: boolean;
  readonly holds: readonly string[];
};

/** A switching that left us. `all-stop`: the restart of agreed life support at a hard limit or after a loss. */
export type CommandSent = {
  readonly kind: 'command';
  readonly at: TraceInstant;
  readonly equipment: string;
  readonly turn: 'on' | 'off';
  readonly origin: 'session' | 'guard' | 'all-stop';
  readonly step?: string;
};

export type CommandAnswered = {
  readonly kind: 'command-ended';
  readonly at: TraceInstant;
  readonly equipment: string;
  readonly turn: 'on' | 'off';
  readonly outcome: 'confirmed' | 'still-working' | 'refused' | 'invalid' | 'sent-unconfirmed';
};

export type DriverSent = {
  readonly kind: 'driver';
  readonly at: TraceInstant;
  readonly equipment: string;
  readonly turn: 'suspend' | 'resume';
};

/**
 * Words that reached a person. `means` is what the recorder takes them for, by the kind of step that speaks; the words
 * "may be unplugged" without "not proven" are taken for `may-be-unplugged` whatever `means` says.
 *  - may-be-unplugged: proved off, the plug may be pulled
 *  - unplug-now: reported off, not proven; or a plain request to pull it
 *  - hands-in: work in the water or on the equipment may begin
 *  - plug-in: put it back, hands out
 *  - look: a person is asked to look or to read something off
 */
export type Said = {
  readonly kind: 'said';
  readonly at: TraceInstant;
  readonly what: 'prompt' | 'alarm' | 'say' | 'summary';
  readonly text: string;
  readonly code?: string;
  readonly equipment?: string;
  readonly means?: 'may-be-unplugged' | 'unplug-now' | 'hands-in' | 'plug-in' | 'look' | 'resume' | 'begin' | 'other';
  readonly step?: string;
  /** What an answer must carry. */
  readonly nonce?: string;
};

/** A report that the service got. `value` null: unknown, unavailable, no number. Relays: 1 on, 0 off. */
export type ReadingGot = {
  readonly kind: 'reading';
  readonly at: TraceInstant;
  readonly entity: string;
  readonly about: 'relay' | 'watts' | 'level' | 'temperature' | 'wet' | 'other';
  readonly equipment?: string;
  readonly value: number | null;
  /** When the device truly said it, in true time. */
  readonly reportedAt: TraceInstant;
  /** Truth: no more than our own command handed back. */
  readonly echo?: boolean;
};

/** A step of the session came to an end, or began. `rung`: the evidence the service says it had. */
export type StepMark = {
  readonly kind: 'step';
  readonly at: TraceInstant;
  readonly step: string;
  readonly action: string;
  readonly equipment?: string;
  readonly result: 'opened' | 'passed' | 'passed-unproven' | 'failed' | 'skipped';
  readonly rung?: number;
};

/**
 * What a person did towards the service. `accepted`: the service went on by it.
 *  - begins: second confirmation of the plan, with the life support agreed
 *  - confirms: any other answer to a prompt
 *  - claims / releases: says "unplugged, mine" / "plugged in, hands out"; recorded beside the `confirms`
 *  - sees: says what was seen of an equipment: off, on, or room for the water
 *  - resumes / aborts
 */
export type PersonAct = {
  readonly kind: 'person';
  readonly at: TraceInstant;
  readonly person: string;
  /** Known by page login or hub user. */
  readonly identified: boolean;
  readonly act: 'begins' | 'confirms' | 'claims' | 'releases' | 'sees' | 'resumes' | 'aborts';
  readonly accepted: boolean;
  readonly equipment?: string;
  readonly step?: string;
  readonly nonce?: string;
  readonly agreedLifeSupport?: readonly string[];
  readonly seen?: 'off' | 'on' | 'room';
};

export type Upset =
  | { readonly kind: 'link'; readonly at: TraceInstant; readonly state: 'lost' | 'back' }
  | { readonly kind: 'service'; readonly at: TraceInstant; readonly state: 'down' | 'up' }
  | { readonly kind: 'clock-jump'; readonly at: TraceInstant; readonly byMs: number };

/** What every surface lists as out of service from now on: given whenever it changes, also after the end. */
export type Listed = { readonly kind: 'listed'; readonly at: TraceInstant; readonly equipment: readonly string[] };

export type SessionMark =
  | { readonly kind: 'started'; readonly at: TraceInstant; readonly person: string }
  | { readonly kind: 'ended'; readonly at: TraceInstant; readonly result: 'complete' | 'stopped' | 'aborted' };

export type TraceEntry =
  | EquipmentTruth
  | WaterTruth
  | HandsTruth
  | CommandSent
  | CommandAnswered
  | DriverSent
  | Said
  | ReadingGot
  | StepMark
  | PersonAct
  | Upset
  | Listed
  | SessionMark;

/** Entries in the order they happened; the last one's `at` is how long the tank was watched. */
export type Trace = { readonly header: TraceHeader; readonly entries: readonly TraceEntry[] };
