import { cautionsAt, cautionTexts, ruleSetting } from '../rules/index.ts';
import { type Draft, lookStep, plainStep, waitStep } from './down.ts';
import type { Step } from './types.ts';

/** The part between power-down and restore: unplug with claim, the work, plug in with release. */
export function workSteps(draft: Draft): readonly Step[] {
  return [...beforeUnplug(draft), ...unplugSteps(draft), ...handsOnSteps(draft), ...plugInSteps(draft)];
}

function beforeUnplug(draft: Draft): readonly Step[] {
  const wait = draft.def.beforeUnplug;
  if (!wait) return [];
  const waitMs = ruleSetting(draft.overrides, wait.rule, wait.setting);
  return draft.handled.map((each) => waitStep(`rest:${each.id}`, each, wait.rule, waitMs, 'before it is touched'));
}

function unplugSteps(draft: Draft): readonly Step[] {
  return draft.handled.map((each) =>
    lookStep(
      {
        id: `unplug:${each.id}`,
        action: 'unplug',
        rule: 'K30',
        why: 'Switched off is not isolated: only the plug in your hand is.',
        text: `Unplug ${each.name} and say so. From then on it is claimed by you.`,
      },
      draft.overrides,
      { equipment: each.id, needed: 6, safeState: 'stay-off', cautions: cautionsAt('unplug') },
    ),
  );
}

function handsOnSteps(draft: Draft): readonly Step[] {
  const ends = draft.def.endsAfter;
  const endsMs = ends ? ruleSetting(draft.overrides, ends.rule, ends.setting) : undefined;
  return draft.def.handsOn.map((work) =>
    lookStep(
      {
        id: `hands-on:${work.id}`,
        action: 'hands-on',
        rule: draft.handled.length > 0 ? 'K17' : 'K35',
        why: draft.handled.length > 0 ? 'The work itself, on claimed equipment.' : 'The pause itself.',
        text:
          endsMs === undefined
            ? work.text
            : `${work.text} It ends by itself after ${Math.round(endsMs / 60_000)} min, as agreed at the start.`,
      },
      draft.overrides,
      {
        safeState: 'stay-off',
        cautions: cautionTexts([
          ...(draft.handled.length > 0 ? ['shock', 'not-isolation'] : ['shock']),
          ...work.cautions,
        ]),
        ...(endsMs === undefined ? {} : { waitMs: endsMs }),
      },
    ),
  );
}

function plugInSteps(draft: Draft): readonly Step[] {
  return draft.handled.map((each) =>
    lookStep(
      {
        id: `plug-in:${each.id}`,
        action: 'plug-in',
        rule: 'K17',
        why: 'Only the person who claimed it, or the named deputy, gives it back.',
        text: `Hands out of the water, dry them, plug ${each.name} in, then release it.`,
      },
      draft.overrides,
      { equipment: each.id, needed: 6, safeState: 'stay-off', cautions: cautionsAt('unplug') },
    ),
  );
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
