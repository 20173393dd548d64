import { roomTrouble } from './check.ts';
import { offLimitW } from './context.ts';
import { freshReading } from './evidence.ts';
import { levelNow } from './level.ts';
import { entitiesOfMovers, isMover, moversLeft, noneProved } from './movers.ts';
import { askAfresh, hold, nameOf, openSince, passed, type Run, recallText } from './run.ts';
import type { Facts } from './switching.ts';
import type { HoldReason, Step } from './types.ts';

type Trouble = { readonly reason: HoldReason; readonly text: string; readonly ask: readonly (string | undefined)[] };

/**
 * Judged again when the command is about to go out: between the first check and this step lie waits, and what was proved
 * then may be gone. Nothing is held for what may only have to be heard; that is asked for first.
 */
export function mayStop(run: Run, step: Step, facts: Facts): boolean {
  if (standsStill(run, facts)) return true;
  const trouble = noOtherMover(run, facts) ?? noRoom(run, facts);
  if (trouble === null) return true;
  if (trouble.ask.length > 0 && !passed(run, openSince(run, step), step.timeoutMs)) askAfresh(run, trouble.ask);
  else hold(run, trouble.reason, trouble.text);
  return false;
}

/** Off already, by relay and by watts: told so once more, nothing stops. */
function standsStill(run: Run, facts: Facts): boolean {
  if (freshReading(run, facts.switchEntity)?.value !== 0) return false;
  if (facts.powerEntity === undefined) return true;
  const power = freshReading(run, facts.powerEntity);
  return power !== null && power.value <= offLimitW(facts.normalPowerW, run.ctx.settings);
}

/**
 * K16, I5: no mover goes off unless another is proved to run at that moment. The last one goes off only where the plan
 * says so with its clock, and somebody has said to be at the tank.
 */
function noOtherMover(run: Run, facts: Facts): Trouble | null {
  if (!isMover(run, facts.id)) return null;
  const others = moversLeft(run, facts.id);
  if (!noneProved(run, others)) return null;
  if (run.state.plan.allStop !== undefined && recallText(run, 'present') !== null) return null;
  const why =
    others.length === 0
      ? 'it is the last water mover, and this plan has no clock for that'
      : `no other water mover is proved to run (${others.map((id) => nameOf(run, id)).join(', ')})`;
  const text = `${facts.name} is not stopped: ${why}. Start another one, then resume; or abort.`;
  return { reason: 'effect-missing', text, ask: entitiesOfMovers(run, others) };
}

/** K10, I6: what drains down must fit above the level as it is now, freshly. */
function noRoom(run: Run, facts: Facts): Trouble | null {
  const entity = run.ctx.sumpLevelEntity;
  if (facts.effect === undefined || entity === undefined) return null;
  if (levelNow(run) === null) {
    const text = `${facts.name} is not stopped: the sump level is not freshly known. Check the sensor, then resume; or abort.`;
    return { reason: 'unknown-reading', text, ask: [entity] };
  }
  const text = roomTrouble(run);
  return text === null ? null : { reason: 'limit-exceeded', text, ask: [] };
}
