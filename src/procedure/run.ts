import type { EntityId, EquipmentId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import type { DurationMs, InstantMs } from '../units/index.ts';
import { scaled } from './context.ts';
import { forgetFamily, forgetStep, type Key, keyOf, type Remembered, recalled, sameMemory, write } from './memory.ts';
import type {
  EngineContext,
  HoldReason,
  Rung,
  SessionEffect,
  SessionPlan,
  SessionState,
  SessionStatus,
  Step,
  StepRecord,
  StepResult,
} from './types.ts';

export { keyOf } from './memory.ts';

type Mutable<T> = { -readonly [K in keyof T]: T[K] };

/** Parts of a state that are shared with the state before until something in them changes. */
type Shared = 'records' | 'memory' | 'readings' | 'baseline';

/** One event being worked in: a private copy of the state, and the effects it asks for. */
export type Run = {
  readonly ctx: EngineContext;
  readonly at: InstantMs;
  /** Nothing but time has passed. */
  readonly isTick: boolean;
  /** For whatever prompt appears next; null where the event brought none, the prompt then waits for the next event. */
  nonce: string | null;
  /** Its parts are written by the functions of this file alone, which copy a part before the first write. */
  readonly state: Mutable<SessionState>;
  readonly own: Record<Shared, boolean>;
  readonly effects: SessionEffect[];
  /** Entities somebody wants to hear from, and how urgently: 1 = at the full pace. */
  wanted: Map<EntityId, number> | null;
};

export function startRun(
  state: SessionState,
  at: InstantMs,
  ctx: EngineContext,
  nonce: string | null,
  isTick = false,
): Run {
  return {
    isTick,
    ctx,
    at,
    nonce,
    state: { ...state },
    own: { records: false, memory: false, readings: false, baseline: false },
    effects: [],
    wanted: null,
  };
}

function ownMemory(run: Run): Remembered[] {
  if (!run.own.memory) {
    run.own.memory = true;
    run.state.memory = run.state.memory.slice();
  }
  return run.state.memory as Remembered[];
}

function ownRecords(run: Run): StepRecord[] {
  if (!run.own.records) {
    run.own.records = true;
    run.state.records = [...run.state.records];
  }
  return run.state.records as StepRecord[];
}

export function keepReading(run: Run, reading: Reading): void {
  if (!run.own.readings) {
    run.own.readings = true;
    run.state.readings = { ...run.state.readings };
  }
  (run.state.readings as Record<EntityId, Reading>)[reading.entity] = reading;
}

export function keepBaseline(run: Run, entity: EntityId, value: number): void {
  if (!run.own.baseline) {
    run.own.baseline = true;
    run.state.baseline = { ...run.state.baseline };
  }
  (run.state.baseline as Record<EntityId, number>)[entity] = value;
}

const ENDED: readonly SessionStatus[] = ['complete', 'stopped', 'aborted'];
export const isEnded = (state: Pick<SessionState, 'status'>): boolean => ENDED.includes(state.status);

export const recallNumber = (run: Run, key: Key): number | null => {
  const value = recalled(run.state.memory, key);
  return typeof value === 'number' ? value : null;
};
export const recallText = (run: Run, key: Key): string | null => {
  const value = recalled(run.state.memory, key);
  return typeof value === 'string' ? value : null;
};
/** Null = forgotten. */
export const remember = (run: Run, key: Key, value: Remembered): void => {
  if (recalled(run.state.memory, key) !== value) write(ownMemory(run), key, value);
};

export const openStepOf = (state: SessionState): Step | undefined => state.plan.steps[state.stepIndex];

const indexes = new WeakMap<SessionPlan, ReadonlyMap<string, number>>();
/** Where a step stands in its plan; its record stands at the same place. */
function indexOf(plan: SessionPlan, id: string): number {
  let index = indexes.get(plan);
  if (index === undefined) {
    index = new Map(plan.steps.map((step, at) => [step.id, at]));
    indexes.set(plan, index);
  }
  return index.get(id) ?? -1;
}

export const recordOf = (run: Run, id: string): StepRecord | undefined =>
  run.state.records[indexOf(run.state.plan, id)];

export function patchRecord(run: Run, id: string, patch: Partial<StepRecord>): void {
  const at = indexOf(run.state.plan, id);
  const record = run.state.records[at];
  if (record !== undefined) ownRecords(run)[at] = { ...record, ...patch };
}

export function mapRecords(run: Run, change: (record: StepRecord) => StepRecord): void {
  run.own.records = true;
  run.state.records = run.state.records.map(change);
}

/** What has been seen so far for the open step. */
export function showEvidence(run: Run, step: Step, evidence: Rung, evidenceText: string): void {
  const record = recordOf(run, step.id);
  if (record?.evidence !== evidence || record.evidenceText !== evidenceText) {
    patchRecord(run, step.id, { evidence, evidenceText });
  }
}

export function openStep(run: Run, index: number): void {
  forgetStep(ownMemory(run));
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

/** Stops in place. Nothing is commanded any more until a person says so. An abort under way is not held up by anything. */
export function hold(run: Run, reason: HoldReason, text: string): void {
  if (run.state.status === 'aborting') {
    say(run, text);
    return;
  }
  run.state.status = 'held';
  run.state.hold = { reason, text, since: run.at };
  run.state.prompt = null;
  if (reason !== 'person-needed') say(run, text);
}

/** The one way a session ends. What is still open or to come then is told apart in its records. */
export function end(run: Run, result: 'complete' | 'stopped' | 'aborted', summary: string): void {
  const { state } = run;
  if (result === 'aborted') {
    mapRecords(run, (record) =>
      record.result === 'open'
        ? { ...record, result: 'failed', closedAt: run.at, evidenceText: `${record.evidenceText} (aborted)`.trim() }
        : record.result === 'pending'
          ? { ...record, result: 'skipped' }
          : record,
    );
  }
  state.status = result;
  state.hold = null;
  state.prompt = null;
  state.endedAt = run.at;
  state.summary = summary;
  remember(run, 'endedAs', result);
  say(run, summary);
  run.effects.push({ kind: 'ended', result });
}

export const say = (run: Run, text: string): void => {
  run.effects.push({ kind: 'say', text });
};
export const alarm = (run: Run, code: string, text: string): void => {
  run.effects.push({ kind: 'alarm', code, text });
};
/** Told once until `key` is forgotten. */
export function alarmOnce(run: Run, key: Key, code: string, text: string): boolean {
  if (recallNumber(run, keyOf('told', key)) !== null) return false;
  remember(run, keyOf('told', key), run.at);
  alarm(run, code, text);
  return true;
}
export const forgetTold = (run: Run): void => forgetFamily(ownMemory(run), 'told');
export const alarmOver = (run: Run, key: Key): void => remember(run, keyOf('told', key), null);

export const passed = (run: Run, since: InstantMs, ms: DurationMs): boolean => run.at - since >= scaled(ms, run.ctx);

/** From when a step's time-out counts: its opening, or the last resume. */
export const openSince = (run: Run, step: Step): InstantMs =>
  Math.max(recordOf(run, step.id)?.openedAt ?? run.at, recallNumber(run, 'resumedAt') ?? 0);

/** Wishes of one event are put together in one request, so that none starves another. */
export function askAfresh(run: Run, entities: readonly (EntityId | undefined)[], paceFactor = 1): void {
  run.wanted ??= new Map();
  for (const entity of entities) {
    if (entity !== undefined) run.wanted.set(entity, Math.min(paceFactor, run.wanted.get(entity) ?? paceFactor));
  }
}

/** Whether a wish at this pace would be sent now at all. */
export function mayAsk(run: Run, paceFactor: number): boolean {
  const last = recallNumber(run, 'refreshedAt');
  return last === null || passed(run, last, run.ctx.settings.refreshMs * paceFactor);
}

/** Asks the devices to report, at a steady pace. */
export function sendWishes(run: Run): void {
  if (run.wanted === null || run.wanted.size === 0) return;
  if (!mayAsk(run, Math.min(...run.wanted.values()))) return;
  remember(run, 'refreshedAt', run.at);
  run.effects.push({ kind: 'refresh', entities: [...run.wanted.keys()] });
}

export const nameOf = (run: Run, id: EquipmentId): string => run.ctx.equipment[id]?.name ?? id;
export const claimOn = (state: SessionState, id: EquipmentId | undefined) =>
  state.claims.find((claim) => claim.equipment === id);

/** Hub and service disagree on the time: nothing can be judged fresh. */
export const clocksDisagree = (run: Run): boolean => recallNumber(run, 'skewed') !== null;

export const hubIsDown = (state: Pick<SessionState, 'memory'>): boolean =>
  typeof recalled(state.memory, 'hub.lostAt') === 'number';

/** Fields are never taken out. */
const sameFields = (a: Readonly<Record<string, unknown>>, b: Readonly<Record<string, unknown>>): boolean => {
  if (a === b) return true;
  for (const key in b) if (a[key] !== b[key]) return false;
  return true;
};

const sameItems = (a: readonly unknown[], b: readonly unknown[]): boolean =>
  a === b || (a.length === b.length && a.every((each, i) => each === b[i]));

/** Whether working on an event changed anything but the time it was last worked on. */
export function sameState(a: SessionState, b: SessionState): boolean {
  return (
    a.status === b.status &&
    a.stepIndex === b.stepIndex &&
    a.hold === b.hold &&
    a.prompt === b.prompt &&
    a.claims === b.claims &&
    a.usedNonces === b.usedNonces &&
    a.endedAt === b.endedAt &&
    a.summary === b.summary &&
    sameMemory(a.memory, b.memory) &&
    sameFields(a.readings, b.readings) &&
    sameFields(a.baseline, b.baseline) &&
    sameItems(a.records, b.records) &&
    sameItems(a.offNow, b.offNow)
  );
}
