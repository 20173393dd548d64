import type { Equipment } from '../model/index.ts';
import { ROLES, ruleSetting } from '../rules/index.ts';
import { MINUTE_MS, SECOND_MS } from '../units/index.ts';
import { inStartOrder, type Out } from './closure.ts';
import { driverEntityOf } from './context.ts';
import {
  allReturnsStop,
  type Course,
  type Draft,
  handledOf,
  isReturn,
  jobFor,
  lookStep,
  plainStep,
  reportsMs,
  stepId,
  tubesOf,
} from './draft.ts';
import { emptiedSteps, immersedSteps, itemSteps, startItems } from './items.ts';
import type { Rung, Step } from './types.ts';

/** K22: one start at a time, each after what it needs has been back long enough. `keep`: its driver stays suspended. */
export function startAll(course: Course, list: readonly Out[], keep = false): void {
  const order = inStartOrder(list);
  const rolesSeen = new Set<string>();
  for (const each of order) {
    const { equipment } = each;
    // Waits and level checks stand before the first of a role; the next ones of that role have them behind them.
    if (!rolesSeen.has(equipment.role)) {
      course.steps.push(...startWaits(course, equipment, order), ...levelBefore(course, equipment));
    }
    rolesSeen.add(equipment.role);
    startOne(course, each, keep);
  }
}

export function startOne(course: Course, { equipment }: Out, keep = false): void {
  const { draft, steps } = course;
  const first = !course.lastOn.has(equipment.id);
  steps.push(...emptiedSteps(course, equipment), ...immersedSteps(course, equipment));
  if (first) steps.push(...startItems(course, equipment, 'beforeStart'));
  const id = stepId(course, `on:${equipment.id}`);
  course.lastOn.set(equipment.id, id);
  steps.push({ ...onStep(equipment, draft), id });
  course.off.splice(0, course.off.length, ...course.off.filter((each) => each.equipment.id !== equipment.id));
  if (!keep) steps.push(...startItems(course, equipment, 'afterStart'), ...handBack(course, equipment));
}

/** Counted from the start of the last one that gives what this one needs, so that waits run side by side. */
function startWaits(course: Course, equipment: Equipment, order: readonly Out[]): readonly Step[] {
  const { draft } = course;
  const role = ROLES[equipment.role];
  const wait = role.startWait;
  if (!wait) return [];
  const given = inStartOrder([...draft.out, ...draft.alsoStart]).filter(
    (each) => course.lastOn.has(each.equipment.id) || order.some((one) => one.equipment.id === each.equipment.id),
  );
  const giver = given.findLast(
    (each) =>
      each.equipment.id !== equipment.id &&
      ROLES[each.equipment.role].startRank < role.startRank &&
      ROLES[each.equipment.role].stopEffects.some((effect) => role.needs.some((need) => need.effect === effect)),
  )?.equipment;
  if (!giver) return [];
  const waitMs = ruleSetting(draft.overrides, wait.rule, wait.setting);
  return [
    plainStep(
      {
        id: stepId(course, `after:${equipment.id}`),
        action: 'wait',
        rule: wait.rule,
        why: `${equipment.name} starts only when ${giver.name} has run for its time.`,
        text: `Wait after the start of ${giver.name} for ${equipment.name}.`,
      },
      {
        equipment: equipment.id,
        waitMs,
        waitFrom: course.lastOn.get(giver.id) ?? `on:${giver.id}`,
        timeoutMs: waitMs,
      },
    ),
  ];
}

function levelBefore(course: Course, equipment: Equipment): readonly Step[] {
  const { draft } = course;
  const role = ROLES[equipment.role];
  if (!draft.effects.includes('sump-level') || (!role.startNeedsSteady && !role.startNeedsMark)) return [];
  const mark = role.startNeedsMark;
  if (mark && draft.def.levelUnknown === true) return usualLevel(course, equipment);
  const longer = handledOf(draft).some((each) => each.id === equipment.id)
    ? jobFor(draft, equipment)?.def.steadyBeforeStart
    : undefined;
  const waitMs = ruleSetting(draft.overrides, longer?.rule ?? 'K9', longer?.setting ?? 'steadyForMs');
  const basics = {
    id: stepId(course, mark ? `mark:${equipment.id}` : `steady:${equipment.id}`),
    action: 'settle',
    rule: mark ? 'K23' : 'K8',
    why: mark
      ? 'A level below its mark now is lost salt water; the top-off would replace it with fresh.'
      : 'A level still moving floods the cup.',
  } as const;
  const more: Partial<Step> = { equipment: equipment.id, settle: mark ? 'mark' : 'steady', waitMs };
  if (!draft.level) {
    const text = mark
      ? 'Look: is the sump at rest and at the level it had before the session? If it is lower, put the salt water back first.'
      : 'Look: is the sump level at rest?';
    return [lookStep({ ...basics, text }, draft.overrides, more)];
  }
  const text = mark
    ? 'Wait until the sump is at rest at its level from before the session.'
    : 'Wait until the sump level is at rest.';
  return [plainStep({ ...basics, text }, { ...more, needed: 4, timeoutMs: 2 * waitMs + 10 * MINUTE_MS })];
}

/** After a cut or a leak the level from before the session says nothing: the sump's usual one counts. */
function usualLevel(course: Course, equipment: Equipment): readonly Step[] {
  const { draft } = course;
  const usual = draft.tank.sump?.normalLevelCm;
  const band = ruleSetting(draft.overrides, 'K23', 'markCm');
  const why = 'Missing water may be salt water; the top-off would replace it with fresh.';
  const item =
    usual === undefined
      ? ({
          id: 'usual-level',
          does: 'look',
          text: 'Look: is the sump at rest at its usual level? If it is lower, find out what was lost, and put salt water back as salt water.',
        } as const)
      : ({
          id: 'usual-level',
          does: 'reading',
          text: `At how many centimetres does the sump stand? Usual is ${usual} cm. What is missing may be salt water: put it back first.`,
          reading: { quantity: 'level-cm', low: usual - band, high: usual + band, sensor: 'sump-level' },
        } as const);
  const steps = itemSteps(course, { ...item, rule: 'K23', why, cautions: [], minutes: 2 });
  return steps.map((step) => ({ ...step, equipment: equipment.id }));
}

function onStep(equipment: Equipment, draft: Draft): Step {
  const job = jobFor(draft, equipment);
  const trial = job?.def.trial === true || (draft.def.startAll === true && runsAlways(equipment));
  const basics = {
    id: `on:${equipment.id}`,
    action: 'switch-on',
    rule: 'K22',
    why: `It starts in its turn: ${ROLES[equipment.role].hazardStarted}`,
  } as const;
  if (equipment.switchEntity === undefined) {
    const text = `Switch ${equipment.name} on by hand, see that it runs, then confirm.`;
    return lookStep({ ...basics, text }, draft.overrides, { equipment: equipment.id });
  }
  const needed = neededOn(equipment, draft);
  const effectMs = needed === 4 ? ruleSetting(draft.overrides, 'K9', 'settleMs') : 0;
  const timeoutMs = reportsMs(equipment, draft.overrides) + 2 * ruleSetting(draft.overrides, 'K19', 'forMs') + effectMs;
  return plainStep(
    { ...basics, text: `Switch ${equipment.name} on.` },
    {
      equipment: equipment.id,
      needed,
      timeoutMs,
      ...(trial ? { evenIfOff: true } : {}),
      ...expectation(draft, equipment, job?.def.expectShare),
    },
  );
}

/** Under a schedule or thermostat off may be right, and a barrel or a store may be as well; whatever else has neither belongs on. */
const runsAlways = (equipment: Equipment): boolean =>
  (equipment.driver.kind === 'always-on' || equipment.driver.kind === 'own-controller') &&
  !MAY_REST.has(equipment.role);
const MAY_REST: ReadonlySet<string> = new Set(['mixing-pump', 'mixing-heater', 'ro-unit', 'feeder', 'led-lamp']);

/** All tubes lit: the whole set's watts, within the share. */
function expectation(draft: Draft, equipment: Equipment, share: number | undefined): Partial<Step> {
  const normal = equipment.normalPowerW;
  if (share === undefined || normal === undefined || equipment.powerEntity === undefined) return {};
  const watts = (factor: number): number => Math.round(normal * factor * 10) / 10;
  const pieces = tubesOf(draft, equipment);
  return { expectW: { low: watts(1 - share), high: watts(1 + share), ...(pieces === undefined ? {} : { pieces }) } };
}

/** The first return to start makes the sump fall back; a second one adds too little to see. */
function neededOn(equipment: Equipment, draft: Draft): Rung {
  const firstReturn = inStartOrder(draft.out).find((each) => isReturn(each.equipment))?.equipment;
  if (firstReturn?.id === equipment.id && draft.level && allReturnsStop(draft)) return 4;
  return equipment.powerEntity === undefined || equipment.cycling ? 2 : 3;
}

function handBack(course: Course, equipment: Equipment): readonly Step[] {
  if (driverEntityOf(equipment) === undefined || !course.takenOver.has(equipment.id)) return [];
  course.takenOver.delete(equipment.id);
  return [
    plainStep(
      {
        id: stepId(course, `hand-back:${equipment.id}`),
        action: 'hand-back',
        rule: 'K22',
        why: 'Back means back under its driver, not just on.',
        text: `Give ${equipment.name} back to its ${equipment.driver.kind} in the hub.`,
      },
      { equipment: equipment.id, timeoutMs: 15 * SECOND_MS },
    ),
  ];
}

/** The last step: everything back, or listed. */
export const finishStep = (): Step =>
  plainStep({
    id: 'finish',
    action: 'finish',
    rule: 'K35',
    why: 'A session ends only with everything back, or listed as out of service.',
    text: 'Check that everything is back.',
  });
