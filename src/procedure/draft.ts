import type { Equipment, Sensor, Tank } from '../model/index.ts';
import { type Effect, type ProcedureDef, ROLES, type RuleOverrides, ruleSetting } from '../rules/index.ts';
import { type DurationMs, MINUTE_MS, SECOND_MS } from '../units/index.ts';
import type { Job, Out, PlanOptions } from './closure.ts';
import type { Step } from './types.ts';

/** What a plan is built from. */
export type Draft = {
  readonly def: ProcedureDef;
  readonly jobs: readonly Job[];
  readonly tank: Tank;
  readonly overrides: RuleOverrides;
  readonly options: PlanOptions;
  /** In stop order. */
  readonly out: readonly Out[];
  /** Started with the rest without having been stopped. */
  readonly alsoStart: readonly Out[];
  readonly keptMovers: readonly Equipment[];
  readonly effects: readonly Effect[];
  readonly level: Sensor | undefined;
  readonly notes: string[];
};

/** A plan being laid out, step by step: what is off by now, and which step last did what. */
export type Course = {
  readonly draft: Draft;
  readonly steps: Step[];
  readonly off: Out[];
  readonly unplugged: Equipment[];
  readonly takenOver: Set<string>;
  readonly lastOff: Map<string, string>;
  readonly lastOn: Map<string, string>;
  /** How often an id was wanted, so that a second one is told apart. */
  readonly uses: Map<string, number>;
};

export const startCourse = (draft: Draft): Course => ({
  draft,
  steps: [],
  off: [],
  unplugged: [],
  takenOver: new Set(),
  lastOff: new Map(),
  lastOn: new Map(),
  uses: new Map(),
});

/** `off:ro-unit`, and the second time `off:ro-unit:2`. */
export function stepId(course: Course, wanted: string): string {
  const used = (course.uses.get(wanted) ?? 0) + 1;
  course.uses.set(wanted, used);
  return used === 1 ? wanted : `${wanted}:${used}`;
}

export const isOff = (course: Course, equipment: Equipment): boolean =>
  course.off.some((each) => each.equipment.id === equipment.id);

export const handledOf = (draft: Draft): readonly Equipment[] => {
  const all = draft.jobs.flatMap((job) => job.handled);
  return draft.out.map((each) => each.equipment).filter((each) => all.some((one) => one.id === each.id));
};

/** The job that takes this equipment in hand. */
export const jobFor = (draft: Draft, equipment: Equipment): Job | undefined =>
  draft.jobs.find((job) => job.handled.some((each) => each.id === equipment.id));

type StepBasics = Pick<Step, 'id' | 'action' | 'rule' | 'why' | 'text'>;

/** A step that needs no evidence of its own and leaves everything as it is. */
export const plainStep = (basics: StepBasics, more: Partial<Step> = {}): Step => ({
  needed: 0,
  timeoutMs: MINUTE_MS,
  safeState: 'leave-as-is',
  holdPoint: false,
  cautions: [],
  ...basics,
  ...more,
});

/** A step at which a person looks and answers. */
export const lookStep = (basics: StepBasics, overrides: RuleOverrides, more: Partial<Step> = {}): Step =>
  plainStep(basics, { needed: 5, holdPoint: true, timeoutMs: ruleSetting(overrides, 'K17', 'remindMs'), ...more });

/** Time for so many fresh reports of this plug. */
export const reportsMs = (each: Equipment, overrides: RuleOverrides): DurationMs =>
  ruleSetting(overrides, 'K18', 'spanMs') +
  ruleSetting(overrides, 'K18', 'readings') * each.switchDelayMs +
  30 * SECOND_MS;

export const isReturn = (each: Equipment): boolean => ROLES[each.role].stopEffects.includes('return-flow');

/** With another return still running the sump need not rise. */
export const allReturnsStop = (draft: Draft): boolean =>
  draft.tank.equipment.every((each) => !isReturn(each) || draft.out.some((out) => out.equipment.id === each.id));

export const someReturnStops = (draft: Draft): boolean => draft.out.some((each) => isReturn(each.equipment));

/** How many tubes the bank's parts have together; undefined where nobody told. */
export function tubesOf(draft: Pick<Draft, 'tank'>, equipment: Equipment): number | undefined {
  const parts = draft.tank.parts.filter((part) => part.equipment === equipment.id && part.kind === 'fluorescent-tubes');
  const pieces = parts.reduce((sum, part) => sum + part.pieces, 0);
  return pieces > 0 ? pieces : undefined;
}
