import type { DurationMs } from '../../units/index.ts';
import { driverReadsOnOff } from '../driver.ts';
import { type LightPlan, lightPlanAt } from './day.ts';
import type {
  AcclimationContext,
  AcclimationEffect,
  AcclimationState,
  DayRecord,
  Edge,
  Lamp,
  Programme,
} from './types.ts';

type Mutable<T> = { -readonly [K in keyof T]: T[K] };

/** One programme being looked at: its own copy, and what it asks for. */
export type Look = {
  readonly state: Mutable<AcclimationState>;
  readonly ctx: AcclimationContext;
  readonly lamp: Lamp;
  readonly plan: LightPlan;
  readonly p: Mutable<Programme>;
  readonly effects: AcclimationEffect[];
};

export const NO_EDGE: Edge = { tries: 0, sentAt: null, done: false, told: false };

export const freshDay = (date: string): DayRecord => ({
  date,
  early: NO_EDGE,
  on: NO_EDGE,
  off: NO_EDGE,
  hand: null,
  handTold: false,
  revived: false,
});

export function lookAt(
  state: Mutable<AcclimationState>,
  programme: Programme,
  lamp: Lamp,
  ctx: AcclimationContext,
  effects: AcclimationEffect[],
): Look {
  return { state, ctx, lamp, plan: lightPlanAt(programme, state.at, ctx.zone), p: { ...programme }, effects };
}

export const setDay = (look: Look, change: Partial<DayRecord>): void => {
  look.p.day = { ...look.p.day, ...change };
};

/** Beyond this a reading is dated by a clock that is wrong. */
const AHEAD_MS: DurationMs = 5_000;

/** What the plug itself has reported since everything was last out of sight; however old. */
export function relayKnown({ state, lamp }: Look): { readonly value: 0 | 1; readonly reportedAt: number } | null {
  const reading = state.readings[lamp.switchEntity];
  if (!state.hubUp || reading === undefined || reading.value === null) return null;
  if (reading.reportedAt <= state.upsetAt || reading.reportedAt > state.at + AHEAD_MS) return null;
  return { value: reading.value === 0 ? 0 : 1, reportedAt: reading.reportedAt };
}

/** K20: known, and heard of lately. */
export function relayFresh(look: Look): { readonly value: 0 | 1; readonly reportedAt: number } | null {
  const known = relayKnown(look);
  return known !== null && look.state.at - known.reportedAt <= look.ctx.freshMs ? known : null;
}

/** Its driver tells whether it rests. */
export const showsSuspended = ({ lamp }: Look): boolean => driverReadsOnOff(lamp.driverEntity);

/** Of a driver the hub itself is the source: what it says is so. */
export function driverKnown(look: Look): 0 | 1 | null {
  const { state, lamp } = look;
  const value = state.readings[lamp.driverEntity]?.value ?? null;
  if (!state.hubUp || value === null || !showsSuspended(look)) return null;
  return value === 0 ? 0 : 1;
}

export const heldBy = ({ state, lamp }: Look): string | null => state.held[lamp.id] ?? null;

/** So long after a session its last words may still change something. */
const FREED_FACTOR = 4;
export const justFreed = ({ state, ctx, lamp }: Look): boolean =>
  state.at - (state.freed[lamp.id] ?? Number.NEGATIVE_INFINITY) < FREED_FACTOR * ctx.verifyMs;

/** Nothing but "off" goes out while the hub is away or the time in doubt, and nothing at all into other hands. */
export const mayAct = (look: Look): boolean => look.state.hubUp && !look.state.skewed && heldBy(look) === null;

/** Asks the devices to report: in the first minutes often, then now and then. Never twice within the pace. */
export function askAfresh(look: Look): void {
  const { state, ctx, lamp, effects } = look;
  if (!state.hubUp) return;
  const asked = state.asked[lamp.id] ?? { since: state.at, at: 0, times: 0 };
  const paceMs = asked.times < 30 ? ctx.askMs : ctx.askSlowMs;
  if (asked.times > 0 && state.at - asked.at < paceMs) return;
  state.asked = { ...state.asked, [lamp.id]: { ...asked, at: state.at, times: asked.times + 1 } };
  effects.push({ kind: 'refresh', entities: [lamp.switchEntity, lamp.driverEntity] });
}

/** Not knowing for how long, since it was first asked for. */
export const unknownMs = ({ state, lamp }: Look): DurationMs => state.at - (state.asked[lamp.id]?.since ?? state.at);

export const askedEnough = (look: Look): void => {
  if (look.state.asked[look.lamp.id] === undefined) return;
  const { [look.lamp.id]: _, ...rest } = look.state.asked;
  look.state.asked = rest;
};

/** Told once as long as it stands. */
export function trouble(look: Look, text: string): void {
  if (look.p.trouble === text) return;
  look.p.trouble = text;
  look.effects.push({ kind: 'alarm', lamp: look.lamp.id, text });
}

export function noTrouble(look: Look): void {
  if (look.p.trouble === null) return;
  look.p.trouble = null;
  look.effects.push({ kind: 'alarm-over', lamp: look.lamp.id });
}

export const say = (look: Look, text: string): void => {
  look.effects.push({ kind: 'say', lamp: look.lamp.id, text });
};
