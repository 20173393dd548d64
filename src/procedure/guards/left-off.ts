import type { EntityId, Equipment, EquipmentId, RoleId, Tank } from '../../model/index.ts';
import type { Reading } from '../../observe/index.ts';
import { ROLES, type RuleOverrides, ruleSetting } from '../../rules/index.ts';
import { type DurationMs, formatSpan, HOUR_MS, type InstantMs, MINUTE_MS } from '../../units/index.ts';
import { type DarkState, darkStep, NOTHING_DARK } from './dark.ts';
import { shifted } from './shift.ts';

/** What is off outside its driver and without a session: asked about first, then an alarm by the clock of its role. */

type Watched = {
  readonly id: EquipmentId;
  readonly name: string;
  readonly role: RoleId;
  readonly driver: Equipment['driver']['kind'];
  readonly driverEntity?: EntityId;
  readonly switchEntity?: EntityId;
  readonly powerEntity?: EntityId;
  readonly cycling: boolean;
  readonly waterMover: boolean;
  readonly lifeSupport: boolean;
  readonly askMs: DurationMs;
  readonly alarmMs: DurationMs;
};

export type LeftOffContext = {
  readonly equipment: readonly Watched[];
  readonly offMaxW: number;
  readonly freshMs: DurationMs;
  /** K16: every water mover off. */
  readonly moversWarnMs: DurationMs;
  readonly moversAlarmMs: DurationMs;
  readonly moversHardMs: DurationMs;
  readonly timeFactor: number;
};

export type OffHow = 'off' | 'draws-nothing' | 'driver-off';

export type LeftOff = {
  readonly since: InstantMs;
  readonly how: OffHow;
  readonly asked: boolean;
  /** A person said that it is meant. */
  readonly meant: boolean;
  /** When the next alarm is due; put on by each alarm and by "meant". */
  readonly alarmAt: InstantMs;
  readonly alarmed: boolean;
};

export type LeftOffState = {
  readonly at: InstantMs;
  readonly hubUp: boolean;
  readonly readings: Readonly<Record<EntityId, Reading>>;
  /** In the hands of a session, or held off by a guard: told there. */
  readonly busy: readonly EquipmentId[];
  readonly off: Readonly<Record<EquipmentId, LeftOff>>;
  /** Since when no water mover is known to run, and how often that was told. */
  readonly still: { readonly since: InstantMs; readonly told: number } | null;
  /** Plugs of which nothing is heard although the hub is there. */
  readonly dark: DarkState;
  readonly hubBackAt: InstantMs;
};

export const NOTHING_LEFT_OFF: LeftOffState = {
  ...{ at: 0, hubUp: false, readings: {}, busy: [], off: {}, still: null },
  ...{ dark: NOTHING_DARK, hubBackAt: 0 },
};

export type LeftOffInput =
  | { readonly kind: 'readings'; readonly at: InstantMs; readonly readings: readonly Reading[] }
  | { readonly kind: 'tick'; readonly at: InstantMs }
  /** The wall clock was set by so much since the last step. */
  | { readonly kind: 'clock'; readonly at: InstantMs; readonly byMs: DurationMs }
  | { readonly kind: 'hub'; readonly at: InstantMs; readonly up: boolean }
  | { readonly kind: 'busy'; readonly at: InstantMs; readonly equipment: readonly EquipmentId[] }
  | { readonly kind: 'answered'; readonly at: InstantMs; readonly equipment: EquipmentId; readonly meant: boolean };

export type LeftOffEffect =
  | { readonly kind: 'ask'; readonly equipment: EquipmentId; readonly since: InstantMs; readonly text: string }
  | { readonly kind: 'answered-itself'; readonly equipment: EquipmentId }
  | { readonly kind: 'refresh'; readonly entities: readonly EntityId[] }
  | { readonly kind: 'alarm'; readonly code: string; readonly text: string }
  | { readonly kind: 'alarm-over'; readonly code: string };

const ASK_SHARE = 1 / 4;
const LEAST_ASK_MS = 10 * MINUTE_MS;
const MOST_ASK_MS = 6 * HOUR_MS;
/** Roles without a clock of their own harm nobody for days. */
const NO_CLOCK_MS = 72 * HOUR_MS;
const AGAIN_MS = 24 * HOUR_MS;
const AGAIN_LIFE_SUPPORT_MS = HOUR_MS;

export function leftOffContext(tank: Tank, overrides: RuleOverrides = {}, timeFactor = 1): LeftOffContext {
  const scaled = (ms: DurationMs): DurationMs => ms / timeFactor;
  return {
    equipment: tank.equipment.map((one) => watched(one, timeFactor)),
    offMaxW: ruleSetting(overrides, 'K18', 'wattsMax'),
    freshMs: scaled(ruleSetting(overrides, 'K20', 'maxAgeMs')),
    moversWarnMs: scaled(ruleSetting(overrides, 'K16', 'warnMs')),
    moversAlarmMs: scaled(ruleSetting(overrides, 'K16', 'alarmMs')),
    moversHardMs: scaled(ruleSetting(overrides, 'K16', 'hardMs')),
    timeFactor,
  };
}

function watched(one: Equipment, timeFactor: number): Watched {
  const { waterMover, lifeSupport, maxOffMs } = ROLES[one.role];
  const clock = maxOffMs ?? NO_CLOCK_MS;
  const { id, name, role, driver, cycling, switchEntity, powerEntity } = one;
  const driverEntity = 'entity' in driver ? driver.entity : undefined;
  return {
    ...{ id, name, role, cycling, waterMover, lifeSupport, driver: driver.kind },
    askMs: Math.min(MOST_ASK_MS, Math.max(LEAST_ASK_MS, clock * ASK_SHARE)) / timeFactor,
    alarmMs: clock / timeFactor,
    ...(switchEntity === undefined ? {} : { switchEntity }),
    ...(powerEntity === undefined ? {} : { powerEntity }),
    ...(driverEntity === undefined ? {} : { driverEntity }),
  };
}

type Look = {
  readonly state: LeftOffState;
  readonly ctx: LeftOffContext;
  readonly effects: LeftOffEffect[];
  readonly off: Record<EquipmentId, LeftOff>;
};

export function leftOffStep(
  given: LeftOffState,
  input: LeftOffInput,
  ctx: LeftOffContext,
): readonly [state: LeftOffState, effects: readonly LeftOffEffect[]] {
  const before = input.kind === 'clock' ? shifted(given, input.byMs) : given;
  const state = taken({ ...before, at: Math.max(before.at, input.at) }, input, ctx);
  const look: Look = { state, ctx, effects: [], off: { ...state.off } };
  // A report moves only what it is about; time moves all.
  const heard = input.kind === 'readings' ? new Set(input.readings.map(({ entity }) => entity)) : null;
  if (state.hubUp) for (const one of ctx.equipment) if (heard === null || isAbout(one, heard)) follow(look, one);
  if (heard === null) for (const one of ctx.equipment) clock(look, one);
  const still = stillWater(look);
  // By time alone: a plug that says something within a tick was never away.
  const [dark, said] =
    state.hubUp && heard === null ? darkStep(state.dark, state, ctx.equipment, ctx.timeFactor) : [state.dark, []];
  look.effects.push(...said);
  return [{ ...state, off: look.off, still, dark }, look.effects];
}

const isAbout = (one: Watched, heard: ReadonlySet<EntityId>): boolean =>
  [one.switchEntity, one.powerEntity, one.driverEntity].some((entity) => entity !== undefined && heard.has(entity));

function taken(state: LeftOffState, input: LeftOffInput, ctx: LeftOffContext): LeftOffState {
  switch (input.kind) {
    case 'tick':
    case 'clock':
      return state;
    case 'busy':
      return { ...state, busy: input.equipment };
    case 'hub':
      // What was known before the hub went says nothing of now; the clocks of what is off run on.
      return {
        ...state,
        hubUp: input.up,
        readings: input.up ? state.readings : {},
        hubBackAt: input.up ? state.at : state.hubBackAt,
      };
    case 'readings': {
      const readings = { ...state.readings };
      for (const one of input.readings) readings[one.entity] = one;
      return { ...state, readings };
    }
    case 'answered': {
      const known = state.off[input.equipment];
      const one = ctx.equipment.find(({ id }) => id === input.equipment);
      if (known === undefined || one === undefined || !input.meant) return state;
      const changed = { ...known, meant: true, alarmAt: state.at + one.alarmMs };
      return { ...state, off: { ...state.off, [input.equipment]: changed } };
    }
  }
}

/** Null = known to be as its driver has it; unknown changes nothing. */
function howOff({ state, ctx }: Look, one: Watched): OffHow | 'unknown' | null {
  const value = (entity: EntityId | undefined): number | null =>
    entity === undefined ? null : (state.readings[entity]?.value ?? null);
  if (one.driver === 'schedule' || one.driver === 'thermostat') {
    const driver = value(one.driverEntity);
    // A thermostat in some mode of its own is at work.
    if (driver === null)
      return one.driverEntity !== undefined && state.readings[one.driverEntity]?.word ? null : 'unknown';
    return driver === 0 ? 'driver-off' : null;
  }
  const relay = value(one.switchEntity);
  if (relay === 0) return 'off';
  if (one.powerEntity === undefined || one.cycling || one.driver !== 'always-on')
    return relay === null ? 'unknown' : null;
  const power = state.readings[one.powerEntity];
  if (power === undefined || power.value === null || Math.abs(state.at - power.reportedAt) > ctx.freshMs)
    return 'unknown';
  return power.value <= ctx.offMaxW ? 'draws-nothing' : null;
}

function follow(look: Look, one: Watched): void {
  const { state, off, effects } = look;
  const how = howOff(look, one);
  const known = off[one.id];
  if (how === 'unknown') return;
  if (how === null) {
    if (known === undefined) return;
    delete off[one.id];
    if (known.asked) effects.push({ kind: 'answered-itself', equipment: one.id });
    if (known.alarmed) effects.push({ kind: 'alarm-over', code: codeOf(one) });
    return;
  }
  if (known !== undefined) {
    if (known.how !== how) off[one.id] = { ...known, how };
    return;
  }
  // The hub dates a change anew after its own restart; earlier than now it may well be, later it cannot.
  const entity = how === 'driver-off' ? one.driverEntity : how === 'off' ? one.switchEntity : one.powerEntity;
  const changedAt = (entity === undefined ? undefined : state.readings[entity]?.changedAt) ?? state.at;
  const since = Math.min(state.at, changedAt);
  off[one.id] = { since, how, asked: false, meant: false, alarmAt: since + one.alarmMs, alarmed: false };
}

const codeOf = (one: Watched): string => `left_off_${one.id}`;

const HOW_WORDS: Readonly<Record<OffHow, string>> = {
  off: 'has been off',
  'draws-nothing': 'has drawn nothing although it is on',
  'driver-off': 'has been without its driver',
};

export const leftOffText = (name: string, { how, since }: LeftOff, now: InstantMs, timeFactor = 1): string =>
  `${name} ${HOW_WORDS[how]} for ${formatSpan((now - since) * timeFactor)}, without a session`;

/** Questions and alarms fall due by time alone, also while the hub is away. */
function clock({ state, ctx, off, effects }: Look, one: Watched): void {
  const known = off[one.id];
  if (known === undefined || state.busy.includes(one.id)) return;
  const text = leftOffText(one.name, known, state.at, ctx.timeFactor);
  if (!known.asked && state.at - known.since >= one.askMs) {
    off[one.id] = { ...known, asked: true };
    const says = one.lifeSupport ? 'puts the alarm off once' : 'says that it is known; no alarm follows';
    effects.push({
      kind: 'ask',
      equipment: one.id,
      since: known.since,
      text: `${text}. Is that meant? "yes" ${says}; "no" leaves the alarm as it is. The question goes when it is back.`,
    });
  }
  const asked = off[one.id] ?? known;
  if ((asked.meant && !one.lifeSupport) || state.at < asked.alarmAt) return;
  const again = (one.lifeSupport ? AGAIN_LIFE_SUPPORT_MS : AGAIN_MS) / ctx.timeFactor;
  off[one.id] = { ...asked, alarmed: true, alarmAt: state.at + again };
  effects.push({ kind: 'alarm', code: codeOf(one), text: `${text}. ${ROLES[one.role].hazardStopped}` });
}

/** K16: with no water mover known to run, the clock of all of them together. */
function stillWater(look: Look): LeftOffState['still'] {
  const { state, ctx, effects, off } = look;
  const movers = ctx.equipment.filter(({ waterMover, switchEntity }) => waterMover && switchEntity !== undefined);
  const inSession = movers.some(({ id }) => state.busy.includes(id));
  const known = state.hubUp && movers.some((one) => off[one.id] === undefined && howOff(look, one) === null);
  const anyOff = movers.some(({ id }) => off[id] !== undefined);
  if (known || inSession || !anyOff) {
    if (state.still !== null && state.still.told > 0) effects.push({ kind: 'alarm-over', code: 'still_water' });
    return null;
  }
  const still = state.still ?? { since: state.at, told: 0 };
  const due = [ctx.moversWarnMs, ctx.moversAlarmMs, ctx.moversHardMs].filter(
    (ms) => state.at - still.since >= ms,
  ).length;
  if (due <= still.told) return still;
  const span = formatSpan((state.at - still.since) * ctx.timeFactor);
  const text = `No water mover is known to run for ${span}: ${movers.map(({ name }) => name).join(', ')}. The animals need moving water: start one by hand now.`;
  effects.push({ kind: 'alarm', code: 'still_water', text });
  return { ...still, told: due };
}
