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
import { DAY_MS, type DurationMs, WEEK_MS } from '../units/index.ts';
import { closure, effectsOf, inStopOrder, type Job, jobsOf, type Out, type PlanOptions, refuse } from './closure.ts';
import { driverEntityOf, learnedRiseCm, sensorOf } from './context.ts';
import { type Draft, handledOf, someReturnStops } from './draft.ts';
import { fitsLight } from './light.ts';
import { allStopOf, coveringMovers, keptMoversOf } from './presence.ts';
import { parseRequest } from './request.ts';
import { layOut } from './sequence.ts';
import { predictedMs } from './times.ts';
import type { SessionPlan, Step } from './types.ts';

/**
 * The steps of a job on this tank, from what the job takes, who needs what, and the rules. Refuses what has no safe order.
 * A request is a procedure's id, or its title, with what is chosen behind it: `heater-swap:heater-1`, `pump-pause+flow-left`.
 */
export function buildPlan(
  request: string,
  tank: Tank,
  overrides: RuleOverrides = {},
  options: PlanOptions = {},
): SessionPlan {
  const asked = parseRequest(request, options);
  const def = definition(asked.procedure);
  const draft = draftOf(def, tank, overrides, asked.options);
  checkHeadRoom(draft);
  const steps = layOut(draft);
  noteWhatIsLeft(draft);
  const kept = coveringMovers(draft, steps);
  const endBy = lightOf(draft, steps);
  return {
    procedure: def.id,
    title: def.title,
    steps,
    outOfService: draft.out.map((each) => each.equipment.id),
    handled: handledOf(draft).map((each) => each.id),
    cautions: cautionsAt('start'),
    keptMovers: kept,
    lifeSupport: lifeSupportOf(draft),
    ...(steps.some((step) => step.id === 'presence') ? { allStop: allStopOf(draft) } : {}),
    ...(endBy === undefined ? {} : { endBy }),
    watch: watchOf(draft),
    ...(def.leak === true ? { leak: true } : {}),
    notes: draft.notes,
  };
}

function draftOf(def: ProcedureDef, tank: Tank, overrides: RuleOverrides, options: PlanOptions): Draft {
  const notes: string[] = [];
  const jobs = jobsOf(def, tank, options, notes);
  const out = inStopOrder(closure(def, jobs, tank, options));
  const draft = {
    def,
    jobs,
    tank,
    overrides,
    options,
    out,
    alsoStart: alsoStarted(def, tank, out),
    effects: effectsOf(jobs, out),
    level: sensorOf(tank, 'sump-level'),
    notes,
  };
  refuseNothing(draft, jobs);
  return { ...draft, keptMovers: keptMoversOf(draft) };
}

/** A job that finds nothing to do on this tank is no job. */
function refuseNothing(draft: Omit<Draft, 'keptMovers'>, jobs: readonly Job[]): void {
  const composed = draft.def.compose !== undefined && jobs.length < 2;
  const works = draft.out.length > 0 || draft.alsoStart.length > 0 || draft.def.handsOn.length > 0;
  if (works && !composed) return;
  refuse(
    draft.def.title,
    'K34',
    'the tank has nothing that it would work on',
    'Add the tank’s equipment to the configuration first.',
  );
}

/** After a power cut every mover is started and seen, whether or not this service stopped it. */
function alsoStarted(def: ProcedureDef, tank: Tank, out: readonly Out[]): readonly Out[] {
  if (def.startAll !== true) return [];
  return tank.equipment
    .filter((each) => ROLES[each.role].waterMover && !out.some((one) => one.equipment.id === each.id))
    .map((equipment) => ({ equipment, rule: 'K22', why: 'Whatever moves water is seen running.' }));
}

function definition(procedure: string): ProcedureDef {
  if (isProcedure(procedure)) return procedureDef(procedure);
  const byTitle = Object.values(PROCEDURES).find((each) => each.title.toLowerCase() === procedure.toLowerCase());
  if (byTitle) return byTitle;
  const known = Object.keys(PROCEDURES);
  const near = nearest(procedure, known);
  const hint = near === null ? 'Name one of those.' : `Did you mean "${near}"?`;
  throw problem('SW-SES-001', { found: procedure, known: listWords(known), hint });
}

/** K10: what drains down must fit, with the margin. */
function checkHeadRoom(draft: Draft): void {
  const { def, tank, overrides, notes } = draft;
  if (!someReturnStops(draft)) return;
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

/** Movers the plan stops and nobody takes in hand: they alone may be agreed to come back without a further word. */
const lifeSupportOf = (draft: Draft): readonly string[] => {
  const handled = new Set(handledOf(draft).map((each) => each.id));
  return draft.out
    .map((each) => each.equipment)
    .filter((each) => ROLES[each.role].waterMover && ROLES[each.role].lifeSupport && !handled.has(each.id))
    .map((each) => each.id);
};

/** A serviced skimmer floods for days, everything else shows its trouble within one. */
const watchOf = (draft: Draft): readonly { readonly equipment: string; readonly ms: DurationMs }[] =>
  draft.out.map(({ equipment }) => ({ equipment: equipment.id, ms: equipment.role === 'skimmer' ? WEEK_MS : DAY_MS }));

/** K33: a long stop is over before dark, where the light hours are known. */
function lightOf(draft: Draft, steps: readonly Step[]): number | undefined {
  if (draft.def.inLight !== true || !someReturnStops(draft)) return undefined;
  const at = draft.options.at;
  const marginMs = ruleSetting(draft.overrides, 'K33', 'marginMs');
  if (draft.tank.lights === undefined || at === undefined) {
    draft.notes.push(
      'Light hours unknown: begin about an hour after lights-on and be through an hour before lights-out.',
    );
    return undefined;
  }
  const fit = fitsLight(draft.tank, at, predictedMs(steps), marginMs);
  if (fit === null) return undefined;
  return fit.fits ? fit.endBy : refuse(draft.def.title, 'K33', fit.why, fit.hint);
}

function noteWhatIsLeft(draft: Draft): void {
  draft.notes.push(...(draft.def.ahead ?? []));
  for (const { equipment } of draft.out) noteDriver(draft, equipment);
  for (const job of draft.jobs) {
    const [only] = job.handled;
    if (job.def.oneOnly === true && only && draft.tank.equipment.filter((each) => each.role === only.role).length === 1)
      draft.notes.push(
        `${only.name} is the only ${ROLES[only.role].name}: there is no spare path, the tank cools until it is back. Have a second one at hand.`,
      );
    if (job.def.id === 'lamp-set-change') draft.notes.push(acclimationNote(draft));
  }
  noteParts(draft);
  if (draft.def.long === true && draft.tank.equipment.some((each) => each.role === 'feeder'))
    draft.notes.push(
      `No feeding from ${ruleSetting(draft.overrides, 'K36', 'beforeMs') / 60_000} min before the first stop until ${ruleSetting(draft.overrides, 'K36', 'afterMs') / 60_000} min after flow is back, and no second feeding to make up for it (K36).`,
    );
}

/** Ages are kept by what people say they changed; of a set changed in part nobody may say so. */
function noteParts(draft: Draft): void {
  const handled = handledOf(draft);
  const parts = draft.tank.parts.filter((part) => handled.some((each) => each.id === part.equipment));
  if (parts.length === 0) return;
  const whole = parts.some((part) => part.pieces > 1) ? ' A set counts as renewed only when every piece of it is.' : '';
  const ids = parts.map((part) => part.id).join(', ');
  draft.notes.push(`Afterwards say what was renewed, so that its age counts anew: ${ids}.${whole}`);
}

const acclimationNote = (draft: Draft): string => {
  const share = Math.round(ruleSetting(draft.overrides, 'K24', 'startShare') * 100);
  const days = Math.round(ruleSetting(draft.overrides, 'K24', 'rampMs') / DAY_MS);
  return `New tubes are brighter: run them for ${share} % of their hours on the first day and lengthen that evenly to the full hours over ${days} days (K24).`;
};

function noteDriver(draft: Draft, equipment: Equipment): void {
  const driven = equipment.driver.kind === 'schedule' || equipment.driver.kind === 'thermostat';
  if (!driven || driverEntityOf(equipment) !== undefined) return;
  draft.notes.push(
    `${equipment.name}: no hub entity is named for its ${equipment.driver.kind}, so nothing suspends it; should it switch the plug meanwhile, the session alarms and stops.`,
  );
}
