// A session of the engine alone: a table in place of the home, and a look at every effect that goes out.
import type { Actor, EntityId, EquipmentId } from '../../../src/model/index.ts';
import type { Reading } from '../../../src/observe/index.ts';
import { type Prng, type SessionTank, typedFor } from '../../../src/sim/session/index.ts';
import type { DurationMs, InstantMs } from '../../../src/units/index.ts';
import type { Trace } from '../trace.ts';
import {
  advance,
  begin,
  type EngineContext,
  engineContext,
  entitiesOf,
  isEnded,
  judgeConfirmation,
  RESUME_STEP,
  recalled,
  type SessionEffect,
  type SessionEvent,
  type SessionPlan,
  type SessionState,
  type Step,
} from './engine.ts';
import { createRecorder, headerOf, type Recorder } from './record.ts';

export type Direct = {
  readonly ctx: EngineContext;
  readonly plan: SessionPlan;
  state: SessionState;
  at: InstantMs;
  readonly startedAt: InstantMs;
  events: number;
  readonly faults: string[];
  /** What may never be, and was. */
  readonly wrong: string[];
  nonce(): string;
  answer(actor: Actor, nonce: string): void;
  answerEarly(actor: Actor): void;
  /** A person looks and makes everything as it should be. */
  putRight(): void;
  foreign(random: Prng): void;
  refuseNext(): void;
  stickNext(): void;
  meterGone(random: Prng): void;
  silence(ms: DurationMs): void;
  wet(): void;
  trace(): Trace | null;
  /** Between the files of this folder only. */
  readonly inner: Inner;
};

type Inner = {
  readonly values: Map<EntityId, number | null>;
  readonly changed: Map<EntityId, InstantMs>;
  readonly quiet: Set<EntityId>;
  readonly base: readonly EntityId[];
  asked: readonly EntityId[];
  refuse: boolean;
  stick: boolean;
  silentUntil: InstantMs;
  /** Rounds without anything having moved. */
  idle: number;
  /** Nothing may be energised before a person has spoken. */
  needsWord: boolean;
  readonly recorder: Recorder | null;
  readonly normalCm: number;
  readonly riseCm: number;
  returns: readonly EquipmentId[];
};

const NOON = Date.UTC(2026, 2, 2, 10);
const contexts = new Map<SessionTank, EngineContext>();

function contextOf(home: SessionTank): EngineContext {
  const known = contexts.get(home) ?? engineContext(home.tank, {}, home.deputies);
  contexts.set(home, known);
  return known;
}

export function directSession(home: SessionTank, plan: SessionPlan, label: string, isTraced: boolean): Direct {
  const ctx = contextOf(home);
  const started: SessionEvent = {
    kind: 'started',
    at: NOON,
    actor: { kind: 'person', name: 'Ada', via: 'simulated' },
    session: 's1',
    plan,
    nonce: 'n0',
  };
  const [state] = begin(started, ctx);
  const inner = innerOf(home, ctx, plan, isTraced);
  let serial = 1;
  const direct: Direct = {
    ctx,
    plan,
    state,
    at: NOON,
    startedAt: NOON,
    events: 1,
    faults: [],
    wrong: [],
    inner,
    nonce: () => `n${serial++}`,
    answer: (actor, nonce) => answer(direct, actor, nonce),
    answerEarly: (actor) => answer(direct, actor, direct.state.prompt?.nonce ?? ''),
    putRight: () => putRight(direct),
    foreign: (random) => foreign(direct, random),
    refuseNext: () => {
      inner.refuse = true;
    },
    stickNext: () => {
      inner.stick = true;
    },
    meterGone: (random) => {
      const meters = Object.values(ctx.equipment).flatMap((each) => each.powerEntity ?? []);
      const meter = meters[Math.floor(random.next() * meters.length)];
      if (meter !== undefined) inner.values.set(meter, null);
    },
    silence: (ms) => {
      inner.silentUntil = direct.at + ms;
    },
    wet: () => {
      const [sensor] = ctx.wetEntities;
      if (sensor !== undefined) inner.values.set(sensor, 1);
    },
    trace: () =>
      inner.recorder === null ? null : { header: headerOf(label, home, plan, ctx), entries: inner.recorder.entries },
  };
  inner.recorder?.add({ kind: 'started', at: NOON, person: 'Ada' });
  inner.recorder?.turned(NOON, null, state, []);
  return direct;
}

function innerOf(home: SessionTank, ctx: EngineContext, plan: SessionPlan, isTraced: boolean): Inner {
  const values = new Map<EntityId, number | null>();
  const returns: EquipmentId[] = [];
  for (const [id, each] of Object.entries(ctx.equipment)) {
    if (each.switchEntity !== undefined) values.set(each.switchEntity, 1);
    if (each.powerEntity !== undefined) values.set(each.powerEntity, each.cycling ? 0 : (each.normalPowerW ?? 20));
    if (each.driverEntity !== undefined) values.set(each.driverEntity, 1);
    if (each.role === 'return-pump') returns.push(id);
  }
  const normalCm = home.tank.sump?.normalLevelCm ?? 18;
  if (ctx.sumpLevelEntity !== undefined) values.set(ctx.sumpLevelEntity, normalCm);
  for (const entity of ctx.temperatureEntities) values.set(entity, 25.4);
  for (const entity of ctx.wetEntities) values.set(entity, 0);
  for (const entity of entitiesOf(ctx)) if (!values.has(entity)) values.set(entity, 0);
  const movers = Object.values(ctx.equipment).filter(
    (each) => /pump$/.test(each.role) && /return|circ/.test(each.role),
  );
  const base = [ctx.sumpLevelEntity, ...movers.flatMap((each) => [each.switchEntity, each.powerEntity])];
  const perCm = home.tank.sump?.litresPerCm ?? 2;
  const recorder = isTraced ? createRecorder(ctx, plan) : null;
  if (recorder !== null) noteStart(recorder, ctx, values);
  return {
    values,
    changed: new Map(),
    quiet: new Set(),
    base: base.filter((entity) => entity !== undefined),
    asked: [],
    refuse: false,
    stick: false,
    silentUntil: 0,
    idle: 0,
    needsWord: false,
    recorder,
    normalCm,
    riseCm: (home.tank.sump?.drainDownL ?? 11) / perCm,
    returns,
  };
}

function noteStart(recorder: Recorder, ctx: EngineContext, values: ReadonlyMap<EntityId, number | null>): void {
  for (const [equipment, each] of Object.entries(ctx.equipment)) {
    const watts = values.get(each.powerEntity ?? '') ?? each.normalPowerW ?? 0;
    recorder.add({
      kind: 'truth',
      at: NOON,
      equipment,
      pluggedIn: true,
      relayOn: true,
      watts,
      running: !each.cycling,
      driverSuspended: false,
      immersed: true,
    });
  }
}

const MOST_IDLE = 40;
export const isStuck = (direct: Direct): boolean => direct.inner.idle > MOST_IDLE;

/** Time goes on to where the open step can be looked at again; what was asked for, and what always matters, is heard. */
export function stepOn(direct: Direct): void {
  const { state, inner } = direct;
  const before = state.stepIndex;
  direct.at += jumpMs(direct);
  const step = state.plan.steps[state.stepIndex];
  const facts = step?.equipment === undefined ? undefined : direct.ctx.equipment[step.equipment];
  const own = [facts?.switchEntity, facts?.powerEntity].filter((entity) => entity !== undefined);
  if (step?.observe !== undefined) show(direct, step.observe);
  const seen = step?.observe === undefined ? [] : [step.observe.entity];
  tell(direct, new Set([...inner.base, ...own, ...seen, ...inner.asked]));
  inner.idle = direct.state.stepIndex === before && direct.state.prompt === null ? inner.idle + 1 : 0;
}

/** What is to be seen is shown, its opposite between. */
function show({ inner }: Direct, { entity, is, value = 0 }: NonNullable<Step['observe']>): void {
  const [yes, no] =
    is === 'on' ? [1, 0] : is === 'off' ? [0, 1] : is === 'at-least' ? [value, value - 2] : [value, value + 2];
  inner.values.set(entity, inner.values.get(entity) === yes && is !== 'at-most' ? no : yes);
}

function jumpMs({ state, at }: Direct): DurationMs {
  const step = state.plan.steps[state.stepIndex];
  if (state.status !== 'running' || step === undefined) return 1_000;
  switch (step.action) {
    case 'wait': {
      const from = state.records.find((record) => record.id === (step.waitFrom ?? step.id));
      const since = from?.closedAt ?? from?.openedAt ?? at;
      const leftMs = since + (step.waitMs ?? 0) - at;
      // The last minutes are looked at, so that level and flow are known when the wait is over.
      return Math.max(1_000, leftMs > 240_000 ? leftMs - 180_000 : Math.min(leftMs, 60_000));
    }
    case 'settle':
      return 41_000;
    case 'switch-on':
      return 21_000;
    case 'switch-off':
      return 5_000;
    default:
      return 2_000;
  }
}

export function tellAll(direct: Direct): void {
  tell(direct, direct.inner.values.keys());
}

function tell(direct: Direct, entities: Iterable<EntityId>): void {
  const { at, inner } = direct;
  const { values, recorder } = inner;
  const readings: Reading[] = [];
  if (at >= inner.silentUntil) {
    for (const entity of entities) {
      const value = values.get(entity) ?? null;
      readings.push({ entity, value, changedAt: inner.changed.get(entity) ?? NOON, reportedAt: at });
      if (recorder !== null) noteReading(direct, recorder, entity, value);
    }
  }
  inner.asked = [];
  take(direct, { kind: 'readings', at, readings, nextNonce: direct.nonce() });
}

function noteReading(direct: Direct, recorder: Recorder, entity: EntityId, value: number | null): void {
  const { ctx, at } = direct;
  const owner = Object.entries(ctx.equipment).find(([, each]) =>
    [each.switchEntity, each.powerEntity].includes(entity),
  );
  const about =
    owner !== undefined
      ? owner[1].switchEntity === entity
        ? 'relay'
        : 'watts'
      : entity === ctx.sumpLevelEntity
        ? 'level'
        : ctx.temperatureEntities.includes(entity)
          ? 'temperature'
          : ctx.wetEntities.includes(entity)
            ? 'wet'
            : 'other';
  const whose = owner === undefined ? {} : { equipment: owner[0] };
  recorder.add({ kind: 'reading', at, entity, about, value, reportedAt: at, ...whose });
}

/** One event; its effects are looked at and carried out at once. */
export function take(direct: Direct, event: SessionEvent): void {
  const before = direct.state;
  note(direct, event);
  const [state, effects] = advance(before, event, direct.ctx);
  direct.events += 1;
  direct.state = state;
  if (event.kind === 'service-restarted') direct.inner.needsWord = true;
  direct.inner.recorder?.turned(direct.at, before, state, effects);
  for (const effect of effects) {
    watch(direct, effect);
    perform(direct, effect);
  }
}

function note({ inner, at }: Direct, event: SessionEvent): void {
  if (event.kind === 'hub-lost') inner.recorder?.add({ kind: 'link', at, state: 'lost' });
  if (event.kind === 'hub-back') inner.recorder?.add({ kind: 'link', at, state: 'back' });
  if (event.kind === 'service-restarted') {
    inner.recorder?.add({ kind: 'service', at, state: 'down' });
    inner.recorder?.add({ kind: 'service', at, state: 'up' });
  }
  if (event.kind === 'abort') {
    inner.recorder?.add({ kind: 'person', at, person: 'Ada', identified: true, act: 'aborts', accepted: true });
  }
}

/** What may never go out, whatever came in. */
function watch(direct: Direct, effect: SessionEffect): void {
  const { state, inner } = direct;
  if (effect.kind !== 'command') return;
  const { equipment, turn, step } = effect.command;
  if (turn === 'on' && state.claims.some((claim) => claim.equipment === equipment)) {
    direct.wrong.push(`${equipment} is claimed and switched on`);
  }
  if (typeof recalled(state.memory, 'hub.lostAt') === 'number')
    direct.wrong.push(`${step}: a command while the hub is away`);
  if (turn === 'on' && inner.needsWord && !(state.plan.lifeSupport ?? []).includes(equipment)) {
    direct.wrong.push(`${equipment} is switched on after a restart before anybody spoke`);
  }
  if (isEnded(state)) direct.wrong.push(`${step}: a command after the end`);
}

function perform(direct: Direct, effect: SessionEffect): void {
  const { inner, ctx } = direct;
  if (effect.kind === 'refresh') inner.asked = effect.entities;
  if (effect.kind === 'driver') inner.values.set(effect.entity, effect.turn === 'suspend' ? 0 : 1);
  if (effect.kind !== 'command') return;
  const { equipment, turn } = effect.command;
  const outcome = inner.refuse ? 'refused' : 'confirmed';
  if (!inner.refuse && !inner.stick) set(direct, equipment, turn === 'on');
  inner.refuse = false;
  inner.stick = false;
  inner.recorder?.add({ kind: 'command-ended', at: direct.at, equipment, turn, outcome });
  if (ctx.equipment[equipment] === undefined) return;
  direct.at += 300;
  take(direct, { kind: 'command-ended', at: direct.at, command: effect.command, outcome, detail: 'no answer' });
}

function set(direct: Direct, equipment: EquipmentId, on: boolean): void {
  const { inner, ctx, at } = direct;
  const facts = ctx.equipment[equipment];
  if (facts === undefined) return;
  if (facts.switchEntity !== undefined) {
    inner.values.set(facts.switchEntity, on ? 1 : 0);
    inner.changed.set(facts.switchEntity, at);
  }
  const watts = on && !facts.cycling ? (facts.normalPowerW ?? 20) : 0;
  if (facts.powerEntity !== undefined) inner.values.set(facts.powerEntity, watts);
  if (inner.returns.includes(equipment) && ctx.sumpLevelEntity !== undefined) {
    inner.values.set(ctx.sumpLevelEntity, inner.normalCm + (on ? 0 : inner.riseCm));
  }
  inner.recorder?.add({ kind: 'truth', at, equipment, relayOn: on, watts, running: on && !facts.cycling, by: 'us' });
}

function answer(direct: Direct, actor: Actor, nonce: string): void {
  const { state } = direct;
  const { prompt } = state;
  const step = state.plan.steps[state.stepIndex];
  const isTyped = step?.reading !== undefined && step.id === prompt?.step;
  const value = isTyped ? typedFor(step) : undefined;
  const confirmation = {
    session: state.id,
    step: prompt?.step ?? '',
    nonce,
    actor,
    at: direct.at,
    ...(value === undefined ? {} : { value }),
  };
  const { ok } = judgeConfirmation(state, confirmation, direct.ctx);
  const isResume = confirmation.step === RESUME_STEP;
  if (ok) {
    if (step?.equipment !== undefined && (step.action === 'switch-off' || step.action === 'switch-on')) {
      if (step.id === confirmation.step) set(direct, step.equipment, step.action === 'switch-on');
    }
    if (isResume) direct.inner.needsWord = false;
  }
  direct.inner.recorder?.acted(direct.at, confirmation, ok);
  const kind = isResume ? 'resume' : 'confirmed';
  take(direct, { kind, at: direct.at, confirmation, nextNonce: direct.nonce() });
}

function putRight(direct: Direct): void {
  const { inner, ctx, state } = direct;
  inner.silentUntil = 0;
  const open = state.plan.steps[state.stepIndex];
  const opensOn = open?.action === 'switch-on' ? open.equipment : undefined;
  for (const [id, facts] of Object.entries(ctx.equipment)) {
    const off = state.offNow.includes(id) && id !== opensOn;
    const isOn = inner.values.get(facts.switchEntity ?? '') !== 0;
    if (off === isOn && facts.switchEntity !== undefined) set(direct, id, !off);
    if (facts.powerEntity !== undefined && inner.values.get(facts.powerEntity) === null) set(direct, id, isOn);
  }
  for (const entity of ctx.wetEntities) inner.values.set(entity, 0);
  direct.at += 40_000;
  tellAll(direct);
}

function foreign(direct: Direct, random: Prng): void {
  const { state, ctx } = direct;
  const off = state.offNow.filter((id) => ctx.equipment[id]?.switchEntity !== undefined);
  const id = off[Math.floor(random.next() * off.length)];
  if (id !== undefined) set(direct, id, true);
}
