import type { PartId, Usage } from '../model/index.ts';
import type { Asked, HoldReason, Rung, SessionStatus, StepResult } from '../procedure/index.ts';
import type { InstantMs } from '../units/index.ts';

/** Usage of a part in its present life, as published. */
export type PartShown = {
  readonly part: PartId;
  readonly name: string;
  readonly life: number;
  readonly fittedAt: InstantMs | null;
  readonly measures: readonly (Usage & { readonly unit: string; readonly limit: number | null })[];
};

export type StepShown = {
  readonly id: string;
  readonly text: string;
  readonly rule: string;
  readonly why: string;
  readonly needed: Rung;
  readonly evidence: Rung | null;
  readonly evidenceText: string;
  readonly result: StepResult;
};

/** A session as published. */
export type SessionShown = {
  readonly id: string;
  readonly procedure: string;
  readonly title: string;
  readonly status: SessionStatus;
  readonly startedBy: string;
  /** Index of the open step; -1 before the second confirmation. */
  readonly step: number;
  readonly steps: readonly StepShown[];
  readonly prompt: {
    readonly step: string;
    readonly nonce: string;
    readonly appearedAt: InstantMs;
    readonly text: string;
    readonly asks?: Asked;
  } | null;
  readonly hold: { readonly reason: HoldReason; readonly text: string; readonly since: InstantMs } | null;
  readonly claims: readonly { readonly equipment: string; readonly person: string }[];
  readonly outOfService: readonly string[];
  readonly leftOut?: readonly {
    readonly name: string;
    readonly since: InstantMs;
    readonly title: string;
    readonly driver?: string;
  }[];
  readonly cautions: readonly string[];
  readonly notes: readonly string[];
  readonly summary: string;
};

/** What proves a step, in a few words; rungs of the evidence ladder. */
export const RUNG_WORDS: Readonly<Record<Rung, string>> = {
  0: 'command sent',
  1: 'device acknowledged',
  2: 'fresh relay report',
  3: 'fresh watts agree',
  4: 'physical effect seen',
  5: 'a person saw it',
  6: "plug in the person's hand",
};

export const STATUS_WORDS: Readonly<Record<SessionStatus, string>> = {
  idle: 'Plan shown, nothing switched yet: waits for a second confirmation',
  running: 'Running',
  held: 'Held, waits for a person',
  restarting: 'Resuming after a hold, everything is read again',
  complete: 'Complete',
  stopped: 'Stopped',
  aborting: 'Aborting',
  aborted: 'Aborted',
};

export const RESULT_WORDS: Readonly<Record<StepResult, string>> = {
  pending: 'to come',
  open: 'open now',
  passed: 'passed',
  'passed-unproven': 'passed, not proven',
  failed: 'failed',
  skipped: 'skipped',
};

/** Nothing more will happen in it. */
export const isSessionOver = (status: SessionStatus): boolean =>
  status === 'complete' || status === 'stopped' || status === 'aborted';

/** Always shown while a session is under way. */
export const ISOLATION_CAUTION =
  'A plug that is off is not isolation: unplug what you handle and keep the plug with you.';
