import type { EntityId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import type { DurationMs } from '../units/index.ts';
import { noteDeadAgain } from './claims.ts';
import { watchClocks } from './clocks.ts';
import { acceptConfirmation, judgeConfirmation } from './confirm.ts';
import { offLimitW } from './context.ts';
import { abort, endIfDone, endIfIdle } from './ending.ts';
import { countQuiet, fromTheFuture, keepSample, wasDatedAhead } from './evidence.ts';
import { followFlow, tellsOfFlow } from './flow.ts';
import { leftOut } from './going-home.ts';
import { followLevel } from './level.ts';
import { bringSafeState, LIFE_SUPPORT_STEP } from './life-support.ts';
import { clockJumped, clocksCompared, hubBack, hubLost, reread, resume, serviceRestarted } from './link.ts';
import { NOTHING_REMEMBERED } from './memory.ts';
import { followObservation } from './observed.ts';
import { renewPrompt } from './prompts.ts';
import { followQuiet } from './quiet.ts';
import {
  alarm,
  clocksDisagree,
  closeStep,
  hold,
  hubIsDown,
  isEnded,
  keepReading,
  nameOf,
  openStepOf,
  passed,
  type Run,
  recallNumber,
  recordOf,
  remember,
  sameState,
  say,
  sendWishes,
  showEvidence,
  startRun,
} from './run.ts';
import { shiftTimes } from './shift.ts';
import { workStep } from './steps.ts';
import { lookBeforeSending } from './switching.ts';
import { followProposal, judgeValue, readingOf, refuseValue } from './typed.ts';
import type { Confirmation, EngineContext, SessionEffect, SessionEvent, SessionState } from './types.ts';
import { keepLooking, watch } from './watch.ts';
import { followTrial } from './wet.ts';
import { noteDeath } from './wrong-cord.ts';

type Started = Extract<SessionEvent, { readonly kind: 'started' }>;
type Ended = Extract<SessionEvent, { readonly kind: 'command-ended' }>;

/** The plan is shown; nothing moves before a second, separate confirmation. */
export function begin(
  event: Started,
  ctx: EngineContext,
): readonly [state: SessionState, effects: readonly SessionEffect[]] {
  const state: SessionState = {
    id: event.session,
    plan: event.plan,
    ...(event.settings === undefined ? {} : { settings: event.settings }),
    ...(event.tank === undefined ? {} : { tank: event.tank }),
    status: 'idle',
    stepIndex: -1,
    records: event.plan.steps.map((step) => ({
      id: step.id,
      result: 'pending',
      evidence: null,
      evidenceText: '',
      openedAt: null,
      closedAt: null,
      tries: 0,
    })),
    startedAt: event.at,
    startedBy: event.actor,
    claims: [],
    prompt: null,
    hold: null,
    usedNonces: [],
    readings: {},
    baseline: {},
    offNow: [],
    endedAt: null,
    summary: '',
    workedAt: event.at,
    memory: NOTHING_REMEMBERED,
  };
  const run = startRun(state, event.at, asStarted(state, ctx), event.nonce);
  renewPrompt(run);
  if (run.state.prompt) say(run, run.state.prompt.text);
  return [run.state, run.effects];
}

/** One event, one new state, and what is to be done about it. An event that changes nothing gives the same state back. */
export function advance(
  before: SessionState,
  event: SessionEvent,
  ctx: EngineContext,
): readonly [state: SessionState, effects: readonly SessionEffect[]] {
  const setMs = isEnded(before) ? 0 : clockSetBy(before, event);
  const state = setMs === 0 ? before : shiftTimes(before, setMs);
  // The clock of a session never runs backward; an event from before the last one is taken as being now.
  const at = Math.max(event.at, state.workedAt);
  const run = startRun(
    state,
    at,
    asStarted(state, ctx),
    'nextNonce' in event ? event.nextNonce : null,
    event.kind === 'tick',
  );
  followFlow(run);
  take(run, event);
  followFlow(run);
  if (!hubIsDown(run.state)) watch(run);
  watchClocks(run);
  if (!hubIsDown(run.state)) bringSafeState(run);
  work(run);
  if (!hubIsDown(run.state)) followProposal(run);
  renewPrompt(run);
  if (!hubIsDown(run.state)) {
    keepLooking(run);
    sendWishes(run);
  }
  if (run.effects.length === 0 && sameState(state, run.state)) return [state, []];
  run.state.workedAt = at;
  return [run.state, run.effects];
}

const started = new WeakMap<object, EngineContext>();
/** The tank and the thresholds the session was started with, whatever is configured now. */
export function asStarted({ settings, tank }: SessionState, ctx: EngineContext): EngineContext {
  const key = tank ?? settings;
  if (key === undefined || (tank === undefined && settings === ctx.settings)) return ctx;
  const own = settings ?? ctx.settings;
  const known = started.get(key);
  if (known?.settings === own && (tank !== undefined || known.equipment === ctx.equipment)) return known;
  const made = tank === undefined ? { ...ctx, settings: own } : { ...tank, settings: own };
  started.set(key, made);
  return made;
}

/**
 * By how much the clock was set before this event. A service that was down over it cannot have measured that: a clock that
 * stands behind what was done last was set back by that much at least, and the session is not left waiting for it.
 */
function clockSetBy({ workedAt }: SessionState, event: SessionEvent): DurationMs {
  if (event.kind === 'clock-jumped') return event.byMs;
  return event.kind === 'service-restarted' ? Math.min(0, event.at - workedAt) : 0;
}

/** The state after these events; effects of the past are not done again. */
export function replay(events: readonly SessionEvent[], ctx: EngineContext): SessionState | null {
  const [first, ...rest] = events;
  if (first?.kind !== 'started') return null;
  return rest.reduce<SessionState>((state, event) => advance(state, event, ctx)[0], begin(first, ctx)[0]);
}

function take(run: Run, event: SessionEvent): void {
  switch (event.kind) {
    case 'started':
    case 'tick':
      return;
    case 'confirmed':
    case 'resume':
      takeAnswer(run, event.confirmation);
      return;
    case 'readings':
      for (const reading of event.readings) {
        takeReading(run, reading);
        if (tellsOfFlow(run, reading.entity)) followFlow(run);
      }
      return;
    case 'command-ended':
      takeOutcome(run, event);
      return;
    case 'hub-lost':
      hubLost(run);
      return;
    case 'hub-back':
      hubBack(run);
      return;
    case 'service-restarted':
      serviceRestarted(run, event.changed ?? []);
      return;
    case 'clock-jumped':
      clockJumped(run, event.byMs);
      return;
    case 'clock-skew':
      clocksCompared(run, event.skewMs);
      return;
    case 'abort':
      if (!isEnded(run.state)) abort(run, event.actor);
  }
}

function takeAnswer(run: Run, confirmation: Confirmation): void {
  // An answer cannot have been given later than it arrived.
  const given = { ...confirmation, at: Math.min(confirmation.at, run.at) };
  const judgement = judgeConfirmation(run.state, given, run.ctx);
  if (judgement.ok) acceptConfirmation(run, given, resume);
  else if (judgement.code === 'SW-SES-019') askAgain(run, given, judgement.why);
  else say(run, `Not taken: ${judgement.why}`);
}

/** Everything about the answer is right but the value: it is noted, and asked again with words. */
function askAgain(run: Run, given: Confirmation, why: string): void {
  const step = openStepOf(run.state);
  const judged = judgeValue(run.state, given.step, given.value);
  if (!step || judged.ok || judged.wrong === null || readingOf(run.state, given.step) === null) return;
  run.state.usedNonces = [...run.state.usedNonces, given.nonce];
  refuseValue(run, step, judged.wrong, why, given.actor.kind === 'unknown' ? 'somebody' : given.actor.name);
}

function takeReading(run: Run, reading: Reading): void {
  const known = run.state.readings[reading.entity];
  if (known && reading.reportedAt < known.reportedAt && !wasDatedAhead(run, known, reading)) return;
  keepReading(run, reading);
  followTrial(run, reading);
  noteDeadAgain(run, reading);
  if (fromTheFuture(reading, run.at)) {
    // Its time is wrong by what the clocks are known to differ: it proves nothing, and still shows where the water goes.
    if (reading.entity === run.ctx.sumpLevelEntity && clocksDisagree(run)) followLevel(run, reading);
    return;
  }
  if (run.state.stepIndex >= 0) noteDeath(run, reading, known);
  if (reading.entity === run.ctx.sumpLevelEntity) followLevel(run, reading);
  if (run.state.plan.handled.length > 0) followQuiet(run, reading);
  const step = openStepOf(run.state);
  if (step && powerOf(run, step.equipment) === reading.entity) {
    const normal = run.ctx.equipment[step.equipment ?? '']?.normalPowerW;
    if (step.action === 'switch-off') countQuiet(run, reading, offLimitW(normal, run.ctx.settings));
    if (step.action === 'switch-on') keepSample(run, reading);
  }
  if (step?.action === 'observe') followObservation(run, step, reading);
}

const powerOf = (run: Run, id: string | undefined): EntityId | undefined =>
  id === undefined ? undefined : run.ctx.equipment[id]?.powerEntity;

/** A command's own outcome proves nothing beyond that the device answered; a refusal stops the session. */
function takeOutcome(run: Run, event: Ended): void {
  const { command, outcome } = event;
  if (isEnded(run.state)) return;
  const failed = outcome === 'refused' || outcome === 'invalid';
  const why = outcome === 'invalid' ? 'cannot carry out' : 'did not take';
  const told = `The hub ${why} the command for ${nameOf(run, command.equipment)}: ${event.detail}.`;
  if (command.step.startsWith(LIFE_SUPPORT_STEP) && failed)
    alarm(run, 'command-refused', `${told} Start it by hand now.`);
  const step = openStepOf(run.state);
  if (!step || step.id !== command.step) return;
  if (failed) {
    if (run.state.status !== 'running') return;
    const next = outcome === 'invalid' ? 'Correct the configuration or the hub' : 'Put it right';
    hold(run, 'command-refused', `${told} ${next}, then resume; or abort.`);
    return;
  }
  remember(run, 's.outcome', OUTCOME_WORDS[outcome]);
  if (outcome === 'confirmed') remember(run, 's.acknowledged', run.at);
  // Nobody knows whether it arrived: the plug is read, and told at most once more if it freshly says that it did not.
  if (outcome === 'sent-unconfirmed' && recallNumber(run, 's.acknowledged') === null) {
    lookBeforeSending(run, Math.min(1, recallNumber(run, 's.left') ?? 0));
  }
  if ((recordOf(run, step.id)?.evidence ?? 0) < 1)
    showEvidence(run, step, outcome === 'confirmed' ? 1 : 0, OUTCOME_WORDS[outcome]);
}

const OUTCOME_WORDS: Readonly<Record<Exclude<Ended['outcome'], 'refused' | 'invalid'>, string>> = {
  confirmed: 'the device acknowledged the command',
  'still-working': 'the hub is still at work on the command',
  'sent-unconfirmed': 'the command went out, nothing tells whether it arrived: the plug is read',
};

function work(run: Run): void {
  const { state } = run;
  endIfIdle(run);
  endPause(run);
  for (let guard = 0; guard <= state.plan.steps.length; guard++) {
    if (hubIsDown(state) || clocksDisagree(run)) return;
    if (state.status === 'restarting' && !reread(run)) return;
    if (state.status !== 'running') return;
    const step = openStepOf(state);
    if (!step) {
      endIfDone(run);
      return;
    }
    const before = state.stepIndex;
    if (leftOut(run, step)) continue;
    workStep(run, step);
    if (state.stepIndex === before) return;
  }
}

/** A pause agreed at the start ends by itself, unless hands may be in the water or the world was lost from sight. */
function endPause(run: Run): void {
  const step = openStepOf(run.state);
  const waiting = run.state.status === 'held' && run.state.hold?.reason === 'person-needed';
  if (step?.action !== 'hands-on' || step.waitMs === undefined || !waiting) return;
  const opened = run.state.records.find((each) => each.id === step.id)?.openedAt ?? run.at;
  if (!passed(run, opened, step.waitMs)) return;
  if (run.state.claims.length > 0 || recallNumber(run, 'shaken') !== null) return;
  closeStep(run, step, 'passed', null, 'ended by itself, as agreed at the start');
}
