import { freshAfter, freshReading } from './evidence.ts';
import { flowProved, flowSources, needsFlow } from './flow.ts';
import { anyLevelNow, levelMark } from './level.ts';
import { askAfresh, hold, nameOf, openSince, passed, type Run, recallNumber } from './run.ts';
import type { Facts } from './switching.ts';
import type { Step } from './types.ts';

/** Beside the time flow must be proved for, so long may pass until its first report. */
const A_MINUTE_MS = 60_000;

/** What must be so at the moment something is told to start. */
export function mayStart(run: Run, step: Step, facts: Facts): boolean {
  if (!plugHeard(run, step, facts)) return false;
  if (facts.effect !== undefined && !levelHeard(run, step, facts)) return false;
  if (!needsFlow(run, facts.id)) return true;
  return temperatureBelievable(run, step, facts) && flowBelievable(run, step, facts) && isImmersed(run, step, facts);
}

/** So long may pass until a level sensor that was not asked lately speaks again. */
const LEVEL_WAIT_MS = 10 * A_MINUTE_MS;

/** What moves the level is not started blind: where a sensor told it before the session, it tells it now. */
function levelHeard(run: Run, step: Step, facts: Facts): boolean {
  if (levelMark(run) === null || anyLevelNow(run) !== null) return true;
  if (!passed(run, openSince(run, step), step.timeoutMs)) {
    askAfresh(run, [run.ctx.sumpLevelEntity]);
    return false;
  }
  const text = `${facts.name} stays off: the sump level is not freshly known. Check the sensor, then resume; or start it by hand and abort.`;
  hold(run, 'unknown-reading', text);
  return false;
}

/** So far below its level from before a heater in the sump may stand out of the water. */
const IMMERSED_WITHIN_CM = 3;

/** K5, I3: where the level tells, a heater is not started into a sump that has lost its water, nor into one nobody sees. */
function isImmersed(run: Run, step: Step, facts: Facts): boolean {
  const mark = levelMark(run);
  if (facts.inSump === false || mark === null) return true;
  const level = anyLevelNow(run);
  if (level !== null && level >= mark - IMMERSED_WITHIN_CM) return true;
  if (!passed(run, openSince(run, step), Math.max(step.timeoutMs, LEVEL_WAIT_MS))) {
    askAfresh(run, [run.ctx.sumpLevelEntity]);
    return false;
  }
  if (level === null) {
    const text = `${facts.name} stays off: the sump level is not freshly known, so it may be out of the water. Check the sensor, then resume.`;
    hold(run, 'unknown-reading', text);
  } else {
    const text = `${facts.name} stays off: the sump stands at ${level.toFixed(1)} cm, ${(mark - level).toFixed(1)} cm below its level from before, so it may be out of the water. Put the water back, then resume.`;
    hold(run, 'limit-exceeded', text);
  }
  return false;
}

/** K5, I3: the water around a heater has moved, provably, for long enough. */
function flowBelievable(run: Run, step: Step, facts: Facts): boolean {
  if (flowProved(run, facts)) return true;
  const sources = flowSources(run, facts);
  const waitMs = Math.max(step.timeoutMs, run.ctx.settings.flowMs + A_MINUTE_MS);
  if (!passed(run, openSince(run, step), waitMs)) {
    askAfresh(
      run,
      sources.flatMap((id) => [run.ctx.equipment[id]?.switchEntity, run.ctx.equipment[id]?.powerEntity]),
    );
    return false;
  }
  const names = sources.map((id) => nameOf(run, id)).join(', ');
  const text = `${facts.name} stays off: no flow past it is proved (${names}). Look whether it runs, then resume.`;
  hold(run, 'effect-missing', text);
  return false;
}

/** Nothing is energised through a plug that has not been heard of lately. */
function plugHeard(run: Run, step: Step, facts: Facts): boolean {
  const upsetAt = recallNumber(run, 'upsetAt');
  const relay = freshAfter(run, facts.switchEntity, upsetAt ?? 0);
  // After the world was out of sight its meter is read again, too: the relay alone may be an old belief of the hub.
  const meter =
    upsetAt === null || facts.powerEntity === undefined || freshAfter(run, facts.powerEntity, upsetAt) !== null;
  if (relay !== null && meter) return true;
  if (!passed(run, openSince(run, step), step.timeoutMs)) {
    askAfresh(run, [facts.switchEntity, facts.powerEntity]);
    return false;
  }
  hold(
    run,
    'unknown-reading',
    `${facts.name} stays off: its plug has not been heard. Check plug and network, then resume.`,
  );
  return false;
}

function temperatureBelievable(run: Run, step: Step, facts: Facts): boolean {
  const entities = run.ctx.temperatureEntities;
  const values = entities.map((entity) => freshReading(run, entity)?.value);
  const known = values.filter((value) => value !== undefined);
  const gapC = known.length === 0 ? 0 : Math.max(...known) - Math.min(...known);
  if (known.length === entities.length && gapC <= run.ctx.settings.probeGapC) return true;
  if (!passed(run, openSince(run, step), step.timeoutMs)) {
    askAfresh(run, entities);
    return false;
  }
  if (known.length < entities.length) {
    hold(
      run,
      'unknown-reading',
      `${facts.name} stays off: a temperature is not freshly known. Check the probes, then resume.`,
    );
  } else {
    const text = `${facts.name} stays off: the temperatures differ by ${gapC.toFixed(1)} °C, so one of them is wrong. Check with a glass thermometer, then resume.`;
    hold(run, 'contradiction', text);
  }
  return false;
}
