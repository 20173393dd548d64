import { type ErrorCode, problem, type SlackwaterError } from '../errors/index.ts';
import type { Actor } from '../model/index.ts';
import { formatSpan } from '../units/index.ts';
import { releaseClaim, releaseRefusal } from './claims.ts';
import { recalled } from './memory.ts';
import { BEGIN_STEP, HANDS_OUT_STEP, RELEASE_STEP, RESUME_STEP } from './prompts.ts';
import { closeStep, keyOf, openStep, openStepOf, type Run, remember } from './run.ts';
import { forgetRun } from './switch-off.ts';
import { judgeValue, takeValue } from './typed.ts';
import type { Confirmation, EngineContext, SessionState, Step } from './types.ts';

export type Judgement =
  | { readonly ok: true }
  | { readonly ok: false; readonly code: ErrorCode; readonly why: string; readonly problem: SlackwaterError };

const no = (error: SlackwaterError): Judgement => ({ ok: false, code: error.code, why: error.message, problem: error });

/** Is this an answer to what is asked now, by somebody who may give it? */
export function judgeConfirmation(state: SessionState, confirmation: Confirmation, ctx: EngineContext): Judgement {
  const { prompt } = state;
  if (confirmation.session !== state.id) return no(problem('SW-SES-008'));
  if (state.usedNonces.includes(confirmation.nonce)) return no(problem('SW-SES-006'));
  if (!prompt) return no(problem('SW-SES-013'));
  if (confirmation.step !== prompt.step) {
    return no(problem('SW-SES-004', { found: confirmation.step, expected: prompt.step }));
  }
  if (confirmation.nonce !== prompt.nonce) return no(problem('SW-SES-008'));
  const since = confirmation.at - prompt.appearedAt;
  // People read no faster where a test runs the engine's clock faster.
  const delayMs = ctx.settings.confirmDelayMs;
  if (since < delayMs) {
    const needed = formatSpan(delayMs);
    return no(problem('SW-SES-005', { since: `${Math.max(0, since)} ms`, needed }));
  }
  const who = judgeActor(state, prompt.step, confirmation.actor, ctx);
  if (!who.ok) return who;
  const value = judgeValue(state, prompt.step, confirmation.value);
  return value.ok ? who : no(value.problem);
}

function judgeActor(state: SessionState, asked: string, actor: Actor, ctx: EngineContext): Judgement {
  // A machine may start a session, which only shows the plan. Everything after that is the word of somebody who looked.
  const step = openStepOf(state);
  const what =
    asked === BEGIN_STEP
      ? 'beginning the session'
      : asked === RESUME_STEP
        ? 'resuming'
        : asked.startsWith(RELEASE_STEP)
          ? 'releasing a claim'
          : asked === HANDS_OUT_STEP
            ? 'saying that hands are out of the water'
            : `"${step?.text ?? asked}"`;
  if (actor.kind !== 'person') return no(problem('SW-SES-007', { what }));
  const equipment = asked.startsWith(RELEASE_STEP)
    ? asked.slice(RELEASE_STEP.length)
    : step?.action === 'plug-in' && asked === step.id
      ? step.equipment
      : undefined;
  if (equipment !== undefined) {
    const refusal = releaseRefusal(state, equipment, actor.name, ctx);
    return refusal ? no(refusal) : { ok: true };
  }
  const refusal =
    asked === HANDS_OUT_STEP
      ? handsRefusal(state, actor.name, ctx)
      : presenceRefusal(state, step, asked, actor.name, ctx);
  return refusal ? no(refusal) : { ok: true };
}

const standsFor = (person: string, actor: string, ctx: EngineContext): boolean =>
  person === actor || ctx.deputies[person] === actor;

/** What is handled is answered for by the one who said "I am at the tank", or by the deputy named for that person. */
function presenceRefusal(
  state: SessionState,
  step: Step | undefined,
  asked: string,
  actor: string,
  ctx: EngineContext,
): SlackwaterError | null {
  const present = recalled(state.memory, 'present');
  if (step?.id !== asked || typeof present !== 'string' || standsFor(present, actor, ctx)) return null;
  const handled = step.equipment !== undefined && state.plan.handled.includes(step.equipment);
  const works = step.action === 'hands-on' && state.plan.handled.length > 0;
  // What a look says is well is started next.
  const guards = step.action === 'check' && step.equipment !== undefined && state.offNow.includes(step.equipment);
  return handled || works || guards ? problem('SW-SES-016', { present, person: actor }) : null;
}

/** Hands are out when everybody who has something claimed says so, or the one at the tank where nothing is. */
function handsRefusal(state: SessionState, actor: string, ctx: EngineContext): SlackwaterError | null {
  const present = recalled(state.memory, 'present');
  const people = state.claims.length > 0 ? state.claims.map((claim) => claim.person) : [present];
  const other = people.find((person) => typeof person === 'string' && !standsFor(person, actor, ctx));
  return typeof other === 'string' ? problem('SW-SES-016', { present: other, person: actor }) : null;
}

/** Carries an accepted answer out. True where the session goes on working at once. */
export function acceptConfirmation(run: Run, confirmation: Confirmation, resume: (run: Run) => void): void {
  const { state } = run;
  const asked = confirmation.step;
  state.usedNonces = [...state.usedNonces, confirmation.nonce];
  state.prompt = null;
  if (asked === BEGIN_STEP) {
    const name = confirmation.actor.kind === 'unknown' ? 'unknown' : confirmation.actor.name;
    remember(run, 'beganBy', name);
    // "I am at the tank" is what the begin says; the life support it names is agreed with it.
    remember(run, 'present', name);
    openStep(run, 0);
    return;
  }
  if (asked === RESUME_STEP) {
    resume(run);
    return;
  }
  if (asked.startsWith(RELEASE_STEP)) {
    releaseClaim(run, asked.slice(RELEASE_STEP.length));
    return;
  }
  if (asked === HANDS_OUT_STEP) {
    remember(run, 's.handsOut', run.at);
    return;
  }
  const step = openStepOf(state);
  if (!step || confirmation.actor.kind !== 'person') return;
  if (step.action === 'reading' && step.reading !== undefined) answerValue(run, step, confirmation);
  else answerStep(run, step, confirmation.actor.name);
}

function answerValue(run: Run, step: Step, confirmation: Confirmation): void {
  const judged = judgeValue(run.state, step.id, confirmation.value);
  if (!judged.ok || judged.value === null || confirmation.actor.kind !== 'person') return;
  takeValue(run, step, judged.value, confirmation.actor.name, confirmation.value !== undefined);
}

function answerStep(run: Run, step: Step, person: string): void {
  const id = step.equipment;
  switch (step.action) {
    case 'unplug':
      if (id !== undefined) claim(run, id, person);
      closeStep(run, step, 'passed', 6, `${person} has the plug in hand; claimed`, person);
      return;
    case 'plug-in':
      if (id !== undefined) releaseClaim(run, id);
      closeStep(run, step, 'passed', 6, `${person} plugged it in and released it`, person);
      return;
    case 'switch-off':
      if (id !== undefined) {
        run.state.offNow = [...run.state.offNow.filter((each) => each !== id), id];
        forgetRun(run, id);
        remember(run, keyOf('offAt', id), run.at);
      }
      closeStep(run, step, 'passed', 5, `${person} switched it off and saw it stand still`, person);
      return;
    case 'switch-on':
      run.state.offNow = run.state.offNow.filter((each) => each !== id);
      closeStep(run, step, 'passed', 5, `${person} switched it on and saw it run`, person);
      return;
    default:
      closeStep(run, step, 'passed', 5, `${person} says so`, person);
  }
}

function claim(run: Run, equipment: string, person: string): void {
  const deputy = run.ctx.deputies[person];
  run.state.claims = [
    ...run.state.claims.filter((each) => each.equipment !== equipment),
    { equipment, person, since: run.at, session: run.state.id, ...(deputy === undefined ? {} : { deputy }) },
  ];
}
