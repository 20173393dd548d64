import type { Equipment } from '../model/index.ts';
import { ROLES, ruleSetting } from '../rules/index.ts';
import { MINUTE_MS, SECOND_MS } from '../units/index.ts';
import { inStartOrder, type Out } from './closure.ts';
import { driverEntityOf } from './context.ts';
import { allReturnsStop, type Draft, isReturn, lookStep, plainStep, reportsMs } from './down.ts';
import type { Rung, Step } from './types.ts';
import { finishStep } from './work.ts';

/** K22: everything back, one start at a time, each after what it needs has been back long enough. */
export function restoreSteps(draft: Draft): readonly Step[] {
  const order = inStartOrder(draft.out);
  const steps: Step[] = [];
  const rolesSeen = new Set<string>();
  for (const each of order) {
    // Waits and level checks stand before the first of a role; the next ones of that role have them behind them.
    if (!rolesSeen.has(each.equipment.role)) {
      steps.push(...startWaits(each.equipment, order, draft), ...levelBefore(each.equipment, draft));
    }
    rolesSeen.add(each.equipment.role);
    steps.push(onStep(each.equipment, order, draft), ...handBack(each.equipment));
  }
  steps.push(finishStep());
  return steps;
}

/** Counted from the start of the last one that gives what this one needs, so that waits run side by side. */
function startWaits(equipment: Equipment, order: readonly Out[], draft: Draft): readonly Step[] {
  const role = ROLES[equipment.role];
  const wait = role.startWait;
  if (!wait) return [];
  const giver = order.findLast(
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
        id: `after:${equipment.id}`,
        action: 'wait',
        rule: wait.rule,
        why: `${equipment.name} starts only when ${giver.name} has run for its time.`,
        text: `Wait after the start of ${giver.name} for ${equipment.name}.`,
      },
      { equipment: equipment.id, waitMs, waitFrom: `on:${giver.id}`, timeoutMs: waitMs },
    ),
  ];
}

function levelBefore(equipment: Equipment, draft: Draft): readonly Step[] {
  const role = ROLES[equipment.role];
  if (!draft.effects.includes('sump-level') || (!role.startNeedsSteady && !role.startNeedsMark)) return [];
  const mark = role.startNeedsMark;
  const longer = draft.handled.some((each) => each.id === equipment.id) ? draft.def.steadyBeforeStart : undefined;
  const waitMs = ruleSetting(draft.overrides, longer?.rule ?? 'K9', longer?.setting ?? 'steadyForMs');
  const basics = {
    id: mark ? `mark:${equipment.id}` : `steady:${equipment.id}`,
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

function onStep(equipment: Equipment, order: readonly Out[], draft: Draft): Step {
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
  const needed = neededOn(equipment, order, draft);
  const effectMs = needed === 4 ? ruleSetting(draft.overrides, 'K9', 'settleMs') : 0;
  const timeoutMs = reportsMs(equipment, draft.overrides) + 2 * ruleSetting(draft.overrides, 'K19', 'forMs') + effectMs;
  return plainStep({ ...basics, text: `Switch ${equipment.name} on.` }, { equipment: equipment.id, needed, timeoutMs });
}

/** The first return to start makes the sump fall back; a second one adds too little to see. */
function neededOn(equipment: Equipment, order: readonly Out[], draft: Draft): Rung {
  const firstReturn = order.find((each) => isReturn(each.equipment))?.equipment;
  if (firstReturn?.id === equipment.id && draft.level && allReturnsStop(draft)) return 4;
  return equipment.powerEntity === undefined || equipment.cycling ? 2 : 3;
}

function handBack(equipment: Equipment): readonly Step[] {
  if (driverEntityOf(equipment) === undefined) return [];
  return [
    plainStep(
      {
        id: `hand-back:${equipment.id}`,
        action: 'hand-back',
        rule: 'K22',
        why: 'Back means back under its driver, not just on.',
        text: `Give ${equipment.name} back to its ${equipment.driver.kind} in the hub.`,
      },
      { equipment: equipment.id, timeoutMs: 15 * SECOND_MS },
    ),
  ];
}
