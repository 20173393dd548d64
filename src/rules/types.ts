import type { Limit, RoleId, SensorKind } from '../model/index.ts';
import type { DurationMs } from '../units/index.ts';

/** What a stop can take away from other equipment, or disturb. */
export type Effect = 'sump-level' | 'return-flow' | 'mixing-flow';

/** A waiting time kept as a rule's setting. */
export type RuleWait = { readonly rule: RuleId; readonly setting: string };

export type RoleFacts = {
  readonly name: string;
  /** "On" draws watts only now and then: zero watts prove nothing about the switch. */
  readonly cycling: boolean;
  readonly needsFlow: boolean;
  readonly needsSteadyLevel: boolean;
  /** Can put water or chemicals into the tank. */
  readonly adder: boolean;
  readonly waterMover: boolean;
  readonly lifeSupport: boolean;
  readonly heats: boolean;
  readonly lamp: boolean;
  /** Only concerned while it stands in the sump (heaters). */
  readonly onlyInSump: boolean;
  /** Sessions never stop it. */
  readonly neverStopped: boolean;
  /** K34: low stops first. */
  readonly stopRank: number;
  /** K22: low starts first. */
  readonly startRank: number;
  /** What a stop of this role takes away. */
  readonly stopEffects: readonly Effect[];
  /** What it cannot be without, and the rule that says so: it goes off before that is taken away. */
  readonly needs: readonly { readonly effect: Effect; readonly rule: RuleId }[];
  /** To wait after its stop, before what it needs is taken away. */
  readonly stopWait?: RuleWait;
  /** To wait after what it needs is back, before its start. */
  readonly startWait?: RuleWait;
  /** Starts only with a steady level. */
  readonly startNeedsSteady: boolean;
  /** Starts only with the level at its mark from before the session. */
  readonly startNeedsMark: boolean;
  /** How long it may be off without worry; null = no limit known. */
  readonly maxOffMs: DurationMs | null;
  /** From when a person should think of it, before that limit. */
  readonly warnOffMs?: DurationMs;
  readonly hazardStopped: string;
  readonly hazardStarted: string;
  readonly wattsShape: string;
  /** K31: what its plug should do when power comes back. */
  readonly startUp: 'on' | 'off' | 'any';
};

export type PartFacts = {
  readonly id: string;
  readonly name: string;
  /** First one reached wins. Only measures the product counts; other limits are told in `alsoDueWhen`. */
  readonly limits: readonly Limit[];
  readonly range: string;
  /** Limits by condition, not counted: a person or a sensor's trend decides. */
  readonly alsoDueWhen?: string;
  readonly earlySign: string;
  readonly action: string;
  readonly spare: string;
  readonly minutes: number;
  readonly ifLate: string;
  readonly safety: boolean;
  readonly marks: readonly string[];
};

export const RULE_IDS = [
  ...(['K1', 'K2', 'K3', 'K4', 'K5', 'K6', 'K7', 'K8', 'K9', 'K10', 'K11', 'K12'] as const),
  ...(['K13', 'K14', 'K15', 'K16', 'K17', 'K18', 'K19', 'K20', 'K21', 'K22', 'K23', 'K24'] as const),
  ...(['K25', 'K26', 'K27', 'K28', 'K29', 'K30', 'K31', 'K32', 'K33', 'K34', 'K35', 'K36'] as const),
] as const;
export type RuleId = (typeof RULE_IDS)[number];

export type SettingUnit = 'ms' | 'share' | 'cm' | 'C' | 'L' | 'count' | 'W' | 'mg/L' | 'ppt' | 'dKH' | 'factor';

/** One number of a rule a keeper may change, within its safe range. */
export type RuleSetting = {
  readonly default: number;
  readonly min: number;
  readonly max: number;
  readonly unit: SettingUnit;
  readonly why: string;
};

export type Rule = {
  readonly title: string;
  readonly why: string;
  readonly settings: Readonly<Record<string, RuleSetting>>;
  readonly marks: readonly string[];
};

/** Overrides by rule id and setting name, in the unit the setting states. */
export type RuleOverrides = Readonly<Record<string, Readonly<Record<string, number>>>>;

export type CautionPlace = 'start' | 'unplug' | 'hands-on' | 'uv' | 'lamp' | 'chemicals' | 'water' | 'power';

export type Caution = {
  readonly id: string;
  readonly text: string;
  readonly shownAt: readonly CautionPlace[];
  readonly marks: readonly string[];
};

/** A number of a work item: as written, from a rule, or a share of the tank's volume. */
export type ItemAmount =
  | number
  /** `inShare`: the rule speaks of the tank, the amount of that share of its water. */
  | { readonly rule: RuleId; readonly setting: string; readonly inShare?: number }
  | { readonly shareOfVolume: number };

/** What a person types, and between which values the session goes on. Names are those of the sessions' readings. */
export type ItemReading = {
  readonly quantity:
    | 'salinity-ppt'
    | 'temperature-c'
    | 'level-cm'
    | 'volume-l'
    | 'tds-mg-per-l'
    | 'alkalinity-dkh'
    | 'mass-g'
    | 'age-h'
    | 'count';
  readonly low?: ItemAmount;
  readonly high?: ItemAmount;
  /** Id of an earlier reading item, and how far from it. */
  readonly sameAs?: string;
  readonly tolerance?: ItemAmount;
  /** A sensor of the tank that may stand in for the typed value. */
  readonly sensor?: SensorKind;
};

/** What a sensor must show. On a tank without that sensor a person looks. */
export type ItemObservation = {
  /** A kind of sensor, or the watts of the handled equipment. */
  readonly sensor: SensorKind | 'power';
  readonly is: 'on' | 'off' | 'at-least' | 'at-most';
  /** Of `power`: a share of the normal watts. */
  readonly share?: number;
  readonly times?: number;
  readonly withinMs: DurationMs;
};

/** One thing a person does, reads off or watches, or one wait of the work itself. */
export type WorkItem = {
  readonly id: string;
  /** `{name}`, `{n}` and `{of}` stand for the equipment, and for one piece of how many. */
  readonly text: string;
  readonly cautions: readonly string[];
  /** Left out: work with the hands. */
  readonly does?: 'look' | 'reading' | 'observe' | 'wait';
  readonly rule?: RuleId;
  readonly why?: string;
  /** How long a person usually takes; for rehearsals. */
  readonly minutes?: number;
  /** Only where an equipment of this role is handled (work) or started (before and after a start). */
  readonly role?: RoleId;
  /** Once for each piece of the equipment's part: tube by tube. */
  readonly perPiece?: boolean;
  /** A named section of the work, so that a composition can put other work between. */
  readonly part?: string;
  readonly reading?: ItemReading;
  readonly observe?: ItemObservation;
  /** `wait`: how long, counted from the end of that step. */
  readonly wait?: RuleWait;
  readonly waitMs?: DurationMs;
  readonly waitFrom?: string;
};

/** Steps of a procedure in the large; what each becomes on a tank is built from its equipment and the rules. */
export type Phase =
  /** The procedure's own items of that place, or those of a composed one. */
  | { readonly do: 'first' | 'before' | 'end'; readonly of?: string }
  | { readonly do: 'ready' }
  /** Whatever of these roles is to be out of service and still runs, in stop order; left out: all of it. */
  | { readonly do: 'stop'; readonly roles?: readonly RoleId[]; readonly except?: readonly RoleId[] }
  /** Rest, unplugging with claim, plugging in with release, of what that procedure handles. */
  | { readonly do: 'rest' | 'unplug' | 'plug-in'; readonly of?: string; readonly roles?: readonly RoleId[] }
  | { readonly do: 'work'; readonly of?: string; readonly part?: string }
  /** One after the other: stop, unplug, work, plug in, start. */
  | { readonly do: 'one-by-one'; readonly of?: string }
  /** Each plug off and on with a person's hand on it. */
  | { readonly do: 'try-each' }
  /** Everything of these roles that is off, in start order. `keep`: the session goes on having it. */
  | {
      readonly do: 'start';
      readonly roles?: readonly RoleId[];
      readonly except?: readonly RoleId[];
      readonly keep?: boolean;
    };

/** A job as data: what must be out of service and what a person does. The steps are built from the tank and the rules. */
export type ProcedureDef = {
  readonly id: string;
  readonly title: string;
  readonly purpose: string;
  /** When a keeper looks for it: once a year or less, or because something is wrong. Absent: now and then. */
  readonly occasion?: 'rare' | 'emergency';
  /** Roles that must be off for the job itself. */
  readonly stop: readonly RoleId[];
  /** Roles a person takes in hand: unplugged and claimed. */
  readonly handle: readonly RoleId[];
  /** `all`: each role of `stop` must be there. `any`: one of them is enough. `none`: the job makes sense without. */
  readonly roles?: 'all' | 'any' | 'none';
  /** The rest of a pair or group stays in service: a person chooses which one is handled. */
  readonly oneOnly?: boolean;
  /** What the work disturbs beside what the stops disturb. */
  readonly effects: readonly Effect[];
  /** Waiting between the stop of a handled role and the unplugging. */
  readonly beforeUnplug?: RuleWait;
  /** Waiting between the unplugging and the first touch, where the stop itself cannot be proved. */
  readonly beforeTouch?: RuleWait;
  /** Before anything is read. */
  readonly first?: readonly WorkItem[];
  /** After the readings, before the first stop. */
  readonly before?: readonly WorkItem[];
  /** The work itself, one hold point each. */
  readonly handsOn: readonly WorkItem[];
  /** Before and after the start of each equipment of the item's role. */
  readonly beforeStart?: readonly WorkItem[];
  readonly afterStart?: readonly WorkItem[];
  /** When everything is back. */
  readonly atEnd?: readonly WorkItem[];
  /** Level steady this long before what was handled starts again. */
  readonly steadyBeforeStart?: RuleWait;
  /** Nothing is handled and the pause ends itself after this long. */
  readonly endsAfter?: RuleWait;
  /** Stops flow for so long that standing water is asked about. */
  readonly long?: boolean;
  /** K33: begins in the light and is over before dark. */
  readonly inLight?: boolean;
  /** What the level was before says nothing: it is compared with the sump's usual one. */
  readonly levelUnknown?: boolean;
  /** Handled equipment is seen running at the end even if it was off before. */
  readonly trial?: boolean;
  /** All pieces are there: watts within this share of the whole set. */
  readonly expectShare?: number;
  /** Answers a leak: wet sensors hold nothing. */
  readonly leak?: boolean;
  /** Every mover and whatever always runs is started, whether or not it was on. */
  readonly startAll?: boolean;
  /** To be done in the days before, and what to do when it gets late; shown with the plan. */
  readonly ahead?: readonly string[];
  /** Procedures whose work this one puts together, where the tank has the equipment. */
  readonly compose?: readonly string[];
  /** Left out: ready, before, stop, rest, unplug, work, plug-in, start, end. */
  readonly phases?: readonly Phase[];
};
