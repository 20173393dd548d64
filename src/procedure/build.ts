import { listWords, nearest, problem } from '../errors/index.ts';
import type { Equipment, Tank } from '../model/index.ts';
import {
  cautionsAt,
  isProcedure,
  PROCEDURES,
  type ProcedureDef,
  procedureDef,
  ROLES,
  type RuleOverrides,
  ruleSetting,
} from '../rules/index.ts';
import { closure, effectsOf, inStopOrder, jobEquipment, type Out, type PlanOptions, refuse } from './closure.ts';
import { driverEntityOf, learnedRiseCm, sensorOf } from './context.ts';
import { type Draft, downSteps } from './down.ts';
import { restoreSteps } from './restore.ts';
import type { SessionPlan } from './types.ts';
import { workSteps } from './work.ts';

/** The steps of a job on this tank, from what the job takes, who needs what, and the rules. Refuses what has no safe order. */
export function buildPlan(
  procedure: string,
  tank: Tank,
  overrides: RuleOverrides = {},
  options: PlanOptions = {},
): SessionPlan {
  const def = definition(procedure);
  const out = closure(def, tank, options);
  const stopOrder = inStopOrder(out);
  const job = new Set(jobEquipment(def, tank, options).map((each) => each.id));
  const handled = stopOrder
    .map((each) => each.equipment)
    .filter((each) => job.has(each.id) && def.handle.includes(each.role));
  refusePairs(def, handled);
  const keptMovers = keepMover(def, tank, out);
  const draft: Draft = {
    def,
    tank,
    overrides,
    out: stopOrder,
    handled,
    keptMovers,
    effects: effectsOf(def, out),
    level: sensorOf(tank, 'sump-level'),
    notes: [],
  };
  checkHeadRoom(draft);
  noteDrivers(draft);
  const steps = [...downSteps(draft), ...workSteps(draft), ...restoreSteps(draft)];
  return {
    procedure: def.id,
    title: def.title,
    steps,
    outOfService: stopOrder.map((each) => each.equipment.id),
    handled: handled.map((each) => each.id),
    cautions: cautionsAt('start'),
    keptMovers: keptMovers.map((each) => each.id),
    notes: draft.notes,
  };
}

function definition(procedure: string): ProcedureDef {
  if (isProcedure(procedure)) return procedureDef(procedure);
  const known = Object.keys(PROCEDURES);
  const near = nearest(procedure, known);
  const hint = near === null ? 'Name one of those.' : `Did you mean "${near}"?`;
  throw problem('SW-SES-001', { found: procedure, known: listWords(known), hint });
}

/** K32: the other one of a pair is the spare path. */
function refusePairs(def: ProcedureDef, handled: readonly Equipment[]): void {
  const seen = new Map<string, Equipment>();
  for (const each of handled) {
    const other = each.pair === undefined ? undefined : seen.get(each.pair);
    if (other) {
      refuse(
        def.title,
        'K32',
        `${other.name} and ${each.name} are a pair and would be in service at once`,
        `Choose one of them: ${other.id} or ${each.id}.`,
      );
    }
    if (each.pair !== undefined) seen.set(each.pair, each);
  }
}

/** K16: who moves the water meanwhile. */
function keepMover(def: ProcedureDef, tank: Tank, out: readonly Out[]): readonly Equipment[] {
  const stopped = new Set(out.map((each) => each.equipment.id));
  const movers = tank.equipment.filter((each) => ROLES[each.role].waterMover);
  const kept = movers.filter((each) => !stopped.has(each.id));
  if (kept.length === 0 && movers.some((each) => stopped.has(each.id))) {
    refuse(
      def.title,
      'K16',
      'no water mover would stay on',
      'Leave a circulation pump running, or add one to the tank’s equipment if it has one that is not listed.',
    );
  }
  return kept;
}

/** K10: what drains down must fit, with the margin. */
function checkHeadRoom(draft: Draft): void {
  const { def, tank, overrides, effects, notes } = draft;
  if (!effects.includes('return-flow')) return;
  const sump = tank.sump;
  const rise = learnedRiseCm(sump?.drainDownL, sump?.litresPerCm);
  if (!sump || rise === null || sump.drainDownL === undefined) {
    notes.push(
      'Drain-down unlearned: nobody knows yet how far the sump rises when the return stops. Stay and watch it.',
    );
    return;
  }
  const factor = ruleSetting(overrides, 'K10', 'factor');
  const freeL = (sump.rimLevelCm - sump.normalLevelCm) * sump.litresPerCm;
  const neededL = factor * sump.drainDownL;
  if (freeL < neededL) {
    refuse(
      def.title,
      'K10',
      `the sump has ${freeL.toFixed(1)} L of room and needs ${neededL.toFixed(1)} L (${factor} times the drain-down of ${sump.drainDownL} L)`,
      `Lower the sump's normal level by ${Math.ceil(((neededL - freeL) / sump.litresPerCm) * 10) / 10} cm, or the drain-down by a higher outlet or siphon-break hole.`,
    );
  }
}

function noteDrivers(draft: Draft): void {
  for (const { equipment } of draft.out) {
    const driven = equipment.driver.kind === 'schedule' || equipment.driver.kind === 'thermostat';
    if (!driven || driverEntityOf(equipment) !== undefined) continue;
    draft.notes.push(
      `${equipment.name}: no hub entity is named for its ${equipment.driver.kind}, so nothing suspends it; should it switch the plug meanwhile, the session alarms and stops.`,
    );
  }
}
