import type { Equipment } from '../model/index.ts';
import { cautionsAt, cautionTexts, ruleSetting } from '../rules/index.ts';
import { MINUTE_MS } from '../units/index.ts';
import { type Job, refuse } from './closure.ts';
import { waitStep } from './down.ts';
import { type Course, handledOf, isOff, lookStep, plainStep, stepId, tubesOf } from './draft.ts';
import { itemSteps } from './items.ts';

/** What of a job is off by now and may be taken in hand, in stop order. */
export const inHand = (course: Course, job: Job): readonly Equipment[] =>
  handledOf(course.draft).filter((each) => job.handled.some((one) => one.id === each.id) && isOff(course, each));

/** Rest between the stop and the plug: foam falls, glass cools with its flow. */
export function rest(course: Course, job: Job, list = inHand(course, job)): void {
  const wait = job.def.beforeUnplug;
  if (!wait) return;
  const waitMs = ruleSetting(course.draft.overrides, wait.rule, wait.setting);
  for (const each of list) {
    const id = stepId(course, `rest:${each.id}`);
    course.steps.push(waitStep(course, id, each, wait.rule, waitMs, 'before it is touched'));
  }
}

export function unplug(course: Course, job: Job, list = inHand(course, job)): void {
  for (const each of list) {
    refusePair(course, each);
    course.unplugged.push(each);
    const parts = each.quickDisconnect === true;
    course.steps.push(
      lookStep(
        {
          id: stepId(course, `unplug:${each.id}`),
          action: 'unplug',
          rule: 'K30',
          why: 'Switched off is not isolated: only the plug in your hand is.',
          text: parts ? partText(each) : `Unplug ${each.name} and say so. From then on it is claimed by you.`,
        },
        course.draft.overrides,
        {
          equipment: each.id,
          needed: 6,
          safeState: 'stay-off',
          cautions: parts ? [...cautionsAt('unplug'), ...cautionTexts(['part-under-load'])] : cautionsAt('unplug'),
          personMs: MINUTE_MS,
        },
      ),
    );
  }
}

/** The loose end of a low-voltage lead is as good as the plug in the hand, but only a dead lead may be parted. */
const partText = (each: Equipment): string =>
  `Only when ${each.name} is proved off: part the quick-disconnect of its lead on the low-voltage side, never under load, and keep the loose end in your sight; say so. If it is not proved off, pull the mains plug instead. From then on it is claimed by you.`;

/** K32: the other one of a pair is the spare path. */
function refusePair(course: Course, next: Equipment): void {
  const other = next.pair === undefined ? undefined : course.unplugged.find((each) => each.pair === next.pair);
  if (!other) return;
  refuse(
    course.draft.def.title,
    'K32',
    `${other.name} and ${next.name} are a pair and would be in service at once`,
    `Choose one of them: ${other.id} or ${next.id}.`,
  );
}

/** The work of a job, or one section of it. What is about one role is done only where that is in hand. */
export function work(course: Course, job: Job, part?: string, list = job.handled): void {
  const items = job.def.handsOn.filter((item) => part === undefined || item.part === part);
  const begins = items[0] !== undefined && items[0] === job.def.handsOn[0];
  if (begins) {
    coolFirst(course, job, list);
    coolBeforeWater(course, job);
  }
  for (const item of items) {
    if (item.role !== undefined && !list.some((each) => each.role === item.role)) continue;
    const about = list.filter((each) => item.role === undefined || each.role === item.role);
    if (!item.text.includes('{name}')) {
      course.steps.push(...itemSteps(course, item));
      continue;
    }
    for (const equipment of about) {
      const pieces = item.perPiece === true ? piecesOf(course, equipment) : undefined;
      if (pieces === undefined) course.steps.push(...itemSteps(course, item, { equipment }));
      for (let n = 1; n <= (pieces ?? 0); n++) {
        course.steps.push(...itemSteps(course, item, { equipment, n, of: pieces ?? 0 }));
      }
    }
  }
}

/** Where the stop itself cannot be proved, the cooling counts from the unplugging. */
function coolFirst(course: Course, job: Job, list: readonly Equipment[]): void {
  const wait = job.def.beforeTouch;
  if (!wait) return;
  const waitMs = ruleSetting(course.draft.overrides, wait.rule, wait.setting);
  for (const each of list) {
    course.steps.push(
      plainStep(
        {
          id: stepId(course, `cool:${each.id}`),
          action: 'wait',
          rule: wait.rule,
          why: `${each.name} may have been hot when it lost its power: hot glass out of water cracks and scorches.`,
          text: `Wait: ${each.name} cools in the water.`,
        },
        { equipment: each.id, waitMs, waitFrom: `unplug:${each.id}`, timeoutMs: waitMs },
      ),
    );
  }
}

/** K4: heaters the job itself stops may stand dry as soon as water leaves; where no return's stop made it wait, the work does. */
function coolBeforeWater(course: Course, job: Job): void {
  const hot = course.off.filter(
    ({ equipment }) => equipment.role === 'heater' && job.taken.some((each) => each.id === equipment.id),
  );
  const last = hot.at(-1)?.equipment;
  if (!last || job.handled.some((each) => each.role === 'heater') || course.uses.has(`wait:${last.id}`)) return;
  const waitMs = ruleSetting(course.draft.overrides, 'K4', 'waitMs');
  course.steps.push(waitStep(course, stepId(course, `wait:${last.id}`), last, 'K4', waitMs, 'before water leaves'));
}

/** How many tubes the bank has, from its part; one where nobody told. */
function piecesOf({ draft }: Course, equipment: Equipment): number {
  const pieces = tubesOf(draft, equipment);
  if (pieces !== undefined) return pieces;
  draft.notes.push(
    `${equipment.name}: nobody told how many tubes it has, so the plan shows one; change them one by one all the same.`,
  );
  return 1;
}

export function plugIn(course: Course, job: Job): void {
  const list = handledOf(course.draft).filter(
    (each) => job.handled.some((one) => one.id === each.id) && course.unplugged.some((one) => one.id === each.id),
  );
  for (const each of list) {
    const kept = course.unplugged.filter((one) => one.id !== each.id);
    course.unplugged.splice(0, course.unplugged.length, ...kept);
    course.steps.push(
      lookStep(
        {
          id: stepId(course, `plug-in:${each.id}`),
          action: 'plug-in',
          rule: 'K17',
          why: 'Only the person who claimed it, or the named deputy, gives it back.',
          text: plugInText(each),
        },
        course.draft.overrides,
        {
          equipment: each.id,
          needed: 6,
          safeState: 'stay-off',
          cautions: cautionsAt('unplug'),
          personMs: MINUTE_MS,
        },
      ),
    );
  }
}

/** Without a switch of ours the plug itself starts it, so that it stays out until its turn. */
function plugInText(each: Equipment): string {
  if (each.switchEntity === undefined)
    return `Hands out of the water, dry them, then release ${each.name}. If plugging it in would start it, leave its plug out until its start below.`;
  const how = each.quickDisconnect === true ? `join the lead of ${each.name} or plug it in` : `plug ${each.name} in`;
  return `Hands out of the water, dry them, ${how}, then release it.`;
}
