// Every procedure on every tank, built by the product's own builder; a refusal is an answer too.

import { PROCEDURES } from '../../../src/rules/index.ts';
import type { SessionTank } from '../../../src/sim/session/index.ts';
import { buildPlan, type PlanOptions, type SessionPlan } from './engine.ts';

export const procedureIds = (): readonly string[] => Object.keys(PROCEDURES);

const plans = new Map<string, SessionPlan | string>();

/** The plan, or why there is none. */
export function planOf(procedure: string, home: SessionTank): SessionPlan | string {
  const key = `${procedure} ${home.id}`;
  const known = plans.get(key) ?? build(procedure, home);
  plans.set(key, known);
  return known;
}

function build(procedure: string, home: SessionTank): SessionPlan | string {
  const first = attempt(procedure, home, {});
  if (typeof first !== 'string') return first;
  // Where a job takes one of a pair, or one of several, the first of the role that the refusal names is chosen.
  for (const each of home.tank.equipment) {
    const chosen = attempt(procedure, home, { equipment: [each.id] });
    if (typeof chosen !== 'string') return chosen;
  }
  return first;
}

function attempt(procedure: string, home: SessionTank, options: PlanOptions): SessionPlan | string {
  try {
    return buildPlan(procedure, home.tank, {}, options);
  } catch (error) {
    return error instanceof Error ? error.message : String(error);
  }
}
