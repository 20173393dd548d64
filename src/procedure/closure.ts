import { problem } from '../errors/index.ts';
import type { Equipment, EquipmentId, Tank } from '../model/index.ts';
import { type Effect, type ProcedureDef, ROLES, type RuleId } from '../rules/index.ts';

/** One equipment that must be out of service, and what put it there. */
export type Out = { readonly equipment: Equipment; readonly rule: RuleId; readonly why: string };

export type PlanOptions = {
  /** Which ones, where the tank has several of a role the job takes. */
  readonly equipment?: readonly EquipmentId[];
  /** Further equipment to stop, e.g. one circulation pump while feeding. */
  readonly alsoStop?: readonly EquipmentId[];
};

export const refuse = (procedure: string, rule: RuleId, why: string, hint: string): never => {
  throw problem('SW-SES-003', { procedure, rule, why, hint });
};

const WHAT_GOES: Readonly<Record<Effect, string>> = {
  'sump-level': 'the sump level moves',
  'return-flow': 'the return’s flow stops',
  'mixing-flow': 'the barrel is no longer mixed',
};

/** What the job itself takes: by role, narrowed by the keeper's choice. */
export function jobEquipment(def: ProcedureDef, tank: Tank, options: PlanOptions): readonly Equipment[] {
  const chosen = options.equipment;
  const taken = tank.equipment.filter(
    (each) => def.stop.includes(each.role) && (chosen === undefined || chosen.includes(each.id)),
  );
  for (const role of def.stop) {
    if (taken.some((each) => each.role === role)) continue;
    const all = tank.equipment.filter((each) => each.role === role);
    refuse(
      def.title,
      'K34',
      all.length === 0
        ? `the tank has no ${ROLES[role].name}`
        : `none of the chosen equipment is a ${ROLES[role].name}`,
      all.length === 0
        ? `Add the ${ROLES[role].name} to the tank's equipment, or choose another procedure.`
        : `Choose from: ${all.map((each) => each.id).join(', ')}.`,
    );
  }
  return taken;
}

/** Everything that must be off, found by following what each stop takes away to whoever needs it. */
export function closure(def: ProcedureDef, tank: Tank, options: PlanOptions): readonly Out[] {
  const out = new Map<EquipmentId, Out>();
  for (const equipment of jobEquipment(def, tank, options)) {
    out.set(equipment.id, { equipment, rule: 'K34', why: 'The job needs it off.' });
  }
  for (const id of options.alsoStop ?? []) {
    const equipment = tank.equipment.find((each) => each.id === id);
    if (!equipment) {
      const known = tank.equipment.map((each) => each.id).join(', ');
      refuse(def.title, 'K34', `there is no equipment "${id}"`, `Choose from: ${known}.`);
    } else {
      out.set(id, { equipment, rule: 'K34', why: 'The keeper wants it off.' });
    }
  }
  for (const { equipment } of out.values()) {
    if (ROLES[equipment.role].neverStopped) {
      refuse(
        def.title,
        'K34',
        `${equipment.name} is never stopped by a session`,
        'Leave it out of what is to be stopped.',
      );
    }
  }
  let before = -1;
  while (before !== out.size) {
    before = out.size;
    for (const effect of effectsOf(def, [...out.values()])) addNeeders(effect, tank, out);
  }
  return [...out.values()];
}

function addNeeders(effect: Effect, tank: Tank, out: Map<EquipmentId, Out>): void {
  for (const equipment of tank.equipment) {
    if (out.has(equipment.id)) continue;
    const role = ROLES[equipment.role];
    if (role.onlyInSump && !equipment.inSump) continue;
    const need = role.needs.find((each) => each.effect === effect);
    if (need) out.set(equipment.id, { equipment, rule: need.rule, why: `It goes off before ${WHAT_GOES[effect]}.` });
  }
}

/** Everything that is disturbed: by the work and by the stops. */
export function effectsOf(def: ProcedureDef, out: readonly Out[]): readonly Effect[] {
  const effects = new Set<Effect>(def.effects);
  for (const { equipment } of out) for (const effect of ROLES[equipment.role].stopEffects) effects.add(effect);
  return [...effects];
}

/** K34: low rank first; within a role in the order of the configuration. */
export const inStopOrder = (out: readonly Out[]): readonly Out[] =>
  out.toSorted((a, b) => ROLES[a.equipment.role].stopRank - ROLES[b.equipment.role].stopRank);

/** K22: low rank first; within a role the last one stopped comes first. */
export const inStartOrder = (out: readonly Out[]): readonly Out[] =>
  inStopOrder(out)
    .toReversed()
    .toSorted((a, b) => ROLES[a.equipment.role].startRank - ROLES[b.equipment.role].startRank);
