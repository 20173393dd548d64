import { offLimitW } from './context.ts';
import { freshAfter, freshReading, isQuiet, proofFrom } from './evidence.ts';
import { levelMark, levelNow } from './level.ts';
import { mayStop } from './may-stop.ts';
import { recalled } from './memory.ts';
import {
  alarm,
  askAfresh,
  closeStep,
  hold,
  keyOf,
  openSince,
  passed,
  type Run,
  recallNumber,
  recallText,
  recordOf,
  remember,
  showEvidence,
} from './run.ts';
import { type Facts, factsOf, sendCommand, startedAt, unheardText, watts } from './switching.ts';
import type { Rung, Step } from './types.ts';

/** K18: a relay freshly off, watts fallen and quiet, and the effect where there is one. */
export function switchOff(run: Run, step: Step): void {
  const facts = factsOf(run, step);
  if (startedAt(run) === null) {
    if (!mayStop(run, step, facts) || !heardBefore(run, step, facts)) return;
    beginOff(run, step, facts);
  }
  const seen = lookOff(run, step, facts);
  showEvidence(run, step, seen.rung, seen.text);
  if (seen.done) {
    finishOff(run, step, facts, seen);
    return;
  }
  // After a restart the plug is read first; only one that still reads on is told again.
  if (recallNumber(run, 's.look') !== null && seen.relay === 'on' && (recallNumber(run, 's.left') ?? 0) > 0) {
    // What held before the first command may no longer hold: judged again.
    if (mayStop(run, step, facts)) sendCommand(run, step, facts, 'off');
    return;
  }
  if (passed(run, startedAt(run) ?? run.at, step.timeoutMs)) {
    // What was only looked at and does not read on is never told again.
    const again = recallNumber(run, 's.look') === null && (recallNumber(run, 's.left') ?? 0) > 0;
    // A plug that says off may only echo the first command: the second one may be what stops it.
    if (again && mayStop(run, step, facts)) sendCommand(run, step, facts, 'off');
    else if (!again) giveUpOff(run, step, facts, seen);
    return;
  }
  askAfresh(run, [facts.switchEntity, facts.powerEntity, step.needed === 4 ? facts.effect?.entity : undefined]);
}

/**
 * Only a fall that is caught proves anything, and only of a relay that reads on: both are heard before the command. Without
 * end nobody waits for them.
 */
function heardBefore(run: Run, step: Step, facts: Facts): boolean {
  if (facts.powerEntity === undefined) return true;
  const wanted = [facts.switchEntity, facts.powerEntity];
  if (wanted.every((entity) => entity === undefined || freshReading(run, entity) !== null)) return true;
  if (passed(run, openSince(run, step), step.timeoutMs / 2)) return true;
  askAfresh(run, wanted);
  return false;
}

function beginOff(run: Run, step: Step, facts: Facts): void {
  const before = freshReading(run, facts.powerEntity)?.value;
  const relay = freshReading(run, facts.switchEntity)?.value;
  if (relay === 1) remember(run, keyOf('was', facts.id), 'on');
  // Stopped before anything was checked, as in answer to a leak: what it was then is what it was.
  else if (relay === 0 && recallText(run, keyOf('was', facts.id)) === null)
    remember(run, keyOf('was', facts.id), 'off');
  remember(run, keyOf('pre', facts.id), relay === 1 ? (before ?? null) : null);
  remember(run, 's.level', levelNow(run) ?? levelMark(run));
  remember(run, keyOf('level', facts.id), recallNumber(run, 's.level'));
  remember(run, 's.left', run.ctx.settings.retries + 1);
  forgetRun(run, facts.id);
  if (!run.state.offNow.includes(facts.id)) run.state.offNow = [...run.state.offNow, facts.id];
  sendCommand(run, step, facts, 'off');
}

/** What was proved or told of it while it ran, or of an earlier stop, says nothing of this one. */
export function forgetRun(run: Run, id: string): void {
  for (const what of [
    'offAt',
    'onSent',
    'proved',
    'ls.back',
    'ls.gaveUp',
    'ls.sentAt',
    'ls.tries',
    'disturbed',
    'revived',
  ]) {
    remember(run, keyOf(what, id), null);
  }
  for (const what of ['on', 'hot', 'off']) remember(run, keyOf('told', keyOf(what, id)), null);
}

type SeenOff = {
  readonly relay: 'off' | 'on' | 'unknown';
  readonly hotW: number | null;
  readonly provable: boolean;
  readonly quiet: boolean;
  readonly rise: number | null;
  readonly effect: boolean;
  readonly rung: Rung;
  readonly text: string;
  readonly done: boolean;
};

function lookOff(run: Run, step: Step, facts: Facts): SeenOff {
  const relayReading = freshAfter(run, facts.switchEntity, proofFrom(run));
  const relay = relayReading === null ? 'unknown' : relayReading.value === 0 ? 'off' : 'on';
  const limitW = offLimitW(facts.normalPowerW, run.ctx.settings);
  const power = freshAfter(run, facts.powerEntity, proofFrom(run));
  const hotW = power !== null && power.value > limitW ? power.value : null;
  const pre = recallNumber(run, keyOf('pre', facts.id));
  // Only a fall that was caught proves anything: what drew nothing before the command would draw nothing after it too.
  const provable = recalled(run.state.memory, keyOf('was', facts.id)) === 'on' && pre !== null && pre > limitW;
  const quiet = isQuiet(run, facts.powerEntity);
  const level = levelNow(run);
  const level0 = recallNumber(run, 's.level');
  const rise = level === null || level0 === null ? null : level - level0;
  const effect = rise !== null && facts.effect !== undefined && rise >= facts.effect.atLeast;
  const quietEnough =
    facts.powerEntity === undefined ||
    // Where the effect counts as proof, the watts beside it must be as quiet as any proof asks.
    (provable || step.needed === 4 ? quiet : power !== null && (recallNumber(run, 's.quiet') ?? 0) >= 1);
  const rung = rungOff(run, step, relay === 'off', provable && quiet, effect);
  return {
    relay,
    hotW,
    provable,
    quiet,
    rise,
    effect,
    rung,
    text: textOff(run, step, facts, { relay, pre, provable, rise }),
    done: relay === 'off' && quietEnough && (step.needed !== 4 || effect),
  };
}

function rungOff(run: Run, step: Step, relayOff: boolean, wattsFell: boolean, effect: boolean): Rung {
  if (!relayOff) return recallNumber(run, 's.acknowledged') === null ? 0 : 1;
  if (step.needed === 4 && effect) return 4;
  return wattsFell ? 3 : 2;
}

function textOff(
  run: Run,
  step: Step,
  facts: Facts,
  seen: {
    readonly relay: SeenOff['relay'];
    readonly pre: number | null;
    readonly provable: boolean;
    readonly rise: number | null;
  },
): string {
  const parts: string[] = [];
  if (seen.relay === 'unknown') parts.push(unheardText(run));
  else parts.push(`relay ${seen.relay}`);
  const now = recallNumber(run, 's.watts');
  const count = recallNumber(run, 's.quiet') ?? 0;
  if (facts.powerEntity === undefined) parts.push('no watts to see');
  else if (now !== null) parts.push(`${watts(now)}${count > 0 ? ` in ${count} reading${count === 1 ? '' : 's'}` : ''}`);
  if (seen.pre !== null && seen.provable) parts.push(`${watts(seen.pre)} before`);
  if (recalled(run.state.memory, keyOf('was', facts.id)) === 'off')
    parts.push('was off before the session: idle watts prove nothing');
  else if (facts.powerEntity !== undefined && !seen.provable)
    parts.push('drew nothing before: zero watts prove nothing');
  if (step.needed === 4 && seen.rise !== null) parts.push(`sump rose ${seen.rise.toFixed(1)} cm`);
  return parts.join(', ');
}

function finishOff(run: Run, step: Step, facts: Facts, seen: SeenOff): void {
  const proved = seen.provable && seen.quiet && (step.needed !== 4 || seen.effect);
  if (proved) remember(run, keyOf('proved', facts.id), run.at);
  remember(run, keyOf('offAt', facts.id), run.at);
  const result = seen.rung >= 3 ? 'passed' : 'passed-unproven';
  closeStep(run, step, result, seen.rung, proved ? seen.text : `${seen.text}; reported off, not proven`);
}

const WHAT_NOW = 'Then resume, and everything is read again; or abort.';

function giveUpOff(run: Run, step: Step, facts: Facts, seen: SeenOff): void {
  const { name } = facts;
  const tries = recordOf(run, step.id)?.tries ?? 0;
  if (seen.relay === 'unknown') {
    const text = `${name}: its plug has not reported since the command, so nothing is known of it. Check plug and network. ${WHAT_NOW}`;
    hold(run, 'unknown-reading', text);
  } else if (seen.relay === 'on') {
    const text = `${name} still reads on after ${tries} commands. Look at the plug; unplug it if it does not obey. ${WHAT_NOW}`;
    hold(run, 'not-proven', text);
  } else if (seen.hotW !== null) {
    const text = `${name} says off but still draws ${watts(seen.hotW)}: its relay may be welded, or the plug only echoes the command. Unplug it now. ${WHAT_NOW}`;
    alarm(run, 'contradiction', text);
    hold(run, 'contradiction', text);
  } else if (
    facts.powerEntity !== undefined &&
    !(seen.provable || step.needed === 4 ? seen.quiet : recallNumber(run, 's.quiet') !== null)
  ) {
    const text = `${name} reads off, but its watts have not been heard often enough to prove it. Check the plug’s reports. ${WHAT_NOW}`;
    hold(run, 'unknown-reading', text);
  } else {
    const rise = seen.rise === null ? 'is not known' : `rose only ${seen.rise.toFixed(1)} cm`;
    const text = `${name} reads off, but the sump ${rise}: look whether it really stands still. ${WHAT_NOW}`;
    hold(run, seen.rise === null ? 'unknown-reading' : 'effect-missing', text);
  }
}
