// Carries one session out in virtual time: plan → engine, with the simulated home in place of the hub, by the service's own
// rules: readings are collected and handed over at a tick, an event is stored before its effects go out, a killed service
// replays what it stored.
import { isDeepStrictEqual } from 'node:util';
import type { EntityId } from '../../../src/model/index.ts';
import { type Reading, withReading } from '../../../src/observe/index.ts';
import {
  command,
  createPerson,
  createWorld,
  type FaultAt,
  type FaultKind,
  isNews,
  noteAll,
  type Person,
  refresh,
  runUntil,
  type SessionTank,
  type Struck,
  setDriver,
  tellWhatIsDue,
  type World,
} from '../../../src/sim/session/index.ts';
import { type DurationMs, type InstantMs, MINUTE_MS, SECOND_MS } from '../../../src/units/index.ts';
import type { Trace } from '../trace.ts';
import { cadence } from './cadence.ts';
import { deskOf } from './desk.ts';
import {
  advance,
  begin,
  type EngineContext,
  engineContext,
  entitiesOf,
  isEnded,
  type SessionEffect,
  type SessionEvent,
  type SessionPlan,
  type SessionState,
} from './engine.ts';
import { createRecorder, headerOf, type Recorder } from './record.ts';
import { createTrouble, type Trouble } from './trouble.ts';

export type RunSpec = {
  readonly label: string;
  readonly seed: number;
  readonly home: SessionTank;
  readonly plan: SessionPlan;
  readonly faults: readonly FaultAt[];
  /** Hour of the day at which it begins. */
  readonly hour: number;
};

export type Hit = { readonly step: string; readonly kind: FaultKind };

export type RunResult = {
  readonly trace: Trace;
  readonly outcome: 'complete' | 'stopped' | 'aborted' | 'held';
  /** Answers a person had to give beyond one for each step that asks. */
  readonly extraQuestions: number;
  /** Step and fault, where the fault struck or was still in force while the step was open. */
  readonly hits: readonly Hit[];
  /** The faults that struck. */
  readonly strikes: readonly Hit[];
  readonly events: number;
  readonly virtualMs: DurationMs;
  /** What is wrong with the engine itself, beyond what the checker judges. */
  readonly faultsOfEngine: readonly string[];
  /** In words: the summary, or what it is held by. */
  readonly ending: string;
  /** The last trouble that it was held by. */
  readonly lastHold: string;
  readonly state: SessionState;
};

export type Drive = {
  readonly spec: RunSpec;
  readonly ctx: EngineContext;
  readonly world: World;
  readonly recorder: Recorder;
  readonly events: SessionEvent[];
  readonly trouble: Trouble;
  readonly wanted: ReadonlySet<EntityId>;
  readonly person: Person;
  state: SessionState;
  collected: Map<EntityId, readonly Reading[]>;
  serviceUp: boolean;
  linkKnownUp: boolean;
  /** The service's clock less true time. */
  skewMs: DurationMs;
  /** By how much it was put forward since the engine was last told. */
  jumpedMs: DurationMs;
  /** Answers that were on their way to a service that was killed meanwhile are nobody's any more. */
  life: number;
  dieNext: boolean;
  tickAt: InstantMs;
  movedAt: InstantMs;
  /** The true level when the service last looked. */
  levelSeenCm: number;
  watchedUntil: InstantMs | null;
  serial: number;
  lastHold: string;
  readonly struck: Struck[];
  readonly engineFaults: string[];
  /** Where the service was killed: how many events were stored, and the state they had made. */
  readonly crashes: { readonly events: number; readonly lived: SessionState }[];
};

const DAY_OF_SESSIONS = Date.UTC(2026, 2, 2);
/** Nothing has moved for so long: it is held, and nobody comes. */
const GIVE_UP_MS: DurationMs = 70 * MINUTE_MS;
const LONGEST_MS: DurationMs = 30 * 60 * MINUTE_MS;
const REPLAYED_OF = 3;
const WATCH_AFTER_MS: DurationMs = 40 * SECOND_MS;

export const nonce = (drive: Drive): string => `n${drive.serial++}`;
export const serviceNow = (drive: Drive): InstantMs => drive.world.at + drive.skewMs;

export function runSession(spec: RunSpec): RunResult {
  const drive = setUp(spec);
  tellWhatIsDue(drive.world);
  start(drive);
  while (goesOn(drive)) {
    const at = Math.min(drive.world.queue.nextAt(), drive.tickAt);
    runUntil(drive.world, at);
    if (at >= drive.tickAt) tick(drive);
  }
  return resultOf(drive);
}

function setUp(spec: RunSpec): Drive {
  const { home, plan, seed } = spec;
  const ctx = contextOf(home);
  const recorder = createRecorder(ctx, plan);
  const at = DAY_OF_SESSIONS + Math.round(spec.hour * 60) * MINUTE_MS;
  const holder: { drive: Drive | null } = { drive: null };
  const world = createWorld({
    home,
    seed,
    at,
    note: recorder.add,
    receive: (reading, matters) => {
      if (holder.drive !== null) receive(holder.drive, reading, matters);
    },
  });
  const started: SessionEvent = {
    kind: 'started',
    at,
    actor: { kind: 'person', name: 'Ada', via: 'simulated' },
    session: 's1',
    plan,
    nonce: 'n0',
  };
  const [state] = begin(started, ctx);
  const desk = deskOf(() => {
    if (holder.drive === null) throw new Error('nobody is at the desk yet');
    return holder.drive;
  });
  const drive: Drive = {
    spec,
    ctx,
    world,
    recorder,
    events: [started],
    trouble: createTrouble(spec.faults),
    wanted: wantedOf(ctx, plan),
    person: createPerson(world, desk, seed),
    state,
    collected: new Map(),
    serviceUp: true,
    linkKnownUp: true,
    skewMs: 0,
    jumpedMs: 0,
    life: 0,
    dieNext: false,
    tickAt: at + SECOND_MS,
    movedAt: at,
    levelSeenCm: world.water.levelCm,
    watchedUntil: null,
    serial: 1,
    lastHold: '',
    struck: [],
    engineFaults: [],
    crashes: [],
  };
  holder.drive = drive;
  return drive;
}

const contexts = new Map<SessionTank, EngineContext>();
function contextOf(home: SessionTank): EngineContext {
  const known = contexts.get(home) ?? engineContext(home.tank, {}, home.deputies);
  contexts.set(home, known);
  return known;
}
const wantedSets = new Map<SessionPlan, ReadonlySet<EntityId>>();
/** What the session needs, and what its plan reads or watches. */
function wantedOf(ctx: EngineContext, plan: SessionPlan): ReadonlySet<EntityId> {
  const known = wantedSets.get(plan);
  if (known !== undefined) return known;
  const ofPlan = plan.steps.flatMap((step) => [step.reading?.entity, step.observe?.entity]);
  const wanted = new Set([...entitiesOf(ctx), ...ofPlan.filter((entity) => entity !== undefined)]);
  wantedSets.set(plan, wanted);
  return wanted;
}

function start(drive: Drive): void {
  const { world, recorder } = drive;
  noteAll(world);
  recorder.add({ kind: 'started', at: world.at, person: 'Ada' });
  recorder.turned(world.at, null, drive.state, []);
  settleIn(drive, null);
}

function goesOn(drive: Drive): boolean {
  const { world, state } = drive;
  if (world.at - world.startedAt > LONGEST_MS) return false;
  if (isEnded(state) && state.claims.length === 0) {
    drive.watchedUntil ??= world.at + WATCH_AFTER_MS;
    return world.at < drive.watchedUntil;
  }
  return world.at - drive.movedAt < GIVE_UP_MS;
}

function receive(drive: Drive, reading: Reading, matters: boolean): void {
  // What no session needs does not reach its engine, as in the service.
  if (!drive.serviceUp || !drive.wanted.has(reading.entity)) return;
  const held = drive.collected.get(reading.entity) ?? [];
  const known = held.at(-1) ?? drive.state.readings[reading.entity];
  drive.collected.set(reading.entity, withReading(held, reading));
  // News to the hub may have been lost on the way; what is news to the service is no less urgent.
  if (matters || isNews(known?.value, reading.value)) drive.tickAt = Math.min(drive.tickAt, drive.world.at + SECOND_MS);
}

function tick(drive: Drive): void {
  const { world } = drive;
  tellWhatIsDue(world);
  drive.tickAt = Number.POSITIVE_INFINITY;
  if (drive.serviceUp) {
    deliver(drive);
    if (drive.serviceUp) send(drive, { kind: 'tick', at: serviceNow(drive), nextNonce: nonce(drive) });
  }
  drive.tickAt = Math.min(drive.tickAt, world.at + cadence(drive));
}

/** What was heard before a word or an answer came is taken before it. */
export function deliver(drive: Drive): void {
  const readings = [...drive.collected.values()].flat();
  drive.collected.clear();
  if (readings.length > 0) send(drive, { kind: 'readings', at: serviceNow(drive), readings, nextNonce: nonce(drive) });
}

/** A wall clock that moved otherwise than the steady one is told of before anything else happens at the new time. */
export function tellOfJump(drive: Drive): void {
  const byMs = drive.jumpedMs;
  if (byMs === 0) return;
  drive.jumpedMs = 0;
  send(drive, { kind: 'clock-jumped', at: serviceNow(drive), byMs, nextNonce: nonce(drive) });
  tellSkew(drive);
}

export function tellSkew(drive: Drive): void {
  if (!drive.linkKnownUp) return;
  send(drive, { kind: 'clock-skew', at: serviceNow(drive), skewMs: -drive.skewMs, nextNonce: nonce(drive) });
}

/** Stored first, then done; an event that changes nothing leaves no trace. */
export function send(drive: Drive, event: SessionEvent): void {
  if (!drive.serviceUp) return;
  tellOfJump(drive);
  if (event.kind !== 'readings' && event.kind !== 'clock-jumped') deliver(drive);
  if (!drive.serviceUp) return;
  const before = drive.state;
  const [state, effects] = advance(before, event, drive.ctx);
  if (state === before && effects.length === 0) return;
  drive.events.push(event);
  drive.state = state;
  if (drive.dieNext) {
    drive.dieNext = false;
    drive.trouble.kill(drive);
    return;
  }
  if (state.stepIndex !== before.stepIndex || state.status !== before.status) {
    drive.movedAt = drive.world.at;
    drive.tickAt = Math.min(drive.tickAt, drive.world.at + SECOND_MS);
  }
  if (state.hold !== null && state.hold.reason !== 'person-needed') drive.lastHold = state.hold.text;
  drive.recorder.turned(drive.world.at, before, state, effects);
  settleIn(drive, before);
  for (const effect of effects) perform(drive, effect);
}

/** What a new state means to the faults that lie in wait, and to the person. */
function settleIn(drive: Drive, before: SessionState | null): void {
  const { state, person, trouble } = drive;
  trouble.follow(drive, before);
  const { prompt } = state;
  if (prompt !== null && prompt.nonce !== before?.prompt?.nonce) person.notice(prompt);
  const step = state.plan.steps[state.stepIndex];
  const reopened = before?.stepIndex !== state.stepIndex || (before.status !== 'running' && state.status === 'running');
  if (step?.action === 'observe' && reopened) person.attend(step);
}

function perform(drive: Drive, effect: SessionEffect): void {
  const { world, life } = drive;
  const mine = (act: () => void) => (): void => {
    if (drive.life === life && drive.serviceUp) act();
  };
  switch (effect.kind) {
    case 'command': {
      const { equipment, turn } = effect.command;
      command(world, equipment, turn, ({ outcome, detail }) =>
        mine(() => {
          drive.recorder.add({ kind: 'command-ended', at: world.at, equipment, turn, outcome });
          send(drive, { kind: 'command-ended', at: serviceNow(drive), command: effect.command, outcome, detail });
        })(),
      );
      return;
    }
    case 'driver':
      setDriver(world, effect.entity, effect.turn, () => {});
      return;
    case 'refresh':
      refresh(world, effect.entities);
      return;
    default:
  }
}

function resultOf(drive: Drive): RunResult {
  const { spec, world, recorder, state, person, trouble, ctx } = drive;
  const { answers } = person;
  checkReplays(drive);
  const header = headerOf(spec.label, spec.home, spec.plan, ctx);
  return {
    trace: { header, entries: recorder.entries },
    outcome:
      state.status === 'complete' || state.status === 'stopped' || state.status === 'aborted' ? state.status : 'held',
    extraQuestions: Math.max(0, answers.given - answers.steps.size),
    hits: trouble.hits(),
    strikes: trouble.strikes,
    events: drive.events.length,
    virtualMs: world.at - world.startedAt,
    faultsOfEngine: drive.engineFaults,
    ending: state.hold === null ? `${state.status}: ${state.summary}` : `held: ${state.hold.text}`,
    lastHold: drive.lastHold,
    state,
  };
}

/**
 * The state as stored events make it must be the state as it was lived, at each crash. All of them are held against one
 * replay at the end, which passes through them in their order: by then the session has gone on from what it lived. Of the
 * runs with a crash every so-manieth is replayed, by its seed.
 */
function checkReplays({ spec, events, crashes, ctx, engineFaults }: Drive): void {
  const [started] = events;
  if (crashes.length === 0 || spec.seed % REPLAYED_OF !== 0 || started?.kind !== 'started') return;
  let [again] = begin(started, ctx);
  let at = 1;
  for (const crash of crashes) {
    for (; at < crash.events; at++) {
      const event = events[at];
      if (event !== undefined) [again] = advance(again, event, ctx);
    }
    if (!isDeepStrictEqual(again, crash.lived)) engineFaults.push('replay gives another state than was lived');
  }
}
