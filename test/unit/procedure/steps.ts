import type { SessionPlan, Step } from '../../../src/procedure/index.ts';

const MINUTE_MS = 60_000;

export const stepOf = (id: string, action: Step['action'], more: Partial<Step> = {}): Step => ({
  id,
  action,
  rule: 'K35',
  why: 'For a test.',
  text: `${id}.`,
  needed: 0,
  timeoutMs: 5 * MINUTE_MS,
  safeState: 'leave-as-is',
  holdPoint: false,
  cautions: [],
  ...more,
});

/** The plan with these steps put in before its last one. */
export const beforeTheEnd =
  (...steps: readonly Step[]) =>
  (plan: SessionPlan): SessionPlan => ({
    ...plan,
    steps: [...plan.steps.slice(0, -1), ...steps, ...plan.steps.slice(-1)],
  });

/** The plan with these steps put in before that one. */
export const before =
  (id: string, ...steps: readonly Step[]) =>
  (plan: SessionPlan): SessionPlan => {
    const at = plan.steps.findIndex((step) => step.id === id);
    if (at < 0) throw new Error(`the plan has no step ${id}`);
    return { ...plan, steps: [...plan.steps.slice(0, at), ...steps, ...plan.steps.slice(at)] };
  };
