import type { Equipment } from '../model/index.ts';
import { type Phase, ROLES, ruleSetting, type WorkItem } from '../rules/index.ts';
import { MINUTE_MS } from '../units/index.ts';
import { inStopOrder, type Job, type Out } from './closure.ts';
import { readySteps, stopAll, stopOne } from './down.ts';
import { type Course, type Draft, isOff, isReturn, lookStep, plainStep, startCourse, stepId } from './draft.ts';
import { itemSteps } from './items.ts';
import { oneByOneOf } from './presence.ts';
import { finishStep, startAll, startOne } from './restore.ts';
import type { Step } from './types.ts';
import { plugIn, rest, unplug, work } from './work.ts';

const USUAL: readonly Phase[] = [
  { do: 'first' },
  { do: 'ready' },
  { do: 'before' },
  { do: 'stop' },
  { do: 'rest' },
  { do: 'unplug' },
  { do: 'work' },
  { do: 'plug-in' },
  { do: 'start' },
  { do: 'end' },
];

/** The phases of the procedure, each laid out for this tank. */
export function layOut(draft: Draft): readonly Step[] {
  const course = startCourse(draft);
  for (const phase of draft.def.phases ?? USUAL) layPhase(course, phase);
  course.steps.push(finishStep());
  return course.steps;
}

function layPhase(course: Course, phase: Phase): void {
  switch (phase.do) {
    case 'ready':
      course.steps.push(...readySteps(course.draft));
      return;
    case 'stop':
      stopAll(course, toStop(course, phase));
      return;
    case 'start':
      startAll(course, toStart(course, phase), phase.keep);
      return;
    case 'try-each':
      tryEach(course);
      return;
    default:
      for (const job of jobsFor(course, phase.of)) layJob(course, phase, job);
  }
}

type JobPhase = Exclude<Phase, { readonly do: 'ready' | 'stop' | 'start' | 'try-each' }>;

function layJob(course: Course, phase: JobPhase, job: Job): void {
  switch (phase.do) {
    case 'first':
      items(course, job, job.def.first);
      return;
    case 'before':
      items(course, job, job.def.before);
      return;
    case 'end':
      items(course, job, job.def.atEnd);
      return;
    case 'rest':
      rest(course, job);
      return;
    case 'unplug':
      unplug(course, job);
      return;
    case 'work':
      work(course, job, phase.part);
      return;
    case 'plug-in':
      plugIn(course, job);
      return;
    case 'one-by-one':
      oneByOne(course, job);
      return;
  }
}

const jobsFor = (course: Course, of: string | undefined): readonly Job[] =>
  course.draft.jobs.filter((job) => job.def.id === (of ?? course.draft.def.id));

function toStop(course: Course, phase: Extract<Phase, { readonly do: 'stop' }>): readonly Out[] {
  const single = oneByOneOf(course.draft);
  return course.draft.out.filter(
    ({ equipment }) =>
      !single.has(equipment.id) &&
      (phase.roles?.includes(equipment.role) ?? true) &&
      !(phase.except?.includes(equipment.role) ?? false),
  );
}

function toStart(course: Course, phase: Extract<Phase, { readonly do: 'start' }>): readonly Out[] {
  const all = [
    ...course.off,
    ...course.draft.alsoStart.filter(({ equipment }) => !isOff(course, equipment) && !course.lastOn.has(equipment.id)),
  ];
  return all.filter(
    ({ equipment }) =>
      (phase.roles?.includes(equipment.role) ?? true) && !(phase.except?.includes(equipment.role) ?? false),
  );
}

/** Items about one role are there once for each equipment of it that the job has; of a whole-tank job, once. */
function items(course: Course, job: Job, list: readonly WorkItem[] | undefined): void {
  for (const item of list ?? []) {
    const about = job.handled.filter((each) => each.role === item.role);
    if (item.role === undefined) course.steps.push(...itemSteps(course, item));
    for (const equipment of item.role === undefined ? [] : about) {
      course.steps.push(...itemSteps(course, item, { equipment }));
    }
  }
}

function oneByOne(course: Course, job: Job): void {
  const due = inStopOrder(course.draft.out).filter((each) => job.handled.some((one) => one.id === each.equipment.id));
  for (const out of due) {
    const list = [out.equipment];
    stopOne(course, out);
    rest(course, job, list);
    unplug(course, job, list);
    work(course, job, undefined, list);
    plugIn(course, job);
    startOne(course, out);
  }
}

/** P0: each plug off and on with a person's hand on it, the one that drains the display apart. */
function tryEach(course: Course): void {
  const { draft } = course;
  const all = draft.tank.equipment
    .filter((each) => each.switchEntity !== undefined && !ROLES[each.role].neverStopped && !isReturn(each))
    .map((equipment): Out => ({ equipment, rule: 'K31', why: 'Its plug is tried with a hand on it.' }));
  for (const out of inStopOrder(all)) {
    const { equipment } = out;
    course.steps.push(handOn(course, equipment, 'hold'));
    stopOne(course, out);
    course.steps.push(handOn(course, equipment, 'seen'));
    if (equipment.role === 'chiller') course.steps.push(compressorRest(course, equipment));
    startOne(course, out);
  }
}

function handOn(course: Course, equipment: Equipment, when: 'hold' | 'seen'): Step {
  const text =
    when === 'hold'
      ? `Dry hands. Put your hand on the plug of ${equipment.name} and see that it is the one its label says; it goes off and on next.`
      : `Does ${equipment.name} stand still, and it alone? If anything else went dark, abort: the names are mixed up.`;
  return lookStep(
    {
      id: stepId(course, `${when}:${equipment.id}`),
      action: 'check',
      rule: 'K31',
      why: 'A plug under the wrong name is the one that is pulled by mistake later.',
      text,
    },
    course.draft.overrides,
    { equipment: equipment.id, personMs: MINUTE_MS / 2 },
  );
}

function compressorRest(course: Course, equipment: Equipment): Step {
  const waitMs = ruleSetting(course.draft.overrides, 'K14', 'restartMs');
  return plainStep(
    {
      id: stepId(course, `pressure:${equipment.id}`),
      action: 'wait',
      rule: 'K14',
      why: 'A compressor started against pressure wears out.',
      text: `Wait: the pressure in ${equipment.name} evens out.`,
    },
    {
      equipment: equipment.id,
      waitMs,
      timeoutMs: waitMs,
      waitFrom: course.lastOff.get(equipment.id) ?? `off:${equipment.id}`,
    },
  );
}
