import type { Finding } from '../condition/index.ts';
import type { Actor, EntityId, EquipmentId, Measure, PartId, Usage } from '../model/index.ts';
import type { Confirmation, Rung, SessionPlan, SessionState, StepResult } from '../procedure/index.ts';
import type { Standing } from '../remind/index.ts';
import type { InstantMs } from '../units/index.ts';
import type { KeeperFace, StatusDetails } from './keeper-types.ts';
import type { AttentionLine, ProtectionFace } from './protection-types.ts';

/** Usage of a part in its present life, one line per limited measure. */
export type PartUsage = {
  readonly part: PartId;
  readonly name: string;
  readonly life: number;
  readonly fittedAt: InstantMs | null;
  readonly measures: readonly (Usage & { readonly unit: string; readonly limit: number | null })[];
  /** Which rotable spare is in. */
  readonly spare?: string;
  /** What each piece has, where they are not all of one age; the measures above are those of the oldest. */
  readonly pieces?: readonly {
    readonly piece: number;
    readonly fittedAt: InstantMs;
    readonly usages: readonly (Usage & { readonly unit: string })[];
  }[];
};

/** Why a usage is what it is: stretches by origin, oldest first. */
export type UsageWhy = {
  readonly part: PartId;
  readonly measure: Measure;
  readonly unit: string;
  readonly counter: string;
  /** What of the hub it rests on, in words. */
  readonly source: string;
  readonly rows: readonly {
    readonly from: InstantMs;
    readonly to: InstantMs;
    readonly origin: string;
    readonly low: number;
    readonly best: number;
    readonly high: number;
  }[];
};

export type SessionView = {
  readonly id: string;
  readonly procedure: string;
  readonly title: string;
  readonly status: SessionState['status'];
  readonly startedBy: string;
  readonly step: number;
  readonly steps: readonly {
    readonly id: string;
    readonly action: string;
    readonly equipment: EquipmentId | null;
    readonly rule: string;
    readonly why: string;
    readonly text: string;
    readonly needed: Rung;
    readonly evidence: Rung | null;
    readonly evidenceText: string;
    readonly result: StepResult;
  }[];
  readonly prompt: SessionState['prompt'];
  readonly hold: SessionState['hold'];
  readonly claims: readonly { readonly equipment: string; readonly person: string }[];
  /** Names of what was switched off and is not yet proved back, by this session or one before it. */
  readonly outOfService: readonly string[];
  /** What sessions left out of service when they ended, until each is seen back. */
  readonly leftOut: readonly {
    readonly equipment: EquipmentId;
    readonly name: string;
    readonly since: InstantMs;
    readonly title: string;
    /** Hub entity that was suspended for it and not given back. */
    readonly driver?: EntityId;
  }[];
  /** Those of the whole session, then those of the open step. */
  readonly cautions: readonly string[];
  readonly notes: readonly string[];
  readonly summary: string;
};

/** Something a listener may want to know at once. */
export type AppEvent =
  | {
      readonly kind: 'standing';
      readonly at: InstantMs;
      readonly standing: Standing;
      readonly before: Standing['word'] | null;
    }
  | { readonly kind: 'session'; readonly at: InstantMs; readonly view: SessionView }
  | { readonly kind: 'alarm'; readonly at: InstantMs; readonly code: string; readonly text: string };

/** Everything an edge (CLI, web, nodes) may ask of the running service. Errors are catalogue errors. */
export type AppFace = KeeperFace &
  ProtectionFace & {
    due(): readonly Standing[];
    usage(): readonly PartUsage[];
    why(part: PartId): readonly UsageWhy[];
    /** What is found of the condition of the tank's equipment, oldest first. */
    condition(): readonly Finding[];
    rehearse(procedure: string): SessionPlan;
    procedures(): readonly { readonly id: string; readonly title: string }[];
    session(): SessionView | null;
    startSession(procedure: string, actor: Actor): Promise<SessionView>;
    confirm(
      confirmation: Omit<Confirmation, 'at'>,
    ): Promise<{ readonly accepted: boolean; readonly why: string; readonly view: SessionView | null }>;
    abort(actor: Actor): Promise<SessionView | null>;
    /** A person's word that something a session left out of service is back, where nothing reports it. */
    back(equipment: string, actor: Actor): Promise<SessionView | null>;
    replaced(part: PartId, by: Actor, at?: InstantMs, note?: string): Promise<PartUsage>;
    putOff(part: PartId, by: Actor): Promise<Standing>;
    reading(what: string, value: number, unit: string, by: Actor): Promise<void>;
    dashboardInstall(): Promise<{ readonly path: string }>;
    status(): {
      readonly hub: 'up' | 'down' | 'refused' | 'connecting';
      readonly hubVersion: string | null;
      readonly tank: string;
      readonly simulated: boolean;
      /** What needs a person, or is watched after a session. */
      readonly attention?: readonly AttentionLine[];
    } & Partial<StatusDetails>;
    /** Returns an unsubscribe function. */
    subscribe(listener: (event: AppEvent) => void): () => void;
  };
