// Which run tries what, epoch by epoch: what the runs of the epochs before have hit decides what the next ones aim at. From
// the seed alone: an epoch is planned when all before it are over, so that how many helpers carried them out says nothing.
import {
  type FaultAt,
  faultFacts,
  type Prng,
  prng,
  seedFor,
  sessionTank,
  type TankId,
} from '../../../src/sim/session/index.ts';
import { type Aimed, type Aims, aimsOf, LAST, levelOf, lowestSum } from './aims.ts';
import type { Field } from './cells.ts';
import type { RunSpec } from './drive.ts';
import { planOf } from './plans.ts';

export type RunKind = 'fault-free' | 'one-fault' | 'many-faults';

/** Everything that makes a run what it is, as plain data: whoever has it can carry the run out again. */
export type PlannedRun = {
  readonly index: number;
  readonly kind: RunKind;
  readonly tank: TankId;
  readonly procedure: string;
  readonly label: string;
  readonly seed: number;
  readonly hour: number;
  readonly faults: readonly FaultAt[];
};

export function specOf({ tank, procedure, label, seed, hour, faults }: PlannedRun): RunSpec {
  const home = sessionTank(tank);
  const plan = planOf(procedure, home);
  if (typeof plan === 'string') throw new Error(plan);
  return { label, seed, home, plan, faults, hour };
}

export const EPOCH_RUNS = 500;

/** Every one of so many runs has no fault, and of so many one that can be recovered from. */
const EVERY_FREE = 20;
const EVERY_ONE = 12;

/** More than so many in one session is no session any more. */
const MOST_FAULTS = 70;
const MOST_AT_A_STEP = 4;
/** An end is tried where it lags behind what else there is to aim at by more than this. */
const END_LEAD = 0.5;
/** Of the runs that could go up to something elusive with a clear way, so many do. */
const CLEAR_SHARE = 0.3;

export type Planner = {
  /** The runs of the next epoch; `hits`: of every cell, in all epochs before. */
  next(hits: Readonly<Record<string, number>>): readonly PlannedRun[];
};

export function createPlanner(field: Field, seed: number): Planner {
  const aims = aimsOf(field);
  const { grounds, counts } = aims;
  if (grounds.length === 0) throw new Error('there is no procedure to try');
  let index = 0;
  const one = (random: Prng): PlannedRun => {
    const kind: RunKind =
      index % EVERY_FREE === 0 ? 'fault-free' : index % EVERY_ONE === 1 ? 'one-fault' : 'many-faults';
    // Without a fault, or with one, all take their turns; with many those whose cells lag behind.
    const turn =
      kind === 'fault-free' ? index / EVERY_FREE : kind === 'one-fault' ? Math.floor(index / EVERY_ONE) * 7 : null;
    const chosen = turn === null ? mostBehind(grounds) : grounds[turn % grounds.length];
    if (chosen === undefined) throw new Error('there is no procedure to try');
    const faults = faultsFor(kind, chosen, random);
    const { tank, procedure } = chosen.ground;
    for (const each of grounds) if (each.ground.procedure === procedure) each.worth = null;
    const run: PlannedRun = {
      ...{ index, kind, tank, procedure, faults },
      label: `${seed}:${index}`,
      seed: seedFor(seed, `run ${index}`),
      hour: 9 + 3 * random.next(),
    };
    index += 1;
    return run;
  };
  return {
    next(hits) {
      for (const [name, count] of counts) {
        count.hits = hits[name] ?? 0;
        count.due = 0;
      }
      for (const each of grounds) each.worth = null;
      const random = prng(seedFor(seed, `epoch ${index / EPOCH_RUNS}`));
      return Array.from({ length: EPOCH_RUNS }, () => one(random));
    },
  };
}

/** Where a run finds the most that has been hit the least, for its length. */
function mostBehind(grounds: readonly Aims[]): Aims | undefined {
  let best: Aims | undefined;
  for (const each of grounds) {
    each.worth ??=
      lowestSum(each.cells, Math.min(MOST_FAULTS, each.ground.open.length)) / (30 + each.ground.open.length) ** 0.75;
    if (best?.worth == null || each.worth > best.worth) best = each;
  }
  return best;
}

function faultsFor(kind: RunKind, aims: Aims, random: Prng): readonly FaultAt[] {
  if (kind === 'fault-free') return [];
  if (kind === 'one-fault') {
    const recoverable = aims.cells.filter(({ cell }) => faultFacts(cell.kind).recoverable);
    return lowest(recoverable, 1, random).map((each) => aim(each, random));
  }
  const others = aims.cells.filter(({ cell }) => !LAST.has(cell.kind));
  const [end] = lowest(aims.ends, 1, random);
  const wanted = Math.round(3 + (0.3 + 1.2 * random.next()) * Math.min(MOST_FAULTS, aims.ground.open.length));
  const isDue = end !== undefined && levelOf(end) < meanLevel(lowest(others, wanted, random)) + END_LEAD;
  const last = isDue ? end.cell.at : Number.POSITIVE_INFINITY;
  const share = isDue ? (end.cell.at + 2) / aims.ground.plan.steps.length : 1;
  const before = isDue ? others.filter(({ cell }) => cell.at <= last) : others;
  const both = isDue ? silenceWith(end, aims.ends, random) : [];
  const chosen = approach(
    lowest(before, Math.ceil(wanted * Math.min(1, share)), random),
    isDue ? end : undefined,
    random,
  );
  return [...chosen.filter((each) => !isDue || !isPersons(each) || each.cell.step !== end.cell.step), ...both].map(
    (each) => aim(each, random),
  );
}

const isPersons = ({ cell }: Aimed): boolean => faultFacts(cell.kind).group === 'person';

/** One end, or at times both: the person falls silent, and long after somebody else gives up. */
function silenceWith(end: Aimed, ends: readonly Aimed[], random: Prng): readonly Aimed[] {
  const other = ends.find((each) => each !== end && each.cell.step === end.cell.step);
  if (other === undefined || random.next() < 0.3 || levelOf(other) > levelOf(end) + END_LEAD) return [end];
  return end.cell.kind === 'person-silent' ? [end, other] : [other, end];
}

const meanLevel = (cells: readonly Aimed[]): number =>
  cells.reduce((sum, each) => sum + levelOf(each), 0) / Math.max(1, cells.length);

/** Aimed at again and again and hardly ever hit. */
const isElusive = ({ aims, hits }: Aimed['count']): boolean => aims >= 8 && hits < 0.2 * aims;

/** What is seldom reached is gone up to without anything that could end the session before. */
function approach(cells: readonly Aimed[], end: Aimed | undefined, random: Prng): readonly Aimed[] {
  if (random.next() > CLEAR_SHARE) return cells;
  if (end !== undefined && isElusive(end.count)) return cells.filter(({ cell }) => cell.at === end.cell.at);
  const elusive = cells.find(({ count }) => isElusive(count));
  return elusive === undefined ? cells : cells.filter((each) => each === elusive || each.cell.at > elusive.cell.at);
}

/** So many of those hit least, by chance among equals; not too many at one step, and one of a person's. */
function lowest(cells: readonly Aimed[], wanted: number, random: Prng): readonly Aimed[] {
  const ranked = cells.map((each) => ({ each, rank: levelOf(each) + 1.2 * random.next() }));
  ranked.sort((a, b) => a.rank - b.rank);
  const atStep = new Map<string, number>();
  const asked = new Set<string>();
  const taken: Aimed[] = [];
  for (const { each } of ranked) {
    if (taken.length >= wanted) break;
    const { step, kind } = each.cell;
    const many = atStep.get(step) ?? 0;
    const isPerson = faultFacts(kind).group === 'person';
    if (many >= MOST_AT_A_STEP || (isPerson && asked.has(step))) continue;
    atStep.set(step, many + 1);
    if (isPerson) asked.add(step);
    taken.push(each);
  }
  return taken;
}

function aim({ cell, count }: Aimed, random: Prng): FaultAt {
  count.due += Math.min(1, (count.hits + 2) / (count.aims + 2));
  count.aims += 1;
  const early = faultFacts(cell.kind).group === 'plug' && /^(off|on):/.test(cell.step);
  // A plug that is to fail at its command has failed before the command.
  const atOnce = isElusive(count) || (early && random.next() < 0.7);
  return { kind: cell.kind, step: cell.step, share: atOnce ? 0 : random.next() * 0.8 };
}
