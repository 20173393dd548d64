// Which fault can strike at which step of which procedure, and why not where it cannot: the ground a campaign has to cover.

import { ROLES } from '../../../src/rules/index.ts';
import {
  canHum,
  FAULT_KINDS,
  type FaultKind,
  faultFacts,
  type SessionTank,
  sessionTank,
  TANK_IDS,
  type TankId,
} from '../../../src/sim/session/index.ts';
import { runSession } from './drive.ts';
import type { SessionPlan, Step } from './engine.ts';
import { planOf, procedureIds } from './plans.ts';

/** A procedure on a tank that it can be carried out on. */
export type Ground = {
  readonly tank: TankId;
  readonly procedure: string;
  readonly plan: SessionPlan;
  /** Names of the steps that stay open for a while, `#begin` first, in order. */
  readonly open: readonly string[];
  readonly cells: readonly Cell[];
};

export type Cell = { readonly name: string; readonly step: string; readonly at: number; readonly kind: FaultKind };

export type Field = {
  readonly grounds: readonly Ground[];
  /** Cells that nothing can reach, by reason. */
  readonly unreachable: Readonly<Record<string, number>>;
  /** Procedures that a tank cannot have, with the refusal. */
  readonly refused: readonly { readonly tank: TankId; readonly procedure: string; readonly why: string }[];
};

/** Which steps stay open, by procedure and tank: found once and handed on to whoever helps. */
export type Stays = Readonly<Record<string, readonly string[]>>;

export const staysOf = (field: Field): Stays =>
  Object.fromEntries(field.grounds.map(({ tank, procedure, open }) => [`${procedure} ${tank}`, open]));

export function surveyField(procedures: readonly string[] = procedureIds(), stays: Stays = {}): Field {
  const grounds: Ground[] = [];
  const refused: Field['refused'][number][] = [];
  const reached = new Set<string>();
  const unreached = new Map<string, string>();
  for (const procedure of procedures) {
    for (const tank of TANK_IDS) {
      const found = planOf(procedure, sessionTank(tank));
      if (typeof found === 'string') {
        refused.push({ tank, procedure, why: found });
        continue;
      }
      const open = new Set(stays[`${procedure} ${tank}`] ?? stepsThatStay(sessionTank(tank), found));
      grounds.push(survey({ tank, procedure, plan: found, open }, reached, unreached));
    }
  }
  const reasons: Record<string, number> = {};
  for (const [name, why] of unreached) if (!reached.has(name)) reasons[why] = (reasons[why] ?? 0) + 1;
  return { grounds, unreachable: reasons, refused };
}

type Bare = Pick<Ground, 'tank' | 'procedure' | 'plan'> & { readonly open: ReadonlySet<string> };

function survey({ tank, procedure, plan, open }: Bare, reached: Set<string>, unreached: Map<string, string>): Ground {
  const home = sessionTank(tank);
  const cells: Cell[] = [];
  for (const [at, step] of [undefined, ...plan.steps].entries()) {
    const id = step?.id ?? '#begin';
    for (const kind of FAULT_KINDS) {
      const name = cellName(procedure, stepName(id, step?.equipment, home), kind);
      const why = open.has(id)
        ? whyNot(kind, step, at - 1, plan, home)
        : 'the step passes in the instant in which it opens';
      if (why === null) {
        reached.add(name);
        cells.push({ name, step: id, at, kind });
      } else unreached.set(name, why);
    }
  }
  return { tank, procedure, plan, open: [...open], cells };
}

/** A step is the same on every tank where it does the same to an equipment of the same role. */
export function stepName(id: string, equipment: string | undefined, home: SessionTank): string {
  if (equipment === undefined) return id;
  const role = home.tank.equipment.find((each) => each.id === equipment)?.role ?? equipment;
  return id.replace(`:${equipment}`, `:${role}`);
}

export const cellName = (procedure: string, step: string, kind: FaultKind): string => `${procedure} ${step} ${kind}`;

/** Found out by doing it: a step that is open after some event stays long enough for something to happen. */
function stepsThatStay(home: SessionTank, plan: SessionPlan): ReadonlySet<string> {
  const open = new Set<string>(['#begin']);
  for (const seed of [1, 2]) {
    const { trace } = runSession({ label: 'survey', seed, home, plan, faults: [], hour: 10 });
    let last: string | null = null;
    let lastAt = 0;
    for (const entry of trace.entries) {
      if (last !== null && entry.at > lastAt) open.add(last);
      if (entry.kind !== 'step') continue;
      if (entry.result === 'opened') {
        last = entry.step;
        lastAt = entry.at;
      } else if (entry.step === last) last = null;
    }
  }
  return open;
}

type Reason = string | null;

function whyNot(kind: FaultKind, step: Step | undefined, index: number, plan: SessionPlan, home: SessionTank): Reason {
  const { group } = faultFacts(kind);
  switch (group) {
    case 'link':
    case 'service':
      return null;
    case 'person':
      return whyNoMisdeed(kind, step, home);
    case 'plug':
      return step === undefined ? 'nothing is switched yet' : whyNoPlugFault(kind, step, index, plan, home);
    default:
      return step === undefined ? 'nothing is switched yet' : whyNoTankFault(kind, step, index, plan, home);
  }
}

function whyNoMisdeed(kind: FaultKind, step: Step | undefined, home: SessionTank): Reason {
  if (step !== undefined && !step.holdPoint) return 'nobody is asked at that step';
  if (kind === 'wrong-cord') return step?.action === 'unplug' ? null : 'no cord is pulled there';
  if (kind === 'nonsense') return step?.action === 'reading' ? null : 'nothing is typed there';
  if (kind !== 'says-not-does') return null;
  const hasLevel = home.tank.sensors.some((sensor) => sensor.kind === 'sump-level');
  if (!hasLevel && /pour-in/.test(step?.id ?? '')) return 'without a level sensor only that person knows';
  const acts = ['unplug', 'plug-in', 'hands-on', 'switch-off', 'switch-on'];
  return step !== undefined && acts.includes(step.action) ? null : 'there is nothing to do but to look';
}

const TOLD: readonly FaultKind[] = ['sticks', 'parrots', 'slow', 'refuses-once', 'refuses-always', 'silent-for-good'];

function whyNoPlugFault(kind: FaultKind, step: Step, index: number, plan: SessionPlan, home: SessionTank): Reason {
  const each = home.tank.equipment.find((one) => one.id === step.equipment);
  const isSwitch = !step.holdPoint && (step.action === 'switch-off' || step.action === 'switch-on');
  if (kind === 'revives') {
    if (isSwitch && step.action === 'switch-off') return null;
    return keptOffAt(index, plan, home).length > 0 ? null : 'nothing with a plug is kept off at that step';
  }
  if (kind === 'silent-for-a-while') return hasPlug(plan, home) ? null : 'nothing in that session has a plug';
  if (!isSwitch || each === undefined) return 'a plug that is told nothing shows nothing of it';
  if (TOLD.includes(kind)) return null;
  if (kind === 'welds') return step.action === 'switch-off' ? null : 'welded contacts are closed anyway';
  if (each.powerEntity === undefined) return 'the plug has no meter';
  if (kind === 'meter-frozen' || kind === 'meter-missing') return null;
  return step.action === 'switch-on' && !each.cycling && canHum(ROLES[each.role])
    ? null
    : 'it cannot hum without turning';
}

const hasPlug = (plan: SessionPlan, home: SessionTank): boolean =>
  home.tank.equipment.some((each) => plan.outOfService.includes(each.id) && each.switchEntity !== undefined);

/** Off by the session while that step is open. */
function keptOffAt(index: number, plan: SessionPlan, home: SessionTank): readonly string[] {
  return home.tank.equipment
    .filter((each) => each.switchEntity !== undefined && isOffAt(index, plan, each.id))
    .map((each) => each.id);
}

/** The last step before this one that switched it, switched it off. */
function isOffAt(index: number, plan: SessionPlan, id: string): boolean {
  const before = plan.steps.slice(0, Math.max(0, index));
  const last = before.findLast(
    (step) => step.equipment === id && (step.action === 'switch-off' || step.action === 'switch-on'),
  );
  const here = plan.steps[index];
  return last?.action === 'switch-off' && !(here?.equipment === id && here.action === 'switch-on');
}

function whyNoTankFault(kind: FaultKind, step: Step, index: number, plan: SessionPlan, home: SessionTank): Reason {
  const has = (wanted: string): boolean => home.tank.sensors.some((sensor) => sensor.kind === wanted);
  switch (kind) {
    case 'foreign-on':
    case 'foreign-fight':
      return keptOffAt(index, plan, home).length > 0 ? null : 'nothing with a plug is kept off at that step';
    case 'siphon-blocked':
      if (!has('sump-level')) return 'no sensor could show it';
      return returnOffAt(index, plan, home) ? null : 'the return runs at that step';
    case 'mover-stops':
      return returnOffAt(index, plan, home) && (plan.keptMovers ?? []).length > 0
        ? null
        : 'the return runs at that step, or nothing else moves water';
    case 'leak':
      return has('leak') ? null : 'the tank has no leak sensor';
    case 'float-stuck':
      return home.tank.equipment.some((each) => each.role === 'top-off') ? null : 'the tank has no top-off';
    case 'level-frozen':
    case 'level-silent':
      return has('sump-level') ? null : 'the tank has no level sensor';
    case 'probe-drifts':
      return has('display-temperature') && has('sump-temperature') ? null : 'a single thermometer contradicts nobody';
    default:
      return plan.steps.slice(0, index + 1).some((each) => each.action === 'switch-off') || step.action === 'check'
        ? null
        : 'nothing is off yet';
  }
}

function returnOffAt(index: number, plan: SessionPlan, home: SessionTank): boolean {
  const returns = home.tank.equipment.filter((each) => each.role === 'return-pump');
  return returns.length > 0 && returns.every((each) => isOffAt(index, plan, each.id));
}
