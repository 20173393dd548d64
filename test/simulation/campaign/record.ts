// Turns what a session says and does into the trace that the checker judges. Adds nothing and hides nothing: every event,
// effect and word of the engine becomes the entries that stand for it.
import type { EquipmentId } from '../../../src/model/index.ts';
import { ROLES } from '../../../src/rules/index.ts';
import type { SessionTank } from '../../../src/sim/session/index.ts';
import { DEFAULT_LIMITS, type EquipmentFacts, type Said, type TraceEntry, type TraceHeader } from '../trace.ts';
import {
  BEGIN_STEP,
  type Confirmation,
  type EngineContext,
  isEnded,
  leftBehind,
  RESUME_STEP,
  type SessionEffect,
  type SessionPlan,
  type SessionState,
  type Step,
} from './engine.ts';

export function headerOf(seed: string, home: SessionTank, plan: SessionPlan, ctx: EngineContext): TraceHeader {
  const { tank } = home;
  return {
    seed,
    procedure: plan.procedure,
    equipment: Object.fromEntries(tank.equipment.map((each) => [each.id, factsOf(each, ctx)])),
    outOfService: plan.outOfService,
    ...(ctx.sumpLevelEntity === undefined ? {} : { sumpLevelEntity: ctx.sumpLevelEntity }),
    ...(ctx.sumpLitresPerCm === undefined ? {} : { sumpLitresPerCm: ctx.sumpLitresPerCm }),
    ...(ctx.sumpRimCm === undefined ? {} : { sumpRimCm: ctx.sumpRimCm }),
    ...(ctx.drainDownL === undefined ? {} : { drainDownL: ctx.drainDownL }),
    temperatureEntities: ctx.temperatureEntities,
    ...(plan.allStop === undefined ? {} : { allStop: plan.allStop }),
    deputies: home.deputies,
    limits: DEFAULT_LIMITS,
  };
}

function factsOf(each: SessionTank['tank']['equipment'][number], ctx: EngineContext): EquipmentFacts {
  const role = ROLES[each.role];
  const kind = role.waterMover ? 'mover' : each.role === 'heater' ? 'heater' : role.adder ? 'adder' : 'other';
  const effect = ctx.equipment[each.id]?.effect;
  return {
    name: each.name,
    kind,
    movesLevel: role.stopEffects.includes('sump-level'),
    ...(each.role === 'top-off' ? { toppingOff: true } : {}),
    cycling: each.cycling,
    ...(each.switchEntity === undefined ? {} : { switchEntity: each.switchEntity }),
    ...(each.powerEntity === undefined ? {} : { powerEntity: each.powerEntity }),
    ...(each.normalPowerW === undefined ? {} : { normalPowerW: each.normalPowerW }),
    driven: (each.driver.kind === 'schedule' || each.driver.kind === 'thermostat') && each.driver.entity !== undefined,
    ...(effect === undefined ? {} : { effect }),
  };
}

export type Recorder = ReturnType<typeof createRecorder>;

export function createRecorder(ctx: EngineContext, plan: SessionPlan) {
  const entries: TraceEntry[] = [];
  let listed = '';
  let noncesShown = '';
  const add = (entry: TraceEntry): void => {
    entries.push(entry);
  };
  const steps = new Map(plan.steps.map((step) => [step.id, step]));
  /** What every surface shows as out of service: what is off or not proved back, and what is claimed. */
  const list = (at: number, state: SessionState): void => {
    const off = isEnded(state) ? leftBehind(state, ctx).map(({ equipment }) => equipment) : state.offNow;
    const out = [...new Set([...off, ...state.claims.map((claim) => claim.equipment)])];
    const all = out.join();
    if (all === listed) return;
    listed = all;
    add({ kind: 'listed', at, equipment: out });
  };
  const ask = (at: number, state: SessionState): void => {
    if (state.prompt === null || state.prompt.nonce === noncesShown) return;
    noncesShown = state.prompt.nonce;
    for (const said of promptSaid(at, state, steps.get(state.prompt.step), plan)) add(said);
  };
  return {
    entries,
    add,
    /** What every surface shows of a state that nothing has led to in its sight. */
    shown(at: number, state: SessionState): void {
      ask(at, state);
      list(at, state);
    },
    /** A state after an event, with the effects as they go out. */
    turned(at: number, before: SessionState | null, state: SessionState, effects: readonly SessionEffect[]): void {
      const sameSteps = before !== null && before.records === state.records;
      for (let i = 0; i < state.records.length && !sameSteps; i++) {
        const record = state.records[i];
        const was = before?.records[i];
        const step = record === undefined ? undefined : steps.get(record.id);
        if (record === undefined || step === undefined || record === was || record.result === was?.result) continue;
        if (record.result === 'pending') continue;
        add({
          kind: 'step',
          at,
          step: record.id,
          action: step.action,
          ...(step.equipment === undefined ? {} : { equipment: step.equipment }),
          result: record.result === 'open' ? 'opened' : record.result,
          ...(record.evidence === null ? {} : { rung: record.evidence }),
        });
      }
      for (const effect of effects) for (const entry of entriesOf(at, effect, ctx, state)) add(entry);
      ask(at, state);
      const listMayDiffer =
        before === null ||
        before.offNow !== state.offNow ||
        before.claims !== state.claims ||
        before.status !== state.status;
      if (listMayDiffer) list(at, state);
      if (isEnded(state) && (before === null || !isEnded(before)))
        add({ kind: 'said', at, what: 'summary', text: state.summary });
    },
    /** What a person did towards the service, and whether it was taken. */
    acted(at: number, confirmation: Confirmation, accepted: boolean): void {
      const { actor, step: stepId, nonce } = confirmation;
      const step = steps.get(stepId);
      const basics = {
        kind: 'person',
        at,
        person: actor.kind === 'unknown' ? actor.via : actor.name,
        identified: actor.kind === 'person',
        accepted,
        step: stepId,
      } as const;
      const released = stepId.startsWith('#release:') ? stepId.slice('#release:'.length) : undefined;
      const equipment = step?.equipment ?? released;
      const about = equipment === undefined ? {} : { equipment };
      if (stepId === BEGIN_STEP) add({ ...basics, act: 'begins', nonce, agreedLifeSupport: plan.lifeSupport ?? [] });
      else add({ ...basics, act: stepId === RESUME_STEP ? 'resumes' : 'confirms', nonce, ...about });
      if (step?.action === 'unplug') add({ ...basics, act: 'claims', ...about });
      if (step?.action === 'plug-in' || released !== undefined) add({ ...basics, act: 'releases', ...about });
      if (!accepted || step === undefined) return;
      for (const [id, seen] of sights(step, plan, ctx)) add({ ...basics, act: 'sees', equipment: id, seen });
    },
  };
}

/** What a person who answers this step says to have seen. */
function sights(
  step: Step,
  plan: SessionPlan,
  ctx: EngineContext,
): readonly (readonly [EquipmentId, 'off' | 'on' | 'room'])[] {
  if (step.equipment !== undefined && step.action === 'switch-off') return [[step.equipment, 'off']];
  if (step.equipment !== undefined && step.action === 'switch-on') return [[step.equipment, 'on']];
  // The trial of each plug: does it stand still, and it alone?
  if (step.equipment !== undefined && step.id.startsWith('seen:')) return [[step.equipment, 'off']];
  const isReturn = (id: EquipmentId): boolean => ctx.equipment[id]?.role === 'return-pump';
  if (step.id === 'look:head-room') return plan.outOfService.filter(isReturn).map((id) => [id, 'room'] as const);
  if (step.id === 'look:mover') {
    return (plan.keptMovers ?? []).filter((id) => !isReturn(id)).map((id) => [id, 'on'] as const);
  }
  return [];
}

function entriesOf(at: number, effect: SessionEffect, ctx: EngineContext, state: SessionState): readonly TraceEntry[] {
  switch (effect.kind) {
    case 'command': {
      const { equipment, turn, step } = effect.command;
      return [{ kind: 'command', at, equipment, turn, origin: originOf(step), step }];
    }
    case 'driver':
      // One thermostat may rule two heaters: what is done to it is done to both.
      return Object.keys(ctx.equipment)
        .filter((id) => id === effect.equipment || ctx.equipment[id]?.driverEntity === effect.entity)
        .map((id) => ({ kind: 'driver', at, equipment: id, turn: effect.turn }));
    case 'alarm': {
      const about = named(effect.text, ctx);
      return [
        {
          kind: 'said',
          at,
          what: 'alarm',
          code: effect.code,
          text: effect.text,
          ...(about === null ? {} : { equipment: about }),
        },
      ];
    }
    case 'say':
      return [{ kind: 'said', at, what: 'say', text: effect.text }];
    case 'ended':
      return [{ kind: 'ended', at: state.endedAt === null ? at : at, result: effect.result }];
    default:
      return [];
  }
}

const LIFE_SUPPORT = '#life-support:';
/** A restart that no step asked for is that of the agreed life support. */
const originOf = (step: string): 'session' | 'all-stop' => (step.startsWith(LIFE_SUPPORT) ? 'all-stop' : 'session');

/** Whom an alarm speaks of: its text begins with the name. */
function named(text: string, ctx: EngineContext): EquipmentId | null {
  let best: EquipmentId | null = null;
  let length = 0;
  for (const [id, { name }] of Object.entries(ctx.equipment)) {
    if (name.length <= length || !text.startsWith(name)) continue;
    best = id;
    length = name.length;
  }
  return best;
}

function promptSaid(at: number, state: SessionState, step: Step | undefined, plan: SessionPlan): readonly Said[] {
  const { prompt } = state;
  if (prompt === null) return [];
  const basics = {
    kind: 'said',
    at,
    what: 'prompt',
    text: prompt.text,
    step: prompt.step,
    nonce: prompt.nonce,
  } as const;
  if (prompt.step === BEGIN_STEP) return [{ ...basics, means: 'begin' }];
  if (prompt.step === RESUME_STEP) return [{ ...basics, means: 'resume' }];
  if (step === undefined) return [{ ...basics, means: 'other' }];
  // Work on several at once is asked for of each of them.
  const meant =
    step.equipment !== undefined ? [step.equipment] : step.action === 'hands-on' ? unpluggedAt(step, plan) : [];
  // Where nothing is in hand, water is, if only for a sample to be measured: that hands are asked in is meant all the same.
  const isAtTheWater = step.action === 'hands-on' || step.action === 'reading';
  if (meant.length === 0) return [{ ...basics, means: isAtTheWater ? 'hands-in' : 'look' }];
  return meant.map((equipment): Said => ({ ...basics, equipment, means: meaning(step, prompt.text) }));
}

/** By the plan, in a person's hand at this step. */
function unpluggedAt(step: Step, plan: SessionPlan): readonly EquipmentId[] {
  const inHand = new Set<EquipmentId>();
  for (const each of plan.steps) {
    if (each === step) break;
    if (each.equipment !== undefined && each.action === 'unplug') inHand.add(each.equipment);
    if (each.equipment !== undefined && each.action === 'plug-in') inHand.delete(each.equipment);
  }
  return [...inHand];
}

function meaning(step: Step, text: string): NonNullable<Said['means']> {
  switch (step.action) {
    case 'unplug':
      return /may be unplugged/i.test(text) ? 'may-be-unplugged' : 'unplug-now';
    case 'plug-in':
      return 'plug-in';
    case 'hands-on':
      return 'hands-in';
    default:
      return 'look';
  }
}
