import type { Equipment, Sensor, Tank } from '../model/index.ts';
import {
  cautionTexts,
  type Effect,
  type ProcedureDef,
  ROLES,
  type RuleId,
  type RuleOverrides,
  ruleSetting,
} from '../rules/index.ts';
import { type DurationMs, MINUTE_MS, SECOND_MS } from '../units/index.ts';
import type { Out } from './closure.ts';
import { driverEntityOf, learnedRiseCm } from './context.ts';
import type { Rung, Step } from './types.ts';

/** What the three parts of a plan are built from. */
export type Draft = {
  readonly def: ProcedureDef;
  readonly tank: Tank;
  readonly overrides: RuleOverrides;
  /** In stop order. */
  readonly out: readonly Out[];
  readonly handled: readonly Equipment[];
  readonly keptMovers: readonly Equipment[];
  readonly effects: readonly Effect[];
  readonly level: Sensor | undefined;
  readonly notes: string[];
};

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

/** Checks, then everything off in K34's order, each wait where the next stop would take something away too early. */
export function downSteps(draft: Draft): readonly Step[] {
  const steps: Step[] = [readyStep(draft), ...lookSteps(draft)];
  const off: Out[] = [];
  for (const each of draft.out) {
    steps.push(...waitsBefore(each.equipment, off, draft), ...takeOver(each), offStep(each, draft));
    off.push(each);
  }
  if (draft.effects.includes('return-flow')) steps.push(riseStep(draft));
  return steps;
}

function readyStep(draft: Draft): Step {
  const slowest = Math.max(0, ...draft.out.map((each) => each.equipment.switchDelayMs));
  return plainStep(
    {
      id: 'check:ready',
      action: 'check',
      rule: 'K20',
      why: 'Nothing starts on old, missing or contradictory readings; what is read now is what must come back.',
      text: 'Read everything afresh: plugs, watts, level, leaks.',
    },
    { needed: 2, timeoutMs: 3 * MINUTE_MS + 2 * slowest },
  );
}

/** What no sensor can tell before the return stops, a person looks at. */
function lookSteps(draft: Draft): readonly Step[] {
  const steps: Step[] = [];
  if (!draft.effects.includes('return-flow')) return steps;
  const sump = draft.tank.sump;
  if (learnedRiseCm(sump?.drainDownL, sump?.litresPerCm) === null || !draft.level) {
    steps.push(
      lookStep(
        {
          id: 'look:head-room',
          action: 'check',
          rule: 'K10',
          why: 'Nothing measured says that the sump can take what drains down.',
          text: 'Look: has the sump room for all the water that comes down, with a margin? Stay and watch it.',
        },
        draft.overrides,
      ),
    );
  }
  if (!draft.keptMovers.some((each) => each.powerEntity !== undefined)) {
    const names = draft.keptMovers.map((each) => each.name).join(', ');
    steps.push(
      lookStep(
        {
          id: 'look:mover',
          action: 'check',
          rule: 'K16',
          why: 'One water mover must be proved to run and no watts tell it here.',
          text: `Look: does water move in the display by ${names} alone?`,
        },
        draft.overrides,
      ),
    );
  }
  return steps;
}

/** What is off already may need its rest (cooling, falling foam) before this stop takes flow or level away. */
function waitsBefore(next: Equipment, off: readonly Out[], draft: Draft): readonly Step[] {
  const taken = ROLES[next.role].stopEffects;
  const firstTaker = draft.out.find((each) => ROLES[each.equipment.role].stopEffects.some((e) => taken.includes(e)));
  if (taken.length === 0 || firstTaker?.equipment.id !== next.id) return [];
  return [...lastOfEachRole(off).values()].flatMap((last) => {
    const role = ROLES[last.role];
    const need = role.needs.find((each) => taken.includes(each.effect));
    if (!need || !role.stopWait) return [];
    const waitMs = ruleSetting(draft.overrides, role.stopWait.rule, role.stopWait.setting);
    return [waitStep(`wait:${last.id}`, last, role.stopWait.rule, waitMs, `before the ${ROLES[next.role].name} stops`)];
  });
}

const lastOfEachRole = (off: readonly Out[]): ReadonlyMap<string, Equipment> =>
  new Map(off.map((each) => [each.equipment.role, each.equipment]));

export const waitStep = (id: string, after: Equipment, rule: RuleId, waitMs: DurationMs, until: string): Step =>
  plainStep(
    {
      id,
      action: 'wait',
      rule,
      why: `${after.name} needs its time ${until}.`,
      text: `Wait after ${after.name} went off, ${until}.`,
    },
    { equipment: after.id, waitMs, waitFrom: `off:${after.id}`, timeoutMs: waitMs },
  );

function takeOver({ equipment }: Out): readonly Step[] {
  const entity = driverEntityOf(equipment);
  if (entity === undefined) return [];
  return [
    plainStep(
      {
        id: `take-over:${equipment.id}`,
        action: 'take-over',
        rule: 'K17',
        why: 'Nobody else may switch it while the session has it.',
        text: `Suspend the ${equipment.driver.kind} of ${equipment.name} in the hub.`,
      },
      { equipment: equipment.id, timeoutMs: 15 * SECOND_MS },
    ),
  ];
}

function offStep(each: Out, draft: Draft): Step {
  const { equipment, rule, why } = each;
  const basics = {
    id: `off:${equipment.id}`,
    action: 'switch-off',
    rule,
    why,
  } as const;
  const safeState = ROLES[equipment.role].waterMover ? 'restart-if-agreed' : 'stay-off';

  if (equipment.switchEntity === undefined) {
    const text = `Switch ${equipment.name} off by hand, see that it stands still, then confirm.`;
    return lookStep({ ...basics, text }, draft.overrides, {
      equipment: equipment.id,
      safeState,
      cautions: cautionTexts(['local-code', 'shock']),
    });
  }
  const needed = neededOff(equipment, draft);
  const effectMs = needed === 4 ? ruleSetting(draft.overrides, 'K9', 'settleMs') : 0;
  return plainStep(
    { ...basics, text: `Switch ${equipment.name} off.` },
    { equipment: equipment.id, needed, safeState, timeoutMs: reportsMs(equipment, draft.overrides) + effectMs },
  );
}

/** Rung 3, and 4 where the last return's stop lifts the sump; less where the tank cannot witness it. */
function neededOff(equipment: Equipment, draft: Draft): Rung {
  const lastReturn = draft.out.findLast((each) => isReturn(each.equipment))?.equipment;
  if (lastReturn?.id === equipment.id && draft.level && allReturnsStop(draft)) return 4;
  return equipment.powerEntity === undefined || equipment.cycling ? 2 : 3;
}

/** With another return still running the sump need not rise. */
export const allReturnsStop = (draft: Draft): boolean =>
  draft.tank.equipment.every((each) => !isReturn(each) || draft.out.some((out) => out.equipment.id === each.id));

function riseStep(draft: Draft): Step {
  const basics = {
    id: 'settle:rise',
    action: 'settle',
    rule: 'K9',
    why: 'A sump that rises on and on means that the display is emptying into it.',
  } as const;
  if (!draft.level) {
    const text = 'Look: has the sump stopped rising, no higher than usual?';
    return lookStep({ ...basics, text }, draft.overrides, { settle: 'rise' });
  }
  const waitMs = ruleSetting(draft.overrides, 'K9', 'steadyForMs');
  return plainStep(
    { ...basics, text: 'Wait until the sump is at rest, within its learned rise.' },
    {
      needed: 4,
      settle: 'rise',
      waitMs,
      timeoutMs: 2 * ruleSetting(draft.overrides, 'K9', 'settleMs') + waitMs + MINUTE_MS,
    },
  );
}
