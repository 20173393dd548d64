import {
  type Confirmation,
  recalled,
  type SessionEffect,
  type SessionEvent,
  type SessionState,
  type Step,
} from '../../../src/procedure/index.ts';
import type { PersonAct, Said, TraceEntry } from '../trace.ts';
import { TANK } from './tank.ts';

// What the judge hears of one event: from the state before and after it and the effects that went out.

/** Commands of the declared safe state name no step of the plan. */
const isOfPlan = (state: SessionState, step: string): boolean => state.plan.steps.some((each) => each.id === step);

export function entriesOf(
  before: SessionState | null,
  event: SessionEvent,
  after: SessionState,
  effects: readonly SessionEffect[],
): TraceEntry[] {
  const { at } = event;
  const entries: TraceEntry[] = [];
  if (event.kind === 'started') entries.push({ kind: 'started', at, person: 'Ada' });
  if (event.kind === 'command-ended')
    entries.push({
      kind: 'command-ended',
      at,
      equipment: event.command.equipment,
      turn: event.command.turn,
      outcome: event.outcome,
    });
  if ((event.kind === 'confirmed' || event.kind === 'resume') && before !== null)
    entries.push(...answered(before, event.confirmation, after, at));
  if (event.kind === 'abort')
    entries.push(act(event.actor.kind === 'person' ? event.actor.name : '?', at, 'aborts', {}));
  for (const effect of effects) entries.push(...ofEffect(after, effect, at));
  entries.push(...steps(before, after, at));
  entries.push(...asks(before, after, at));
  if (after.endedAt !== null && before?.endedAt == null) {
    entries.push({ kind: 'listed', at, equipment: leftOut(after) });
    entries.push({ kind: 'ended', at, result: after.status as 'complete' | 'stopped' | 'aborted' });
  }
  return entries;
}

function ofEffect(state: SessionState, effect: SessionEffect, at: number): TraceEntry[] {
  switch (effect.kind) {
    case 'command': {
      const { equipment, turn, step } = effect.command;
      return [{ kind: 'command', at, equipment, turn, step, origin: isOfPlan(state, step) ? 'session' : 'all-stop' }];
    }
    case 'driver':
      return [{ kind: 'driver', at, equipment: effect.equipment, turn: effect.turn }];
    case 'alarm':
      return alarms(state, effect.code, effect.text, at);
    case 'say':
      return [{ kind: 'said', at, what: 'say', text: effect.text }];
    default:
      return [];
  }
}

/** An alarm speaks of what it names: a person reads no other field. */
function alarms(state: SessionState, code: string, text: string, at: number): TraceEntry[] {
  const named = TANK.equipment.filter((each) => text.includes(each.name)).map((each) => each.id);
  const said: Said = { kind: 'said', at, what: 'alarm', code, text };
  const claimed = named.filter((id) => state.claims.some((claim) => claim.equipment === id));
  const about = claimed.length > 0 ? claimed : named;
  return about.length === 0 ? [said] : about.map((equipment) => ({ ...said, equipment }));
}

function steps(before: SessionState | null, after: SessionState, at: number): TraceEntry[] {
  if (before === null || before.records === after.records) return [];
  return after.records.flatMap((record, index): TraceEntry[] => {
    const step = after.plan.steps[index];
    if (step === undefined || record.result === before.records[index]?.result || record.result === 'pending') return [];
    return [
      {
        kind: 'step',
        at,
        step: step.id,
        action: step.action,
        result: record.result === 'open' ? 'opened' : record.result,
        ...(step.equipment === undefined ? {} : { equipment: step.equipment }),
        ...(record.evidence === null ? {} : { rung: record.evidence }),
      },
    ];
  });
}

function asks(before: SessionState | null, after: SessionState, at: number): TraceEntry[] {
  const { prompt } = after;
  if (prompt === null || prompt.nonce === before?.prompt?.nonce) return [];
  const step = after.plan.steps.find((each) => each.id === prompt.step);
  const said: Said = { kind: 'said', at, what: 'prompt', text: prompt.text, step: prompt.step, nonce: prompt.nonce };
  if (prompt.step === '#begin') return [{ ...said, means: 'begin' }];
  if (step === undefined) return [{ ...said, means: prompt.step === '#resume' ? 'resume' : 'other' }];
  const means = meaning(step, prompt.text);
  if (means === 'hands-in')
    return after.plan.handled.length === 0
      ? [{ ...said, means }]
      : after.plan.handled.map((equipment) => ({ ...said, means, equipment }));
  return [{ ...said, means, ...(step.equipment === undefined ? {} : { equipment: step.equipment }) }];
}

function meaning(step: Step, text: string): NonNullable<Said['means']> {
  if (step.action === 'unplug') return text.includes('may be unplugged') ? 'may-be-unplugged' : 'unplug-now';
  if (step.action === 'hands-on') return 'hands-in';
  return step.action === 'plug-in' ? 'plug-in' : 'look';
}

function answered(before: SessionState, given: Confirmation, after: SessionState, at: number): TraceEntry[] {
  const accepted = after.usedNonces.length > before.usedNonces.length;
  const person = given.actor.kind === 'unknown' ? 'somebody' : given.actor.name;
  const common = { accepted, identified: given.actor.kind === 'person' };
  const answer = { ...common, step: given.step, nonce: given.nonce };
  if (given.step === '#begin')
    return [act(person, at, 'begins', { ...answer, agreedLifeSupport: before.plan.lifeSupport ?? [] })];
  if (given.step === '#resume') return [act(person, at, 'resumes', answer)];
  const step = before.plan.steps.find((each) => each.id === given.step);
  const entries: TraceEntry[] = [act(person, at, 'confirms', answer)];
  const id = step?.equipment;
  if (id !== undefined && step?.action === 'unplug')
    entries.push(act(person, at, 'claims', { ...common, equipment: id }));
  if (id !== undefined && step?.action === 'plug-in')
    entries.push(act(person, at, 'releases', { ...common, equipment: id }));
  return entries;
}

const act = (person: string, at: number, what: PersonAct['act'], more: Partial<PersonAct>): PersonAct => ({
  kind: 'person',
  at,
  person,
  identified: true,
  accepted: true,
  act: what,
  ...more,
});

/** What every surface lists once the session is over: left off, claimed, or with its driver suspended. */
export function leftOut(state: SessionState): string[] {
  const suspended = state.plan.outOfService.filter((id) => typeof recalled(state.memory, `taken.${id}`) === 'string');
  return [...new Set([...state.offNow, ...state.claims.map((claim) => claim.equipment), ...suspended])];
}
