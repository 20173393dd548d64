import type { Equipment } from '../model/index.ts';
import { cautionTexts, ROLES, type RuleId, ruleSetting } from '../rules/index.ts';
import { type DurationMs, MINUTE_MS, SECOND_MS } from '../units/index.ts';
import { inStopOrder, type Out } from './closure.ts';
import { driverEntityOf, learnedRiseCm } from './context.ts';
import {
  allReturnsStop,
  type Course,
  type Draft,
  isOff,
  isReturn,
  lookStep,
  plainStep,
  reportsMs,
  someReturnStops,
  stepId,
} from './draft.ts';
import { personStays } from './presence.ts';
import type { Rung, Step } from './types.ts';

/** What is read before anything is switched, and what a person looks at because nothing measures it. */
export function readySteps(draft: Draft): readonly Step[] {
  const slowest = Math.max(0, ...draft.out.map((each) => each.equipment.switchDelayMs));
  const ready = plainStep(
    {
      id: 'check:ready',
      action: 'check',
      rule: 'K20',
      why: 'Nothing starts on old, missing or contradictory readings; what is read now is what must come back.',
      text: 'Read everything afresh: plugs, watts, level, leaks.',
    },
    { needed: 2, timeoutMs: 3 * MINUTE_MS + 2 * slowest },
  );
  return [ready, ...lookSteps(draft)];
}

/** What no sensor can tell before the return stops, a person looks at. */
function lookSteps(draft: Draft): readonly Step[] {
  const steps: Step[] = [];
  if (!someReturnStops(draft)) return steps;
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
  if (draft.keptMovers.length > 0 && !draft.keptMovers.some((each) => each.powerEntity !== undefined)) {
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
  if (draft.def.inLight === true && draft.tank.equipment.some((each) => each.role === 'feeder')) {
    const minutes = (setting: string): number => ruleSetting(draft.overrides, 'K36', setting) / MINUTE_MS;
    steps.push(
      lookStep(
        {
          id: 'look:fed',
          action: 'check',
          rule: 'K36',
          why: 'Food in still water rots and uses oxygen.',
          text: `Look: has nothing been fed for ${minutes('beforeMs')} min, and will nothing be until ${minutes('afterMs')} min after the flow is back?`,
        },
        draft.overrides,
      ),
    );
  }
  return steps;
}

/** Off in K34's order, each wait where the next stop would take something away too early; then the rise, if a return stopped. */
export function stopAll(course: Course, list: readonly Out[]): void {
  const due = inStopOrder(list).filter((each) => !isOff(course, each.equipment));
  for (const each of due) stopOne(course, each);
  const stoppedReturn = due.some((each) => isReturn(each.equipment));
  if (stoppedReturn) course.steps.push(riseStep(course));
}

export function stopOne(course: Course, each: Out): void {
  const { draft, steps } = course;
  const { equipment } = each;
  steps.push(...waitsBefore(course, equipment));
  personStays(course, equipment);
  if (!course.takenOver.has(equipment.id)) steps.push(...takeOver(course, each));
  course.takenOver.add(equipment.id);
  const id = stepId(course, `off:${equipment.id}`);
  course.lastOff.set(equipment.id, id);
  steps.push({ ...offStep(each, draft), id });
  course.off.push(each);
}

/** What is off already may need its rest (cooling, falling foam) before this stop takes flow or level away. */
function waitsBefore(course: Course, next: Equipment): readonly Step[] {
  const taken = ROLES[next.role].stopEffects;
  const takes = (each: Out): boolean => ROLES[each.equipment.role].stopEffects.some((e) => taken.includes(e));
  if (taken.length === 0 || course.off.some(takes)) return [];
  return [...lastOfEachRole(course.off).values()].flatMap((last) => {
    const role = ROLES[last.role];
    const need = role.needs.find((each) => taken.includes(each.effect));
    if (!need || !role.stopWait) return [];
    const waitMs = ruleSetting(course.draft.overrides, role.stopWait.rule, role.stopWait.setting);
    const id = stepId(course, `wait:${last.id}`);
    return [waitStep(course, id, last, role.stopWait.rule, waitMs, `before the ${ROLES[next.role].name} stops`)];
  });
}

const lastOfEachRole = (off: readonly Out[]): ReadonlyMap<string, Equipment> =>
  new Map(off.map((each) => [each.equipment.role, each.equipment]));

export const waitStep = (
  course: Course,
  id: string,
  after: Equipment,
  rule: RuleId,
  waitMs: DurationMs,
  until: string,
): Step =>
  plainStep(
    {
      id,
      action: 'wait',
      rule,
      why: `${after.name} needs its time ${until}.`,
      text: `Wait after ${after.name} went off, ${until}.`,
    },
    { equipment: after.id, waitMs, waitFrom: course.lastOff.get(after.id) ?? `off:${after.id}`, timeoutMs: waitMs },
  );

function takeOver(course: Course, { equipment }: Out): readonly Step[] {
  const entity = driverEntityOf(equipment);
  if (entity === undefined) return [];
  return [
    plainStep(
      {
        id: stepId(course, `take-over:${equipment.id}`),
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

function riseStep(course: Course): Step {
  const { draft } = course;
  const basics = {
    id: stepId(course, 'settle:rise'),
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
