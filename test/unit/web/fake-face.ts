import type {
  AcclimationView,
  AppEvent,
  AppFace,
  GuardView,
  KeeperFace,
  PartUsage,
  ProtectionFace,
  RecountView,
  ResetView,
  SessionView,
  SourceView,
  UsageWhy,
} from '../../../src/app/index.ts';
import { problem } from '../../../src/errors/index.ts';
import type { AnsweredQuestion } from '../../../src/model/index.ts';
import type { System } from '../../../src/ports/index.ts';
import type { SessionPlan } from '../../../src/procedure/index.ts';
import type { Standing } from '../../../src/remind/index.ts';

/** An invented part that is due. */
export const DUE: Standing = {
  part: 'uv-lamp',
  name: 'UV lamp',
  word: 'overdue',
  reason: 'UV lamp: 8,256 of 8,000 h lit; overdue since 11 days',
  measure: 'on-hours',
  used: { measure: 'on-hours', low: 8_250, best: 8_256, high: 8_270, countingSince: 0 },
  limit: 8_000,
  share: 1.032,
  reachedAt: null,
  putOffUntil: null,
  all: [],
};

export const USAGE: PartUsage = {
  part: 'uv-lamp',
  name: 'UV lamp',
  life: 1,
  fittedAt: 0,
  measures: [{ measure: 'on-hours', low: 8_250, best: 8_256, high: 8_270, countingSince: 0, unit: 'h', limit: 8_000 }],
};

export const WHY: UsageWhy = {
  part: 'uv-lamp',
  measure: 'on-hours',
  unit: 'h',
  counter: 'uv-lamp-on',
  source: 'switch.uv_lamp is on',
  rows: [],
};

const PLAN: SessionPlan = {
  procedure: 'skimmer-service',
  title: 'Skimmer service',
  steps: [],
  outOfService: ['skimmer'],
  handled: ['skimmer'],
  cautions: [],
  notes: [],
};

export function viewOf(startedBy: string, status: SessionView['status'] = 'idle'): SessionView {
  return {
    id: 'session-1',
    procedure: 'skimmer-service',
    title: 'Skimmer service',
    status,
    startedBy,
    step: -1,
    steps: [],
    prompt: { step: 'unplug:skimmer', nonce: 'nonce-1', appearedAt: 0, text: 'Unplug the skimmer.' },
    hold: null,
    claims: [],
    outOfService: [],
    leftOut: [],
    cautions: [],
    notes: [],
    summary: '',
  };
}

/** An invented guard that holds. */
export const GUARD: GuardView = {
  id: 'leak',
  name: 'Leak',
  kind: 'leak',
  off: ['Top-off'],
  latched: { since: 5, reason: 'Leak under the cabinet is wet', holdsOff: ['Top-off'], provedOff: true },
};

export type FakeFace = AppFace & {
  /** Every acting call with its arguments, in order. */
  readonly calls: { readonly what: string; readonly args: readonly unknown[] }[];
  readonly emit: (event: AppEvent) => void;
  readonly listeners: () => number;
};

/** Answers as a service might; a machine's confirmation is refused, as the session engine does for "unplugged". */
export function fakeFace(): FakeFace {
  const calls: FakeFace['calls'] = [];
  const listeners = new Set<(event: AppEvent) => void>();
  let view: SessionView | null = null;
  const called = (what: string, ...args: unknown[]): void => {
    calls.push({ what, args });
  };
  return {
    calls,
    emit: (event) => {
      for (const listener of listeners) listener(event);
    },
    listeners: () => listeners.size,
    due: () => [DUE],
    usage: () => [USAGE],
    condition: () => [],
    why: (part) => {
      if (part !== 'uv-lamp') throw problem('SW-SES-014', { found: part, known: 'uv-lamp', hint: 'Look at `usage`.' });
      return [WHY];
    },
    rehearse: () => PLAN,
    procedures: () => [{ id: 'skimmer-service', title: 'Skimmer service' }],
    session: () => view,
    startSession: async (procedure, actor) => {
      called('start', procedure, actor);
      if (view !== null) throw problem('SW-SES-002', { title: view.title, person: view.startedBy });
      view = viewOf(actor.kind === 'unknown' ? 'unknown' : actor.name);
      return view;
    },
    confirm: async (confirmation) => {
      called('confirm', confirmation);
      const person = confirmation.actor.kind === 'person';
      if (!person) return { accepted: false, why: problem('SW-SES-007', { what: '"unplugged"' }).message, view };
      return { accepted: true, why: 'confirmed', view };
    },
    abort: async (actor) => {
      called('abort', actor);
      view = view === null ? null : { ...view, status: 'aborted' };
      const ended = view;
      view = null;
      return ended;
    },
    back: async (...args) => {
      called('back', ...args);
      return view;
    },
    replaced: async (...args) => {
      called('replaced', ...args);
      return { ...USAGE, life: 2 };
    },
    putOff: async (...args) => {
      called('putOff', ...args);
      return { ...DUE, putOffUntil: 1 };
    },
    ...keeping(called),
    reading: async (...args) => called('reading', ...args),
    dashboardInstall: async () => {
      called('dashboardInstall');
      return { path: 'tank' };
    },
    status: () => ({ hub: 'up', hubVersion: '2025.4.4', tank: 'Invented tank', simulated: true }),
    subscribe: (listener) => {
      listeners.add(listener);
      return () => listeners.delete(listener);
    },
  };
}

export const QUESTION: AnsweredQuestion = {
  id: 'unit-changed feed',
  kind: 'unit-changed',
  askedAt: 5,
  text: 'The feed meter told L, now it tells gal. Yes goes on in gal, no waits for L.',
  counter: 'feed',
  answer: null,
};

export const RECOUNT: RecountView = {
  part: 'uv-lamp',
  name: 'UV lamp',
  measure: 'on-hours',
  unit: 'h',
  thresholdW: 20,
  old: { low: 1, best: 1, high: 1 },
  now: { low: 2, best: 2, high: 3 },
  keptMinutes: 100,
  allMinutes: 200,
  taken: false,
};

const SOURCE: SourceView = { counter: 'feed', from: 7, entity: 'sensor.new', how: 'replace', by: 'Marit' };
const RESET: ResetView = { counter: 'feed', at: 9, before: 500, after: 0, name: 'Feed', unit: 'L' };

export const LAMP: AcclimationView = {
  ...{ lamp: 'lamp', name: 'Lamp', cannot: null, hours: '09:30-18:30', hoursFrom: 'counted', hoursUnknown: null },
  ...{ text: 'Lamp is left to its driver', programme: null },
};

function keeping(called: (what: string, ...args: unknown[]) => void): KeeperFace & ProtectionFace {
  return {
    fitted: async (...args) => {
      called('fitted', ...args);
      return { ...USAGE, life: 2 };
    },
    undo: async (...args) => {
      called('undo', ...args);
      return { usage: USAGE, what: 'UV lamp replaced or serviced, number 2 begins' };
    },
    seed: async (...args) => {
      called('seed', ...args);
      return USAGE;
    },
    limits: () => [],
    setLimit: async (...args) => {
      called('setLimit', ...args);
      return [];
    },
    recount: async (...args) => {
      called('recount', ...args);
      return { ...RECOUNT, taken: args[3] };
    },
    changeSource: async (...args) => {
      called('changeSource', ...args);
      return [SOURCE];
    },
    questions: (all) => (all ? [QUESTION, { ...QUESTION, answer: { at: 6, by: 'Marit', choice: 'yes' } }] : [QUESTION]),
    answer: async (...args) => {
      called('answer', ...args);
      return { ...QUESTION, answer: { at: 6, by: 'Marit', choice: args[2] } };
    },
    acclimation: () => [LAMP],
    startAcclimation: async (...args) => {
      called('startAcclimation', ...args);
      return LAMP;
    },
    stopAcclimation: async (...args) => {
      called('stopAcclimation', ...args);
      return LAMP;
    },
    guards: () => [GUARD],
    resetGuard: async (...args) => {
      called('resetGuard', ...args);
      if (args[0] !== GUARD.id) throw problem('SW-GRD-001', { found: args[0], known: GUARD.id, hint: '' });
      return { ...GUARD, latched: null };
    },
    attention: () => [{ kind: 'guard', id: 'leak', since: 5, text: 'Leak: wet', toDo: 'Put it right.' }],
    resets: () => [RESET],
    usageIn: (period) => [{ part: 'uv-lamp', name: 'UV lamp', period, from: 0, measures: [] }],
  };
}

export type FakeSystem = System & {
  readonly lines: string[];
  /** Moves the clock and runs what has become due. */
  readonly advance: (ms: number) => void;
};

export function fakeSystem(): FakeSystem {
  const lines: string[] = [];
  let now = 0;
  let timers: { at: number; fn: () => void }[] = [];
  const log = (text: string): void => {
    lines.push(text);
  };
  return {
    lines,
    advance: (ms) => {
      now += ms;
      const ripe = timers.filter(({ at }) => at <= now);
      timers = timers.filter(({ at }) => at > now);
      for (const { fn } of ripe) fn();
    },
    clock: { now: () => now, monotonicMs: () => now },
    timers: {
      after: (delayMs, _name, fn) => {
        const timer = { at: now + delayMs, fn };
        timers.push(timer);
        return () => {
          timers = timers.filter((other) => other !== timer);
        };
      },
    },
    random: { token: () => 'abcdefgh-ijkl' },
    log: { info: log, warn: log, error: log },
  };
}
