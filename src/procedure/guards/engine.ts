import type { Actor, EntityId, GuardDef, GuardId } from '../../model/index.ts';
import type { Reading } from '../../observe/index.ts';
import type { InstantMs } from '../../units/index.ts';
import { barrelReason, dryHeaterReason, lowSensor, weldedReason } from './heat.ts';
import { keepOff, latchCode, offEnded, release, reread, trip } from './latch.ts';
import { shifted } from './shift.ts';
import type { GuardContext, GuardEffect, GuardInput, GuardMemory, GuardRecord, GuardState, Latch } from './types.ts';
import { flowReason, litresReason, sensorsOf, topOffReason, wetReason } from './water.ts';
import { beginWork, endWork, entitiesOf, recall, remember, type Work } from './work.ts';

const REASONS: Readonly<Record<GuardDef['kind'], (work: Work, guard: GuardDef) => string | null>> = {
  'high-level': wetReason,
  leak: wetReason,
  'top-off': topOffReason,
  'ro-litres': litresReason,
  'flow-while-off': flowReason,
  'dry-heater': dryHeaterReason,
  'barrel-dry': barrelReason,
  'welded-relay': weldedReason,
};

/** One input, one new state, and what is to be done. Nothing here can switch anything on. */
export function guardStep(
  before: GuardState,
  input: GuardInput,
  ctx: GuardContext,
): readonly [state: GuardState, effects: readonly GuardEffect[]] {
  const state = input.kind === 'clock' ? shifted(before, input.byMs) : before;
  // The clock of guards never runs backward.
  const at = Math.max(input.at, state.at);
  const readings = input.kind === 'readings' ? input.readings.filter((one) => isNews(state, one)) : [];
  const work = beginWork(state, at, ctx, new Set(readings.map(({ entity }) => entity)));
  for (const reading of readings) work.readings[reading.entity] = reading;
  if (input.kind === 'session') work.inSession = input.equipment;
  if (input.kind === 'hub') takeLink(work, input.up);
  if (input.kind === 'off-ended') offEnded(work, input.guard, input.equipment, input.outcome, input.detail);
  if (input.kind === 'reset') reset(work, state, input.guard, input.by);
  // While the hub is away nothing is seen and nothing can be sent; its clocks go on when it is back.
  // A report moves only the guards it is about; time moves all.
  const isDue = (guard: GuardDef): boolean => input.kind !== 'readings' || isAbout(work, guard);
  if (work.hubUp) for (const guard of ctx.guards) if (isDue(guard)) look(work, guard);
  for (const guard of Object.keys(work.latches)) keepOff(work, guard);
  return [endWork(work), work.effects];
}

/** So much earlier than the one known, a report is none that was overtaken: the hub's clock was set. */
const CLOCK_SET_MS = 60_000;

/** What a device said before, told again without its saying so anew, is no report; a gap always is. */
const isNews = (state: GuardState, reading: Reading): boolean => {
  const known = state.readings[reading.entity];
  if (known === undefined || reading.value === null) return true;
  const later = reading.reportedAt - known.reportedAt;
  return later > 0 || later < -CLOCK_SET_MS || (later === 0 && reading.value !== known.value);
};

function takeLink(work: Work, up: boolean): void {
  if (up && !work.hubUp) reread(work);
  work.hubUp = up;
  if (up) return;
  for (const entity of Object.keys(work.readings)) delete work.readings[entity];
  for (const [guard, memory] of Object.entries(work.memory))
    for (const key of Object.keys(memory)) if (key.startsWith('ring ')) remember(work, guard, key, null);
}

/** Everything that could change a guard's mind, by its definition, which stays the same as long as the service runs. */
const WATCHED = new WeakMap<GuardDef, ReadonlySet<EntityId>>();

function isAbout(work: Work, guard: GuardDef): boolean {
  const known = WATCHED.get(guard) ?? watchedBy(work, guard);
  WATCHED.set(guard, known);
  for (const entity of work.heard) if (known.has(entity)) return true;
  return false;
}

function watchedBy(work: Work, guard: GuardDef): ReadonlySet<EntityId> {
  const { equipment } = work.ctx;
  // The warmth of other heaters counts, too.
  const heaters = guard.kind === 'dry-heater' ? Object.values(equipment).filter(({ role }) => role === 'heater') : [];
  const plugs = [...guard.off.map((id) => equipment[id]), equipment[guard.pump ?? ''], ...heaters];
  return new Set([...sensorsOf(work, guard).map(({ entity }) => entity), ...plugs.flatMap(entitiesOf)]);
}

function look(work: Work, guard: GuardDef): void {
  watchSight(work, guard);
  const reason = REASONS[guard.kind](work, guard);
  if (reason !== null && work.latches[guard.id] === undefined) trip(work, guard, reason);
}

/** A dead sensor looks dry. What says nothing for long is told, once. */
function watchSight(work: Work, guard: GuardDef): void {
  const silent = sensesOf(work, guard).filter(([, entity]) => (work.readings[entity]?.value ?? null) === null);
  const code = `${latchCode(guard.id)}_blind`;
  if (silent.length === 0) {
    if (recall(work, guard.id, 'blind told') !== null) work.effects.push({ kind: 'alarm-over', code });
    for (const key of ['blind from', 'blind told']) remember(work, guard.id, key, null);
    return;
  }
  const from = recall(work, guard.id, 'blind from') ?? work.at;
  remember(work, guard.id, 'blind from', from);
  if (work.at - from < work.ctx.settings.blindMs || recall(work, guard.id, 'blind told') !== null) return;
  remember(work, guard.id, 'blind told', work.at);
  const names = [...new Set(silent.map(([name]) => name))].join(', ');
  work.effects.push({ kind: 'alarm', code, text: `${guard.name} cannot see: nothing is known of ${names}.` });
}

/** What it must see to do its work, with a name for people. */
export function sensesOf(work: Work, guard: GuardDef): readonly (readonly [name: string, entity: EntityId])[] {
  const ofSensors = sensorsOf(work, guard).map(({ name, entity }) => [name, entity] as const);
  const watches = guard.kind !== 'high-level' && guard.kind !== 'leak';
  const one = watches ? work.ctx.equipment[guard.off[0] ?? ''] : undefined;
  const ofPlug = [one?.switchEntity, one?.powerEntity].flatMap((entity) =>
    entity === undefined ? [] : [[`the plug of ${one?.name}`, entity] as const],
  );
  return [...ofSensors, ...ofPlug];
}

export type ResetVerdict =
  | { readonly ok: true }
  | { readonly ok: false; readonly why: 'no-latch' | 'no-person' | 'stands'; readonly cause: string };

/** A named person, a latch that stands, and a cause that is not known to stand any more. */
export function judgeReset(state: GuardState, guard: GuardId, by: Actor, ctx: GuardContext): ResetVerdict {
  const latch = state.latches[guard];
  if (latch === undefined) return { ok: false, why: 'no-latch', cause: '' };
  if (by.kind !== 'person') return { ok: false, why: 'no-person', cause: '' };
  const def = ctx.guards.find(({ id }) => id === guard);
  const cause = def === undefined ? null : causeStands(beginWork(state, state.at, ctx), def);
  return cause === null ? { ok: true } : { ok: false, why: 'stands', cause };
}

/** What a person can see and mend; amounts that were too much are the past. */
function causeStands(work: Work, guard: GuardDef): string | null {
  if (guard.kind === 'high-level' || guard.kind === 'leak') return wetReason(work, guard);
  if (guard.kind === 'dry-heater' || guard.kind === 'barrel-dry') return lowSensor(work, guard);
  return null;
}

/** What was learned of the equipment outlives a reset; what led to the latch does not. */
const LEARNED = ['runs', 'days', 'day', 'day whole', 'meter', 'loss'];

function reset(work: Work, state: GuardState, guard: GuardId, by: Actor): void {
  const latch = work.latches[guard];
  if (latch === undefined || by.kind !== 'person' || !judgeReset(state, guard, by, work.ctx).ok) return;
  const { equipment } = latch;
  work.effects.push({ kind: 'record', change: 'reset', guard, equipment, text: latch.reason, by: by.name });
  release(work, guard);
  const kept = Object.entries(work.memory[guard] ?? {}).filter(([key]) => LEARNED.includes(key));
  work.memory[guard] = Object.fromEntries(kept);
}

export const NO_GUARDS: GuardState = {
  at: 0,
  seq: 0,
  hubUp: false,
  readings: {},
  inSession: [],
  latches: {},
  memory: {},
};

/**
 * After a start: what was latched and not reset is latched, whatever the configuration says now. Its plugs are read before
 * anything is sent again.
 */
export function restoredGuards(
  records: readonly GuardRecord[],
  memory: GuardState['memory'],
  ctx: GuardContext,
  at: InstantMs,
): GuardState {
  const latches: Record<GuardId, Latch> = {};
  for (const record of records) {
    if (record.change === 'reset') delete latches[record.guard];
    else
      latches[record.guard] = {
        guard: record.guard,
        name: ctx.guards.find(({ id }) => id === record.guard)?.name ?? record.guard,
        since: record.at,
        reason: record.text,
        equipment: record.equipment,
        sent: {},
        provedOff: [],
        told: [],
        remindAt: at,
      };
  }
  const kept: Record<GuardId, GuardMemory> = { ...memory };
  for (const { guard, equipment } of Object.values(latches)) {
    // What was reported to the service before says nothing of now.
    const reread = equipment.flatMap((id) => [
      [`from ${id}`, at],
      [`waits ${id}`, at],
      ...['since', 'relay', 'watts', 'tries'].map((key) => [`${key} ${id}`, 0] as const),
    ]);
    kept[guard] = { ...kept[guard], ...Object.fromEntries(reread) };
  }
  return { ...NO_GUARDS, at, latches, memory: kept };
}
