import type { EquipmentId } from '../../model/index.ts';
import type { InstantMs } from '../../units/index.ts';
import { shifted } from '../guards/shift.ts';
import { lightDateAt, lightPlanAt } from './day.ts';
import { driverEnded, workGiveBack, workTake } from './driver.ts';
import { workOff, workOn } from './edges.ts';
import { handSettled, noteDriver, noteRelay } from './hands.ts';
import { driverKnown, freshDay, type Look, lookAt, NO_EDGE, noTrouble } from './look.ts';
import type {
  AcclimationContext,
  AcclimationEffect,
  AcclimationInput,
  AcclimationState,
  Lamp,
  Programme,
} from './types.ts';

export const NO_PROGRAMMES: AcclimationState = {
  at: 0,
  hubUp: false,
  skewed: false,
  upsetAt: 0,
  readings: {},
  heard: {},
  blind: {},
  held: {},
  freed: {},
  asked: {},
  programmes: {},
};

/** After a start of the service: the programmes as last kept, and nothing known of the world. */
export function restoredProgrammes(kept: readonly Programme[], at: InstantMs): AcclimationState {
  const programmes = Object.fromEntries(kept.map((one) => [one.lamp, one]));
  return { ...NO_PROGRAMMES, at, upsetAt: at, programmes };
}

export type StartVerdict = { readonly ok: true } | { readonly ok: false; readonly why: 'cannot' | 'under-way' };

export function judgeStart(state: AcclimationState, lamp: EquipmentId, ctx: AcclimationContext): StartVerdict {
  if (ctx.lamps[lamp] === undefined) return { ok: false, why: 'cannot' };
  const known = state.programmes[lamp];
  return known === undefined || known.status === 'over' ? { ok: true } : { ok: false, why: 'under-way' };
}

export function acclimationStep(
  given: AcclimationState,
  input: AcclimationInput,
  ctx: AcclimationContext,
): readonly [state: AcclimationState, effects: readonly AcclimationEffect[]] {
  const state = { ...given, at: input.kind === 'clock' ? input.at : Math.max(given.at, input.at) };
  const effects: AcclimationEffect[] = [];
  take(state, input, ctx);
  const changed: Programme[] = [];
  for (const before of Object.values(state.programmes)) {
    const lamp = lampOf(before, ctx);
    if (lamp === null || before.status === 'over') continue;
    const look = lookAt(state, before, lamp, ctx, effects);
    if (input.kind === 'driver-ended' && input.lamp === before.lamp) driverEnded(look, input);
    follow(look);
    state.programmes = { ...state.programmes, [before.lamp]: look.p };
  }
  for (const [lamp, now] of Object.entries(state.programmes)) {
    const before = given.programmes[lamp];
    if (before === undefined || isChanged(before, now)) changed.push(now);
  }
  const keeps = changed.map((programme): AcclimationEffect => ({ kind: 'keep', programme }));
  return [state, [...keeps, ...effects]];
}

const isChanged = (before: Programme, now: Programme): boolean =>
  before !== now && (Object.keys(now) as (keyof Programme)[]).some((key) => before[key] !== now[key]);

/** Null where the lamp or its driver is configured otherwise now: nothing is sent on the strength of old facts. */
export function lampOf({ lamp, driver }: Programme, ctx: AcclimationContext): Lamp | null {
  const known = ctx.lamps[lamp];
  return known?.driverEntity === driver ? known : null;
}

type Draft = { -readonly [K in keyof AcclimationState]: AcclimationState[K] };

function take(state: Draft, input: AcclimationInput, ctx: AcclimationContext): void {
  switch (input.kind) {
    case 'tick':
    case 'driver-ended':
      return;
    case 'readings': {
      const wanted = input.readings.filter(({ entity }) => isOurs(entity, ctx));
      if (wanted.length === 0) return;
      state.readings = { ...state.readings, ...Object.fromEntries(wanted.map((one) => [one.entity, one])) };
      state.heard = { ...state.heard, ...Object.fromEntries(wanted.map(({ entity }) => [entity, state.at])) };
      return;
    }
    case 'clock':
      state.programmes = shifted(state.programmes, input.byMs);
      state.heard = shifted(state.heard, input.byMs);
      state.freed = shifted(state.freed, input.byMs);
      state.asked = {};
      state.upsetAt = state.at;
      return;
    case 'skew':
      state.skewed = input.skewed;
      return;
    case 'hub':
      state.hubUp = input.up;
      state.upsetAt = state.at;
      state.readings = {};
      state.asked = {};
      return;
    case 'held':
      hold(state, input.held, ctx);
      return;
    case 'start':
      start(state, input, ctx);
      return;
    case 'stop':
      stop(state, input, ctx);
  }
}

const isOurs = (entity: string, ctx: AcclimationContext): boolean =>
  Object.values(ctx.lamps).some(({ switchEntity, driverEntity }) => entity === switchEntity || entity === driverEntity);

/** Whoever had the lamp has let it go: as it stands now is taken for given, and looked at by the plan of the day. */
function hold(state: Draft, held: AcclimationState['held'], ctx: AcclimationContext): void {
  const freed = Object.keys(state.held).filter((id) => held[id] === undefined);
  if (JSON.stringify(state.held) !== JSON.stringify(held)) state.held = held;
  for (const id of freed) {
    const known = state.programmes[id];
    const lamp = ctx.lamps[id];
    if (known === undefined || known.status === 'over' || lamp === undefined) continue;
    const day = { ...known.day, early: NO_EDGE, off: NO_EDGE };
    state.programmes = { ...state.programmes, [id]: { ...known, relay: null, day } };
    state.freed = { ...state.freed, [id]: state.at };
    const { [lamp.driverEntity]: _driver, [lamp.switchEntity]: _relay, ...rest } = state.readings;
    state.readings = rest;
  }
}

function start(state: Draft, input: Extract<AcclimationInput, { kind: 'start' }>, ctx: AcclimationContext): void {
  const lamp = ctx.lamps[input.lamp];
  if (lamp === undefined || !judgeStart(state, input.lamp, ctx).ok) return;
  const firstDate = lightDateAt(input.hours, state.at, ctx.zone);
  const programme: Programme = {
    lamp: lamp.id,
    driver: lamp.driverEntity,
    startedAt: state.at,
    startedBy: input.by,
    firstDate,
    hours: { ...input.hours },
    startShare: ctx.startShare,
    rampMs: ctx.rampMs,
    status: 'taking-over',
    take: NO_EDGE,
    day: freshDay(firstDate),
    relay: null,
    driverOn: true,
    trouble: null,
    why: '',
  };
  state.programmes = { ...state.programmes, [lamp.id]: programme };
}

function stop(state: Draft, { lamp, by }: Extract<AcclimationInput, { kind: 'stop' }>, ctx: AcclimationContext): void {
  const known = state.programmes[lamp];
  if (known === undefined || known.status === 'over') return;
  const isOrphan = lampOf(known, ctx) === null;
  const next: Programme = isOrphan
    ? { ...known, status: 'over', why: `ended by ${by}; ${known.driver} has to be resumed by hand` }
    : { ...known, status: 'handing-back', take: { ...NO_EDGE, sentAt: known.take.sentAt }, why: `ended by ${by}` };
  state.programmes = { ...state.programmes, [lamp]: next };
}

function follow(look: Look): void {
  turnDay(look);
  noteDriver(look);
  noteRelay(look);
  handSettled(look);
  const { p } = look;
  if (p.status === 'taking-over') workTake(look);
  if (p.status === 'running') {
    workOff(look);
    workOn(look);
  }
  if (p.status !== 'handing-back') return;
  workOff(look);
  // What was told on is seen through before the driver has it.
  if (p.day.on.tries > 0) workOn(look);
  workGiveBack(look);
}

function turnDay(look: Look): void {
  const { p, plan } = look;
  if (p.day.date !== plan.date) {
    p.day = freshDay(plan.date);
    if (p.status === 'running' || p.status === 'taking-over') noTrouble(look);
    if (p.status === 'taking-over') p.take = NO_EDGE;
    if (p.status === 'running' && driverKnown(look) === 1) {
      p.status = 'taking-over';
      p.take = NO_EDGE;
    }
  }
  if (plan.share < 1 || (p.status !== 'running' && p.status !== 'taking-over')) return;
  p.status = 'handing-back';
  p.take = { ...NO_EDGE, sentAt: p.take.sentAt };
  p.why = `its full hours are reached on day ${plan.day}`;
}

/** The plan of the present light day, for whoever asks. */
export const planOf = (programme: Programme, at: InstantMs, ctx: AcclimationContext) =>
  lightPlanAt(programme, at, ctx.zone);
