import { SlackwaterError } from '../errors/index.ts';
import type { Tank } from '../model/index.ts';
import { PROCEDURES, type ProcedureDef, type RuleOverrides } from '../rules/index.ts';
import { buildPlan } from './build.ts';

export type Offered = { readonly id: string; readonly title: string };

/**
 * The procedures for which this tank has a safe plan. Where only one of several may be in service there is one for each:
 * `heater-swap:heater-1`.
 */
export function offeredProcedures(tank: Tank, overrides: RuleOverrides = {}): readonly Offered[] {
  const all: readonly ProcedureDef[] = Object.values(PROCEDURES);
  return all.flatMap((def) => choicesOf(def, tank)).filter(({ id }) => hasPlan(id, tank, overrides));
}

function choicesOf(def: ProcedureDef, tank: Tank): readonly Offered[] {
  const hands = tank.equipment.filter((each) => def.handle.includes(each.role));
  if (def.oneOnly !== true || hands.length < 2) return [{ id: def.id, title: def.title }];
  return hands.map((each) => ({ id: `${def.id}:${each.id}`, title: `${def.title}: ${each.name}` }));
}

function hasPlan(request: string, tank: Tank, overrides: RuleOverrides): boolean {
  try {
    buildPlan(request, tank, overrides);
    return true;
  } catch (error) {
    if (error instanceof SlackwaterError) return false;
    throw error;
  }
}
