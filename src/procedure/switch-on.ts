import { offLimitW } from './context.ts';
import { freshAfter, freshReading, near, proofFrom, restartProof, windowMean } from './evidence.ts';
import { goesHome } from './going-home.ts';
import { levelMark, levelNow } from './level.ts';
import { mayStart } from './may-start.ts';
import { recalled } from './memory.ts';
import { isMover } from './movers.ts';
import { darkText } from './pieces.ts';
import {
  askAfresh,
  claimOn,
  closeStep,
  hold,
  keyOf,
  passed,
  type Run,
  recallNumber,
  recordOf,
  remember,
  showEvidence,
} from './run.ts';
import { type Facts, factsOf, sendCommand, startedAt, unheardText, watts } from './switching.ts';
import type { Rung, Step } from './types.ts';

/** K19: a relay freshly on, watts in their window for long enough, and the effect where there is one. */
export function switchOn(run: Run, step: Step): void {
  const facts = factsOf(run, step);
  if (refusesClaimed(run, facts)) return;
  if (recalled(run.state.memory, keyOf('was', facts.id)) === 'off' && step.evenIfOff !== true) {
    leaveOff(run, step, facts);
    return;
  }
  if (startedAt(run) === null && !beginOn(run, step, facts)) return;
  const seen = lookOn(run, step, facts);
  showEvidence(run, step, seen.rung, seen.text);
  if (seen.done) {
    finishOn(run, step, facts, seen);
    return;
  }
  if (recallNumber(run, 's.look') !== null && seen.relay === 'off' && (recallNumber(run, 's.left') ?? 0) > 0) {
    if (mayStart(run, step, facts)) sendCommand(run, step, facts, 'on');
    return;
  }
  if (passed(run, startedAt(run) ?? run.at, step.timeoutMs)) {
    // What was only looked at, or is not heard, is never told again.
    const mayRetry = recallNumber(run, 's.look') === null && seen.relay !== 'unknown';
    const again = mayRetry && (recallNumber(run, 's.left') ?? 0) > 0;
    if (again && mayStart(run, step, facts)) sendCommand(run, step, facts, 'on');
    else if (!again) giveUpOn(run, step, facts, seen);
    return;
  }
  askAfresh(run, [facts.switchEntity, facts.powerEntity, needsEffect(run, step) ? facts.effect?.entity : undefined]);
}

/** What was found running has had its effect already. */
const needsEffect = (run: Run, step: Step): boolean => step.needed === 4 && recallNumber(run, 's.found') === null;

/** I2: what is claimed is never energised by us. */
function refusesClaimed(run: Run, facts: Facts): boolean {
  const claim = claimOn(run.state, facts.id);
  if (!claim) return false;
  hold(run, 'command-refused', `${facts.name} is claimed by ${claim.person}: it stays off until released.`);
  return true;
}

/** Back means back under its driver: what was off before is not switched on by us. */
function leaveOff(run: Run, step: Step, facts: Facts): void {
  run.state.offNow = run.state.offNow.filter((id) => id !== facts.id);
  closeStep(run, step, 'skipped', null, 'was off before the session: left off, back under its driver');
}

/** False while a start has to wait: one start at a time (K22), no heater on a temperature nobody believes (K5). */
function beginOn(run: Run, step: Step, facts: Facts): boolean {
  const lastStart = recallNumber(run, 'lastOnAt');
  if (lastStart !== null && !passed(run, lastStart, run.ctx.settings.staggerMs)) return false;
  if (!mayStart(run, step, facts)) return false;
  remember(run, 's.level', levelNow(run) ?? null);
  remember(run, 's.left', run.ctx.settings.retriesOn + 1);
  if (goesHome(run) && isMover(run, facts.id) && freshReading(run, facts.switchEntity)?.value === 1) {
    // Brought back meanwhile, as agreed or by hand: it is proved, not told again.
    remember(run, 's.found', 1);
    restartProof(run);
    remember(run, 's.sentAt', run.at);
    return true;
  }
  // Whatever is told to start is answered for until it is proved, whoever switched it off.
  if (!run.state.offNow.includes(facts.id)) run.state.offNow = [...run.state.offNow, facts.id];
  remember(run, 'lastOnAt', run.at);
  remember(run, keyOf('onSent', facts.id), run.at);
  sendCommand(run, step, facts, 'on');
  return true;
}

type SeenOn = {
  readonly relay: 'on' | 'off' | 'unknown';
  readonly meanW: number | null;
  readonly inWindow: boolean;
  readonly wattsCount: boolean;
  readonly fall: number | null;
  readonly effect: boolean;
  readonly rung: Rung;
  readonly text: string;
  readonly done: boolean;
};

function lookOn(run: Run, step: Step, facts: Facts): SeenOn {
  const relayReading = freshAfter(run, facts.switchEntity, proofFrom(run));
  const relay = relayReading === null ? 'unknown' : relayReading.value === 0 ? 'off' : 'on';
  const wattsCount = facts.powerEntity !== undefined && !facts.cycling;
  const mean = freshAfter(run, facts.powerEntity, proofFrom(run)) === null ? null : windowMean(run);
  const inWindow =
    mean !== null &&
    mean.leastW > offLimitW(facts.normalPowerW, run.ctx.settings) &&
    expected(run, step, facts, mean.meanW);
  const level = levelNow(run);
  const level0 = recallNumber(run, 's.level') ?? levelMark(run);
  const fall = level === null || level0 === null ? null : level0 - level;
  const effect = fall !== null && facts.effect !== undefined && fall >= facts.effect.atLeast;
  let rung: Rung = recallNumber(run, 's.acknowledged') === null ? 0 : 1;
  if (relay === 'on') rung = wattsCount && inWindow ? (needsEffect(run, step) && effect ? 4 : 3) : 2;
  if (relay === 'on' && !wattsCount && needsEffect(run, step) && effect) rung = 4;
  const parts = [relay === 'unknown' ? unheardText(run) : `relay ${relay}`];
  const now = recallNumber(run, 's.watts');
  if (mean !== null) parts.push(`${watts(mean.meanW)} on average`);
  else if (now !== null) parts.push(watts(now));
  if (!wattsCount) parts.push(facts.cycling ? 'draws only now and then: watts prove nothing' : 'no watts to see');
  if (needsEffect(run, step) && fall !== null) parts.push(`sump fell ${fall.toFixed(1)} cm`);
  return {
    relay,
    meanW: mean?.meanW ?? now,
    inWindow,
    wattsCount,
    fall,
    effect,
    rung,
    text: parts.join(', '),
    done: relay === 'on' && (!wattsCount || inWindow) && (!needsEffect(run, step) || effect),
  };
}

/** Like its normal watts, or like what it drew before the session if that was not already far off. */
function expected(run: Run, step: Step, facts: Facts, meanW: number): boolean {
  if (step.expectW !== undefined) return meanW >= step.expectW.low && meanW <= step.expectW.high;
  const { wattsOnTolerance } = run.ctx.settings;
  const before = run.state.baseline[facts.powerEntity ?? ''];
  const normal = facts.normalPowerW;
  if (normal !== undefined && near(meanW, normal, wattsOnTolerance)) return true;
  if (before === undefined) return false;
  const plausible = normal === undefined || before >= normal / 2;
  return plausible && near(meanW, before, wattsOnTolerance);
}

function finishOn(run: Run, step: Step, facts: Facts, seen: SeenOn): void {
  run.state.offNow = run.state.offNow.filter((id) => id !== facts.id);
  const result = seen.rung >= 3 ? 'passed' : 'passed-unproven';
  closeStep(run, step, result, seen.rung, seen.rung >= 3 ? seen.text : `${seen.text}; reported on, not proven`);
}

function giveUpOn(run: Run, step: Step, facts: Facts, seen: SeenOn): void {
  const { name } = facts;
  const tries = recordOf(run, step.id)?.tries ?? 0;
  const next = 'Put it right, then resume; or abort and it is listed as out of service.';
  if (seen.relay === 'unknown') {
    hold(
      run,
      'unknown-reading',
      `${name}: its plug has not reported since the command. Check plug and network. ${next}`,
    );
  } else if (seen.relay === 'off') {
    hold(run, 'not-proven', `${name} still reads off after ${tries} commands. ${next}`);
  } else if (seen.wattsCount && !seen.inWindow) {
    const drawn = seen.meanW === null ? 'its watts are not heard' : `it draws ${watts(seen.meanW)}`;
    const text = `${name} is switched on but ${drawn}${instead(step, facts, seen.meanW)} ${next}`;
    hold(run, seen.meanW === null ? 'unknown-reading' : 'not-proven', text);
  } else {
    const fell = seen.fall === null ? 'is not known' : `fell only ${seen.fall.toFixed(1)} cm`;
    hold(run, 'effect-missing', `${name} runs, but the sump ${fell}: look whether it lifts water. ${next}`);
  }
}

/** What the watts should have been, and what they look like. */
function instead(step: Step, facts: Facts, meanW: number | null): string {
  const set = step.expectW;
  if (set === undefined) {
    const usual = facts.normalPowerW === undefined ? '' : ` instead of about ${watts(facts.normalPowerW)}`;
    return `${usual}: it may be stuck, dry or blocked. Look at it.`;
  }
  const range = ` instead of ${watts(set.low)} to ${watts(set.high)} for all of it`;
  if (meanW === null || meanW >= set.low) return `${range}: look at it.`;
  return `${range}: ${darkText(meanW, set)}. Look which.`;
}
