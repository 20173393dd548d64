import { offLimitW } from './context.ts';
import { freshReading } from './evidence.ts';
import { asksForHands, inSafeState, isStuck } from './life-support.ts';
import { effectStands } from './quiet.ts';
import {
  clocksDisagree,
  hubIsDown,
  isEnded,
  keyOf,
  nameOf,
  openStepOf,
  type Run,
  recallNumber,
  recordOf,
} from './run.ts';
import { askedOf, askText } from './typed.ts';
import type { Asked, Step, StepRecord } from './types.ts';

/** Answers that belong to the session rather than to one of its steps. */
export const BEGIN_STEP = '#begin';
export const RESUME_STEP = '#resume';
export const RELEASE_STEP = '#release:';
/** At a hard limit: nobody's hands are in the water, what was agreed may restart. */
export const HANDS_OUT_STEP = '#hands-out';

type Wanted = { readonly step: string; readonly text: string; readonly asks?: Asked };

/** What a person may answer now, derived from the state; null = nothing. */
export function wantedPrompt(run: Run): Wanted | null {
  const { state } = run;
  if (isEnded(state)) {
    const claim = state.claims[0];
    if (!claim) return null;
    const name = nameOf(run, claim.equipment);
    return {
      step: `${RELEASE_STEP}${claim.equipment}`,
      text: `${name} is still claimed by ${claim.person}. With hands out of the water, ${claim.person} may release it; it stays off.`,
    };
  }
  if (hubIsDown(state)) return null;
  if (state.status === 'idle') {
    return { step: BEGIN_STEP, text: beginText(run) };
  }
  if (asksForHands(run)) return { step: HANDS_OUT_STEP, text: handsText(run) };
  if (state.status !== 'held' || !state.hold || clocksDisagree(run)) return null;
  // What was agreed is being restarted: there is nothing to answer before that is done, or cannot be.
  if (inSafeState(run) && !isStuck(run) && state.hold.reason === 'limit-exceeded') return null;
  if (state.hold.reason !== 'person-needed') return { step: RESUME_STEP, text: state.hold.text };
  const step = openStepOf(state);
  if (!step) return null;
  if (step.action === 'reading' && step.reading !== undefined)
    return { step: step.id, text: askText(run, step), asks: askedOf(run, step.reading) };
  return { step: step.id, text: stepText(run, step) };
}

function beginText(run: Run): string {
  const { title, outOfService, lifeSupport = [], allStop } = run.state.plan;
  const names = (ids: readonly string[]): string => ids.map((id) => nameOf(run, id)).join(', ');
  const parts = [
    `${title}: read the plan. Out of service, in this order: ${names(outOfService)}. Confirm at the tank to begin.`,
    'With it you say: I am at the tank, and stay while anything is off.',
  ];
  if (allStop !== undefined)
    parts.push(`All water movers stop: never for longer than ${Math.round(allStop.hardMs / 60_000)} min.`);
  if (lifeSupport.length > 0)
    parts.push(
      `You agree that ${names(lifeSupport)} may be restarted without asking again when no water has moved for too long: only after everything has been read again, unclaimed, and with nobody’s hands in.`,
    );
  return parts.join(' ');
}

function handsText(run: Run): string {
  const list = (run.state.plan.lifeSupport ?? [])
    .filter((id) => run.state.offNow.includes(id))
    .map((id) => nameOf(run, id));
  return `No water moves. Hands out of the water, then confirm that nobody’s hands are in: ${list.join(', ')} is then restarted, as agreed at the start; what is claimed stays off.`;
}

/** A new prompt gets a nonce of its own; one whose words no longer hold is replaced, so that nobody answers the old words. */
export function renewPrompt(run: Run): void {
  const wanted = wantedPrompt(run);
  const shown = run.state.prompt;
  if (wanted === null) {
    run.state.prompt = null;
    return;
  }
  if (shown?.step === wanted.step && shown.text === wanted.text) return;
  run.state.prompt = null;
  if (run.nonce === null) return;
  if (run.state.hold) run.state.hold = { ...run.state.hold, text: wanted.text };
  run.state.prompt = { ...wanted, nonce: run.nonce, appearedAt: run.at };
  run.nonce = null;
}

function stepText(run: Run, step: Step): string {
  return step.action === 'unplug' && step.equipment !== undefined ? unplugText(run, step, step.equipment) : step.text;
}

/** The word "may" is a promise: only with the proof behind it and everything still reading so, freshly. */
function unplugText(run: Run, step: Step, id: string): string {
  const name = nameOf(run, id);
  // Where the lead parts on its low-voltage side, the step's own words say how.
  const parts = run.ctx.equipment[id]?.quickDisconnect === true ? ` ${step.text}` : '';
  const record = lastStopOf(run, id);
  if (!stillProved(run, id)) {
    return `${name}: reported off, not proven: unplug it now. Keep the plug in sight, then confirm.${parts}`;
  }
  return `${name} is proved off (${record?.evidenceText ?? ''}). It may be unplugged: pull its plug, keep it in sight, then confirm.${parts}`;
}

/** A plan may stop the same equipment more than once: its last stop is the one that counts. */
function lastStopOf(run: Run, id: string): StepRecord | undefined {
  const stop = run.state.plan.steps.findLast(
    (step, at) => at < run.state.stepIndex && step.action === 'switch-off' && step.equipment === id,
  );
  return stop && recordOf(run, stop.id);
}

function stillProved(run: Run, id: string): boolean {
  const facts = run.ctx.equipment[id];
  if (!facts || recallNumber(run, keyOf('proved', id)) === null) return false;
  if (recallNumber(run, keyOf('disturbed', id)) !== null || !effectStands(run, id)) return false;
  const relay = freshReading(run, facts.switchEntity);
  const power = freshReading(run, facts.powerEntity);
  return relay?.value === 0 && power !== null && power.value <= offLimitW(facts.normalPowerW, run.ctx.settings);
}
