import type { EngineContext, SessionState } from '../procedure/index.ts';
import { actorName } from '../record/index.ts';
import type { LeftOut } from './left-out.ts';
import { isOver } from './session-runner.ts';
import type { SessionView } from './types.ts';

/** A session as every surface shows it. */
export function viewOf(state: SessionState, ctx: EngineContext, left: readonly LeftOut[] = []): SessionView {
  const nameOf = (id: string): string => ctx.equipment[id]?.name ?? id;
  return {
    id: state.id,
    procedure: state.plan.procedure,
    title: state.plan.title,
    status: state.status,
    startedBy: actorName(state.startedBy),
    step: state.stepIndex,
    steps: state.plan.steps.map((step, index) => {
      const record = state.records[index];
      return {
        id: step.id,
        action: step.action,
        equipment: step.equipment ?? null,
        rule: step.rule,
        why: step.why,
        text: step.text,
        needed: step.needed,
        evidence: record?.evidence ?? null,
        evidenceText: record?.evidenceText ?? '',
        result: record?.result ?? 'pending',
      };
    }),
    prompt: state.prompt,
    hold: state.hold,
    claims: state.claims.map((claim) => ({ equipment: nameOf(claim.equipment), person: claim.person })),
    outOfService: [...new Set([...offOf(state), ...left.map((one) => one.equipment)])].map(nameOf),
    leftOut: left.map((one) => ({
      equipment: one.equipment,
      name: nameOf(one.equipment),
      since: one.since,
      title: one.title,
      ...(one.driver === undefined ? {} : { driver: one.driver }),
    })),
    cautions: [...state.plan.cautions, ...(state.plan.steps[state.stepIndex]?.cautions ?? [])],
    notes: [
      ...state.plan.notes,
      ...(state.changed ?? []).map((text) => `Configuration changed since the start: ${text}.`),
    ],
    summary: state.summary,
  };
}

/** Once it is over its list is kept up elsewhere, until each is back; what is claimed stays on it. */
const offOf = (state: SessionState): readonly string[] =>
  isOver(state) ? state.claims.map((claim) => claim.equipment) : state.offNow;
