import type { Equipment } from '../model/index.ts';
import { cautionTexts, ROLES, ruleSetting } from '../rules/index.ts';
import { MINUTE_MS } from '../units/index.ts';
import { refuse } from './closure.ts';
import { type Course, type Draft, isOff, lookStep, stepId } from './draft.ts';
import { darkAt } from './light.ts';
import type { SessionPlan, Step } from './types.ts';

const moversOf = (draft: Draft): readonly Equipment[] =>
  draft.tank.equipment.filter((each) => ROLES[each.role].waterMover);

/**
 * K16: before the last mover stops, somebody says that they stay, or that a timer outside this service brings it back.
 * Without either there is no such plan.
 */
export function personStays(course: Course, next: Equipment): void {
  const { draft } = course;
  if (!ROLES[next.role].waterMover) return;
  const running = moversOf(draft).filter((each) => each.id !== next.id && !isOff(course, each));
  if (running.length > 0) return;
  const by = draft.options.allStop;
  if (by === undefined) {
    refuse(
      draft.def.title,
      'K16',
      'no water mover would stay on',
      'Leave a circulation pump running, or add one to the tank’s equipment if it has one that is not listed. Only somebody who stays at the tank (add +person-stays) or a timer of the plug itself (add +outside-timer) makes it possible.',
    );
  }
  const clock = allStopOf(draft);
  const hard = Math.round((clock.hardMs ?? 0) / MINUTE_MS);
  course.steps.push(
    lookStep(
      {
        id: stepId(course, 'presence'),
        action: 'check',
        rule: 'K16',
        why: 'The last water mover stops only where something or somebody beside this service brings it back.',
        text:
          by === 'outside-timer'
            ? `All water will stand still. Set the timer of the plug of ${next.name} to switch it on within ${hard} min, see it counting, then confirm.`
            : `All water will stand still. You stay at the tank until it moves again, ${hard} min at most, and start ${next.name} by hand if this service falls silent: confirm that you do.`,
      },
      draft.overrides,
      { cautions: cautionTexts(['people-first']), personMs: MINUTE_MS },
    ),
  );
}

/** K16's clock, halved in the dark. */
export function allStopOf(draft: Draft): NonNullable<SessionPlan['allStop']> {
  const dark = darkAt(draft.tank, draft.options.at);
  const factor = dark ? ruleSetting(draft.overrides, 'K16', 'darkFactor') : 1;
  const ms = (setting: string): number => ruleSetting(draft.overrides, 'K16', setting) * factor;
  return { warnMs: ms('warnMs'), alarmMs: ms('alarmMs'), hardMs: ms('hardMs') };
}

/**
 * Movers one of which is on at any time: those that never stop, and those that only stop one by one while another runs.
 */
export function keptMoversOf(draft: Omit<Draft, 'keptMovers'>): readonly Equipment[] {
  const movers = draft.tank.equipment.filter((each) => ROLES[each.role].waterMover);
  const stopped = new Set(draft.out.map((each) => each.equipment.id));
  const never = movers.filter((each) => !stopped.has(each.id));
  if (never.length > 0) return never;
  const oneByOne = oneByOneOf(draft);
  return movers.filter((each) => oneByOne.has(each.id));
}

/**
 * The kept movers, and where these themselves are off for a while (tried, or changed one by one) those that run meanwhile:
 * at any time that something stands still, one of the list runs.
 */
export function coveringMovers(draft: Draft, steps: readonly Step[]): readonly string[] {
  const kept = draft.keptMovers.map((each) => each.id);
  const movers = moversOf(draft).map((each) => each.id);
  const off = new Set<string>();
  for (const { action, equipment } of steps) {
    if (equipment === undefined || !movers.includes(equipment)) continue;
    if (action === 'switch-off') off.add(equipment);
    if (action === 'switch-on') off.delete(equipment);
    if (off.size === 0 || kept.some((id) => !off.has(id))) continue;
    kept.push(...movers.filter((id) => !off.has(id) && !kept.includes(id)));
  }
  return kept;
}

/** Equipment that is stopped, worked on and started again while everything else of its role runs. */
export function oneByOneOf(draft: Pick<Draft, 'def' | 'jobs'>): ReadonlySet<string> {
  const phases = draft.def.phases ?? [];
  const ids = phases.flatMap((phase) =>
    phase.do === 'one-by-one'
      ? (draft.jobs.find((job) => job.def.id === (phase.of ?? draft.def.id))?.handled ?? []).map((each) => each.id)
      : [],
  );
  return new Set(ids);
}
