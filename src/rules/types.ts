import type { Limit, RoleId } from '../model/index.ts';
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

/** A job as data: what must be out of service and what a person does. The steps are built from the tank and the rules. */
export type ProcedureDef = {
  readonly id: string;
  readonly title: string;
  readonly purpose: string;
  /** Roles that must be off for the job itself. */
  readonly stop: readonly RoleId[];
  /** Roles a person takes in hand: unplugged and claimed. */
  readonly handle: readonly RoleId[];
  /** What the work disturbs beside what the stops disturb. */
  readonly effects: readonly Effect[];
  /** Waiting between the stop of a handled role and the unplugging. */
  readonly beforeUnplug?: RuleWait;
  /** The work itself, one hold point each. */
  readonly handsOn: readonly { readonly id: string; readonly text: string; readonly cautions: readonly string[] }[];
  /** Level steady this long before what was handled starts again. */
  readonly steadyBeforeStart?: RuleWait;
  /** Nothing is handled and the pause ends itself after this long. */
  readonly endsAfter?: RuleWait;
};
