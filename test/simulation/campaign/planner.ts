// Which run tries what: from the seed alone, run by run, so that run N of a seed is the same whoever asks for it. Cells that
// have been aimed at least come next.
import {
  type FaultAt,
  faultFacts,
  type Prng,
  prng,
  seedFor,
  sessionTank,
  type TankId,
} from '../../../src/sim/session/index.ts';
import type { Cell, Field, Ground } from './cells.ts';
import type { RunSpec } from './drive.ts';

export type RunKind = 'fault-free' | 'one-fault' | 'many-faults';

export type PlannedRun = {
  readonly index: number;
  readonly kind: RunKind;
  readonly tank: TankId;
  readonly procedure: string;
  readonly spec: RunSpec;
};

/** After one of these there is seldom a next step. */
const LAST: ReadonlySet<string> = new Set(['aborts', 'person-silent', 'siphon-blocked', 'refuses-always', 'leak']);

/** In force for many steps at once: aimed at less often than what lasts a moment. */
const LASTING: ReadonlySet<string> = new Set([
  'messages-late',
  'messages-lost',
  'messages-twice',
  'messages-swapped',
  'float-stuck',
  'level-frozen',
  'probe-drifts',
]);
const MOMENTS_AS_OFTEN = 3;

/** Every one of so many runs has no fault, and of so many one that can be recovered from. */
const EVERY_FREE = 20;
const EVERY_ONE = 8;

/** More than so many in one session is no session any more. */
const MOST_FAULTS = 70;

type Aims = { readonly ground: Ground; readonly order: Cell[]; readonly ends: Cell[]; next: number; nextEnd: number };

export function* plannedRuns(field: Field, seed: number): Generator<PlannedRun, never> {
  const random = prng(seedFor(seed, 'planner'));
  const aims = field.grounds.map((ground): Aims => aimsOf(ground, seed));
  const weights = aims.map(({ ground }) => ground.cells.length ** 0.8);
  const debts = weights.map(() => 0);
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  for (let index = 0; ; index++) {
    // The ground that is furthest behind its share comes next.
    for (let i = 0; i < debts.length; i++) debts[i] = (debts[i] ?? 0) + (weights[i] ?? 0) / total;
    const chosen = debts.indexOf(Math.max(...debts));
    debts[chosen] = (debts[chosen] ?? 0) - 1;
    const aim = aims[chosen];
    if (!aim) throw new Error('there is no procedure to try');
    const kind: RunKind =
      index % EVERY_FREE === 0 ? 'fault-free' : index % EVERY_ONE === 1 ? 'one-fault' : 'many-faults';
    const faults = faultsFor(kind, aim, random);
    const { ground } = aim;
    yield {
      index,
      kind,
      tank: ground.tank,
      procedure: ground.procedure,
      spec: {
        label: `${seed}:${index}`,
        seed: seedFor(seed, `run ${index}`),
        home: sessionTank(ground.tank),
        plan: ground.plan,
        faults,
        hour: 9 + 3 * random.next(),
      },
    };
  }
}

function aimsOf(ground: Ground, seed: number): Aims {
  const random = prng(seedFor(seed, `aims ${ground.tank} ${ground.procedure}`));
  const going = ground.cells.filter((cell) => !LAST.has(cell.kind));
  const order = Array.from({ length: MOMENTS_AS_OFTEN }, (_, round) =>
    shuffled(round === 0 ? going : going.filter((cell) => !LASTING.has(cell.kind)), random),
  ).flat();
  const ends = shuffled(
    ground.cells.filter((cell) => LAST.has(cell.kind)),
    random,
  );
  return { ground, order, ends, next: 0, nextEnd: 0 };
}

function shuffled(cells: readonly Cell[], random: Prng): Cell[] {
  const out = [...cells];
  for (let i = out.length - 1; i > 0; i--) {
    const j = Math.floor(random.next() * (i + 1));
    const a = out[i];
    const b = out[j];
    if (a && b) [out[i], out[j]] = [b, a];
  }
  return out;
}

function faultsFor(kind: RunKind, aim: Aims, random: Prng): readonly FaultAt[] {
  if (kind === 'fault-free') return [];
  if (kind === 'one-fault') {
    const one = take(aim, 1, (cell) => faultFacts(cell.kind).recoverable);
    return one.map((cell) => faultAt(cell, random));
  }
  const last = random.next() < 0.3 && aim.ends.length > 0 ? aim.ends[aim.nextEnd++ % aim.ends.length] : undefined;
  const most = last === undefined ? Number.POSITIVE_INFINITY : last.at;
  const wanted = 4 + Math.floor(random.next() * Math.min(MOST_FAULTS, aim.ground.open.length));
  const cells = take(aim, wanted, (cell) => cell.at <= most);
  return [...cells, ...(last === undefined ? [] : [last])].map((cell) => faultAt(cell, random));
}

/** The next so many cells that suit; those passed over stay at the front. */
function take(aim: Aims, count: number, suits: (cell: Cell) => boolean): readonly Cell[] {
  const taken: Cell[] = [];
  const { order } = aim;
  for (let looked = 0; looked < order.length && taken.length < count; looked++) {
    const at = (aim.next + looked) % order.length;
    const cell = order[at];
    if (!cell || !suits(cell)) continue;
    taken.push(cell);
    // What was passed over takes the place of what was taken.
    const front = order[aim.next % order.length];
    if (front) {
      order[at] = front;
      order[aim.next % order.length] = cell;
    }
    aim.next = (aim.next + 1) % order.length;
  }
  return taken;
}

function faultAt(cell: Cell, random: Prng): FaultAt {
  const early = faultFacts(cell.kind).group === 'plug' && /^(off|on):/.test(cell.step);
  // A plug that is to fail at its command has failed before the command.
  const share = early && random.next() < 0.7 ? 0 : random.next() * 0.8;
  return { kind: cell.kind, step: cell.step, share };
}
