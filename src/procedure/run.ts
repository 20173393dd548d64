import type { EntityId, EquipmentId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import type { DurationMs, InstantMs } from '../units/index.ts';
import { scaled } from './context.ts';
import type {
  EngineContext,
  HoldReason,
  Rung,
  SessionEffect,
  SessionState,
  SessionStatus,
  Step,
  StepRecord,
  StepResult,
} from './types.ts';

type Mutable<T> = { -readonly [K in keyof T]: T[K] };

/** One event being worked in: a private copy of the state, and the effects it asks for. */
export type Run = {
  readonly ctx: EngineContext;
  readonly at: InstantMs;
  /** For whatever prompt appears next; null where the event brought none, the prompt then waits for the next event. */
  nonce: string | null;
  readonly state: Mutable<SessionState> & {
    records: StepRecord[];
    memory: Record<string, number | string | null>;
    readings: Record<EntityId, Reading>;
    baseline: Record<EntityId, number>;
    offNow: EquipmentId[];
  };
  readonly effects: SessionEffect[];
  /** Entities somebody wants to hear from, and how urgently: 1 = at the full pace. */
  readonly wanted: Map<EntityId, number>;
};

export function startRun(state: SessionState, at: InstantMs, ctx: EngineContext, nonce: string | null): Run {
  return {
    ctx,
    at,
    nonce,
    state: {
      ...state,
      records: [...state.records],
      memory: { ...state.memory },
      readings: { ...state.readings },
      baseline: { ...state.baseline },
      offNow: [...state.offNow],
    },
    effects: [],
    wanted: new Map(),
  };
}

const ENDED: readonly SessionStatus[] = ['complete', 'stopped', 'aborted'];
export const isEnded = (state: Pick<SessionState, 'status'>): boolean => ENDED.includes(state.status);

/** Step-scoped memory is forgotten when the next step opens. */
const STEP_SCOPE = 's.';

export const recallNumber = (run: Run, key: string): number | null => {
  const value = run.state.memory[key];
  return typeof value === 'number' ? value : null;
};
export const recallText = (run: Run, key: string): string | null => {
  const value = run.state.memory[key];
  return typeof value === 'string' ? value : null;
};
export const remember = (run: Run, key: string, value: number | string | null): void => {
  if (value === null) delete run.state.memory[key];
  else run.state.memory[key] = value;
};

export const openStepOf = (state: SessionState): Step | undefined => state.plan.steps[state.stepIndex];
export const recordOf = (run: Run, id: string): StepRecord | undefined =>
  run.state.records.find((record) => record.id === id);

export function patchRecord(run: Run, id: string, patch: Partial<StepRecord>): void {
  run.state.records = run.state.records.map((record) => (record.id === id ? { ...record, ...patch } : record));
}

/** What has been seen so far for the open step. */
export function showEvidence(run: Run, step: Step, evidence: Rung, evidenceText: string): void {
  const record = recordOf(run, step.id);
  if (record?.evidence !== evidence || record.evidenceText !== evidenceText) {
    patchRecord(run, step.id, { evidence, evidenceText });
  }
}

export function openStep(run: Run, index: number): void {
  for (const key of Object.keys(run.state.memory)) if (key.startsWith(STEP_SCOPE)) delete run.state.memory[key];
  run.state.stepIndex = index;
  run.state.status = 'running';
  run.state.hold = null;
  run.state.prompt = null;
  const step = run.state.plan.steps[index];
  if (step) patchRecord(run, step.id, { result: 'open', openedAt: run.at });
}

export function closeStep(
  run: Run,
  step: Step,
  result: StepResult,
  evidence: Rung | null,
  evidenceText: string,
  confirmedBy?: string,
): void {
  patchRecord(run, step.id, {
    result,
    evidence,
    evidenceText,
    closedAt: run.at,
    ...(confirmedBy === undefined ? {} : { confirmedBy }),
  });
  openStep(run, run.state.stepIndex + 1);
}

/** Stops in place. Nothing is commanded any more until a person says so. */
export function hold(run: Run, reason: HoldReason, text: string): void {
  run.state.status = 'held';
  run.state.hold = { reason, text, since: run.at };
  run.state.prompt = null;
  if (reason !== 'person-needed') say(run, text);
}

export const say = (run: Run, text: string): void => {
  run.effects.push({ kind: 'say', text });
};
export const alarm = (run: Run, code: string, text: string): void => {
  run.effects.push({ kind: 'alarm', code, text });
};
/** Told once until `key` is forgotten. */
export function alarmOnce(run: Run, key: string, code: string, text: string): boolean {
  if (recallNumber(run, `told.${key}`) !== null) return false;
  remember(run, `told.${key}`, run.at);
  alarm(run, code, text);
  return true;
}
export const alarmOver = (run: Run, key: string): void => remember(run, `told.${key}`, null);

export const passed = (run: Run, since: InstantMs, ms: DurationMs): boolean => run.at - since >= scaled(ms, run.ctx);

/** From when a step's time-out counts: its opening, or the last resume. */
export const openSince = (run: Run, step: Step): InstantMs =>
  Math.max(recordOf(run, step.id)?.openedAt ?? run.at, recallNumber(run, 'resumedAt') ?? 0);

/** Wishes of one event are put together in one request, so that none starves another. */
export function askAfresh(run: Run, entities: readonly (EntityId | undefined)[], paceFactor = 1): void {
  for (const entity of entities) {
    if (entity !== undefined) run.wanted.set(entity, Math.min(paceFactor, run.wanted.get(entity) ?? paceFactor));
  }
}

/** Asks the devices to report, at a steady pace. */
export function sendWishes(run: Run): void {
  if (run.wanted.size === 0) return;
  const last = recallNumber(run, 'refreshedAt');
  const pace = Math.min(...run.wanted.values());
  if (last !== null && !passed(run, last, run.ctx.settings.refreshMs * pace)) return;
  remember(run, 'refreshedAt', run.at);
  run.effects.push({ kind: 'refresh', entities: [...run.wanted.keys()] });
}

export const nameOf = (run: Run, id: EquipmentId): string => run.ctx.equipment[id]?.name ?? id;
export const claimOn = (state: SessionState, id: EquipmentId | undefined) =>
  state.claims.find((claim) => claim.equipment === id);

export const hubIsDown = (state: Pick<SessionState, 'memory'>): boolean =>
  typeof state.memory['hub.lostAt'] === 'number';

const sameFields = (
  a: Readonly<Record<string, unknown>>,
  b: Readonly<Record<string, unknown>>,
  but: string,
): boolean => {
  const keys = Object.keys(a);
  const more = Object.keys(b).filter((key) => key !== but && !Object.hasOwn(a, key));
  return more.length === 0 && keys.every((key) => key === but || a[key] === b[key]);
};

/** Whether working on an event changed anything but the time it was last worked on. */
export function sameState(a: SessionState, b: SessionState): boolean {
  const { records, memory, readings, baseline, offNow, ...rest } = a;
  const { records: records2, memory: memory2, readings: readings2, baseline: baseline2, offNow: offNow2, ...rest2 } = b;
  return (
    sameFields(rest, rest2, '') &&
    sameFields(memory, memory2, 'now') &&
    sameFields(readings, readings2, '') &&
    sameFields(baseline, baseline2, '') &&
    records.length === records2.length &&
    records.every((record, i) => record === records2[i]) &&
    offNow.length === offNow2.length &&
    offNow.every((id, i) => id === offNow2[i])
  );
}
