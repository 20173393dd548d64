import { problem } from '../errors/index.ts';
import type { Equipment, EquipmentId, Tank } from '../model/index.ts';
import { type Effect, isProcedure, type ProcedureDef, procedureDef, ROLES, type RuleId } from '../rules/index.ts';
import type { InstantMs, VolumeL } from '../units/index.ts';

/** One equipment that must be out of service, and what put it there. */
export type Out = { readonly equipment: Equipment; readonly rule: RuleId; readonly why: string };

export type PlanOptions = {
  /** Which ones, where the tank has several of a role the job takes. */
  readonly equipment?: readonly EquipmentId[];
  /** Further equipment to stop, e.g. one circulation pump while feeding. */
  readonly alsoStop?: readonly EquipmentId[];
  /** When it would begin; with the tank's light hours known, long stops must fit into them. */
  readonly at?: InstantMs;
  /** All movers may stop, because this brings one back: a person who stays, or a timer of the plug or the hub. */
  readonly allStop?: 'person-stays' | 'outside-timer';
  /** Litres of a water change, where already known. */
  readonly changeL?: VolumeL;
};

/** A job of the plan: the procedure itself, or one of those it puts together, and what of it a person takes in hand. */
export type Job = {
  readonly def: ProcedureDef;
  /** What the job itself needs off. */
  readonly taken: readonly Equipment[];
  readonly handled: readonly Equipment[];
};

export const refuse = (procedure: string, rule: RuleId, why: string, hint: string): never => {
  throw problem('SW-SES-003', { procedure, rule, why, hint });
};

const WHAT_GOES: Readonly<Record<Effect, string>> = {
  'sump-level': 'the sump level moves',
  'return-flow': 'the return’s flow stops',
  'mixing-flow': 'the barrel is no longer mixed',
};

/** The jobs of a procedure on this tank. Of a composition those drop out whose equipment is not there; notes say so. */
export function jobsOf(def: ProcedureDef, tank: Tank, options: PlanOptions, notes: string[]): readonly Job[] {
  refuseUnknown(def, tank, options);
  const own = jobOf(def, tank, options);
  if (def.compose === undefined) return [own];
  const members = def.compose.flatMap((id): readonly Job[] => {
    if (!isProcedure(id)) return [];
    const member = procedureDef(id);
    if (isMissing(member, tank)) {
      notes.push(`Left out: ${member.title}. The tank has none of what it works on.`);
      return [];
    }
    // Among much else out of service a mover is only taken out while another one of its kind runs.
    if (id === 'circulation-service' && ofRole(tank, 'circulation-pump').length < 2) {
      notes.push(
        `Left out: ${member.title}. The only circulation pump keeps the water moving; clean it on another day.`,
      );
      return [];
    }
    return [jobOf(member, tank, options, notes)];
  });
  return [own, ...members];
}

function refuseUnknown(def: ProcedureDef, tank: Tank, options: PlanOptions): void {
  for (const id of [...(options.equipment ?? []), ...(options.alsoStop ?? [])]) {
    if (tank.equipment.some((each) => each.id === id)) continue;
    const known = tank.equipment.map((each) => each.id).join(', ');
    refuse(def.title, 'K34', `there is no equipment "${id}"`, `Choose from: ${known}.`);
  }
}

const ofRole = (tank: Tank, role: Equipment['role']): readonly Equipment[] =>
  tank.equipment.filter((each) => each.role === role);

/** A lamp beside a reactor is no work of its own. */
const isWork = (def: ProcedureDef, role: Equipment['role']): boolean => def.roles !== 'any' || !ROLES[role].lamp;

const isMissing = (def: ProcedureDef, tank: Tank): boolean =>
  def.roles !== 'none' && def.stop.every((role) => !isWork(def, role) || ofRole(tank, role).length === 0);

function jobOf(def: ProcedureDef, tank: Tank, options: PlanOptions, notes?: string[]): Job {
  const taken = jobEquipment(def, tank, options, notes !== undefined);
  const hands = taken.filter((each) => def.handle.includes(each.role));
  const [first, ...others] = hands;
  if (def.oneOnly !== true || first === undefined || others.length === 0) return { def, taken, handled: hands };
  if (notes === undefined) {
    return refuse(
      def.title,
      'K32',
      `${hands.map((each) => each.name).join(' and ')} stand in for one another and would be in service at once`,
      `Choose one of them: ${hands.map((each) => `${def.id}:${each.id}`).join(' or ')}.`,
    );
  }
  notes.push(
    `${def.title}: only ${first.name}; ${others.map((each) => each.name).join(', ')} stays as the spare path.`,
  );
  return { def, taken: [first], handled: [first] };
}

/** What the job itself takes: by role, narrowed by the keeper's choice. */
function jobEquipment(def: ProcedureDef, tank: Tank, options: PlanOptions, composed: boolean): readonly Equipment[] {
  const chosen = options.equipment;
  const isChosen = (each: Equipment): boolean => chosen === undefined || chosen.includes(each.id);
  // A choice of one role says nothing of the others, and nothing at all where the job must have all of them off.
  const narrows = (role: Equipment['role']): boolean =>
    def.roles !== 'none' &&
    (((def.roles ?? 'all') === 'all' && !composed) || ofRole(tank, role).some((each) => chosen?.includes(each.id)));
  const taken = tank.equipment.filter(
    (each) => def.stop.includes(each.role) && (!narrows(each.role) || isChosen(each)),
  );
  const lacking = def.stop.filter((role) => !taken.some((each) => each.role === role));
  const [role] = lacking.filter((each) => isWork(def, each));
  const enough =
    def.roles === 'none' ||
    (def.roles === 'any' && taken.some((each) => isWork(def, each.role))) ||
    lacking.length === 0;
  if (enough || role === undefined) return taken;
  const all = tank.equipment.filter((each) => lacking.includes(each.role));
  const names = def.stop
    .filter((each) => isWork(def, each))
    .map((each) => ROLES[each].name)
    .join(' or ');
  return refuse(
    def.title,
    'K34',
    all.length === 0 ? `the tank has no ${names}` : `none of the chosen equipment is a ${names}`,
    all.length === 0
      ? `Add the ${ROLES[role].name} to the tank's equipment, or choose another procedure.`
      : `Choose from: ${all.map((each) => each.id).join(', ')}.`,
  );
}

/** Everything that must be off, found by following what each stop takes away to whoever needs it. */
export function closure(def: ProcedureDef, jobs: readonly Job[], tank: Tank, options: PlanOptions): readonly Out[] {
  const out = new Map<EquipmentId, Out>();
  for (const equipment of jobs.flatMap((job) => job.taken)) {
    out.set(equipment.id, { equipment, rule: 'K34', why: 'The job needs it off.' });
  }
  for (const equipment of tank.equipment.filter((each) => options.alsoStop?.includes(each.id))) {
    out.set(equipment.id, { equipment, rule: 'K34', why: 'The keeper wants it off.' });
  }
  for (const { equipment } of out.values()) {
    if (!ROLES[equipment.role].neverStopped) continue;
    refuse(
      def.title,
      'K34',
      `${equipment.name} is never stopped by a session`,
      'Leave it out of what is to be stopped.',
    );
  }
  let before = -1;
  while (before !== out.size) {
    before = out.size;
    for (const effect of effectsOf(jobs, [...out.values()])) addNeeders(effect, tank, out);
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
export function effectsOf(jobs: readonly Job[], out: readonly Out[]): readonly Effect[] {
  const effects = new Set<Effect>(jobs.flatMap((job) => job.def.effects));
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
