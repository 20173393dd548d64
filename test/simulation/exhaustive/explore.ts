import { type Invariant, type Judge, startJudge } from '../checker/index.ts';
import { canonical } from './canonical.ts';
import {
  type Choice,
  creepingFaults,
  faultsAtOnce,
  faultsOfCommand,
  right,
  walksUpAndAborts,
  wrongs,
} from './choices.ts';
import type { Product } from './product.ts';
import { type Bench, begin, entriesSince, isOver, type Sitting, tick } from './sitting.ts';
import { contextFor, headerFor, SHORT_WAITS, TANK } from './tank.ts';

// Every way a session on the small tank can go: depth first over what can happen at each visible moment, never twice from
// the same state, each path judged from its trace alone.

export type Bounds = {
  readonly procedure: string;
  readonly faults: number;
  readonly wrongs: number;
  readonly stopAtFirst?: boolean;
  /** The plan forgets these steps: the engine must not be led astray by it. */
  readonly without?: string;
  /** Findings that do not count. */
  readonly known?: ReadonlySet<string>;
};

export type Finding = {
  readonly what: string;
  readonly path: readonly string[];
  /** What happened on that path, without the readings. */
  readonly story: () => readonly string[];
};

export type Outcome = {
  readonly states: number;
  readonly transitions: number;
  readonly paths: number;
  readonly cut: number;
  readonly ended: Readonly<Record<string, number>>;
  readonly armed: Readonly<Record<Invariant, number>>;
  readonly findings: readonly Finding[];
};

type Path = { readonly before: Path; readonly name: string } | null;

type Find = (what: string, path: Path, last: Sitting) => void;

type Node = {
  readonly sitting: Sitting;
  /** Has heard everything on the sitting's tape. */
  readonly judge: Judge;
  readonly faults: number;
  readonly wrongs: number;
  readonly resumes: number;
  readonly path: Path;
};

const MOST_RESUMES = 4;
/** Nobody answers for so long: it must have been said that somebody is waited for. */
const SILENT_MS = 2.5 * 3_600_000;
/** Nothing may go on for longer than this without a visible change or a question. */
const STALLED_MS = 3_600_000;

export function explore(product: Product, bounds: Bounds): Outcome {
  const built = product.buildPlan(bounds.procedure, TANK, SHORT_WAITS);
  const plan = { ...built, steps: built.steps.filter((step) => step.action !== bounds.without) };
  const bench: Bench = { product, ctx: contextFor(product), plan };
  const header = headerFor(plan);
  const seen = new Set<string>();
  const ended: Record<string, number> = {};
  const armed: Record<Invariant, number> = { I1: 0, I2: 0, I3: 0, I4: 0, I5: 0, I6: 0, I7: 0, I8: 0, I9: 0, I10: 0 };
  const findings = new Map<string, Finding>();
  let transitions = 0;
  let paths = 0;
  let cut = 0;

  const find: Find = (what, path, last) => {
    if (bounds.known?.has(what)) return;
    const known = findings.get(what);
    const names = namesOf(path);
    if (known === undefined || names.length < known.path.length)
      findings.set(what, { what, path: names, story: () => storyOf(last) });
  };
  const report = (node: Node, known: number): void => {
    for (const { invariant, text } of node.judge.violations.slice(known))
      find(`${invariant}: ${text}`, node.path, node.sitting);
  };
  const leaf = (node: Node): void => {
    paths += 1;
    const how = howItEnds(node.sitting);
    ended[how] = (ended[how] ?? 0) + 1;
    const last = heard(node, after(bench, node.sitting));
    const verdict = last.judge.finish();
    report(last, node.judge.violations.length);
    for (const invariant of Object.keys(armed) as Invariant[]) armed[invariant] += verdict.armed[invariant];
  };

  const sitting = begin(bench);
  const judge = startJudge(header);
  for (const entry of entriesSince(sitting, null)) judge.see(entry);
  const stack: Node[] = [{ sitting, judge, faults: bounds.faults, wrongs: bounds.wrongs, resumes: 0, path: null }];
  for (let node = stack.pop(); node !== undefined; node = stack.pop()) {
    if (bounds.stopAtFirst === true && findings.size > 0) break;
    const key = canonical(node.sitting, `${node.faults}/${node.wrongs}/${node.resumes}/${node.judge.gist()}`);
    if (seen.has(key)) {
      cut += 1;
      continue;
    }
    seen.add(key);
    const next = expand(bench, node, find);
    transitions += next.length;
    for (const each of next) report(each, node.judge.violations.length);
    if (next.length === 0) leaf(node);
    stack.push(...next);
  }
  return { states: seen.size, transitions, paths, cut, ended, armed, findings: [...findings.values()] };
}

/** The same moment further on, its judge having heard what came between. */
function heard(node: Node, sitting: Sitting, more: Partial<Node> = {}): Node {
  const judge = node.judge.branch();
  for (const entry of entriesSince(sitting, node.sitting)) judge.see(entry);
  return { ...node, ...more, sitting, judge };
}

function storyOf(last: Sitting): string[] {
  const entries = entriesSince(last, null);
  const start = entries[0]?.at ?? 0;
  return entries
    .filter((entry) => entry.kind !== 'reading' && entry.kind !== 'water')
    .map(({ at, kind, ...rest }) => `${String((at - start) / 1000).padStart(6)} s ${kind} ${JSON.stringify(rest)}`);
}

function namesOf(path: Path): string[] {
  const names: string[] = [];
  for (let step = path; step !== null; step = step.before) names.push(step.name);
  return names.reverse();
}

const howItEnds = ({ state }: Sitting): string =>
  state.endedAt === null ? `${state.status}, unanswered` : state.status;

/** A minute on, so that what is due after the end shows or is missed. */
function after(bench: Bench, sitting: Sitting): Sitting {
  let now = sitting;
  for (let n = 0; n < 4; n += 1) now = tick(bench, now);
  return now;
}

/** What can come of this moment; nothing where it is over. */
function expand(bench: Bench, node: Node, find: Find): Node[] {
  const { sitting } = node;
  if (isOver(sitting)) return [];
  const next: Node[] = [];
  const go = (choice: Choice, from: Sitting, less: Partial<Node>, when = ''): void => {
    const path = { before: node.path, name: `${choice.name}${when}` };
    next.push(heard(node, choice.apply(bench, from), { path, ...less }));
  };
  const fail = (choices: readonly Choice[], from: Sitting, when = ''): void => {
    if (node.faults > 0) for (const choice of choices) go(choice, from, { faults: node.faults - 1 }, when);
  };
  const asked = sitting.state.prompt !== null && sitting.world.serviceUp && sitting.world.linkUp;
  if (asked) {
    const isResume = sitting.state.prompt?.step === '#resume';
    if (isResume && node.resumes >= MOST_RESUMES) go(walksUpAndAborts, sitting, {});
    else go(right, sitting, isResume ? { resumes: node.resumes + 1 } : {});
    if (node.wrongs > 0) {
      for (const wrong of wrongs(sitting)) go(wrong, sitting, { wrongs: node.wrongs - 1 });
      next.push(...silent(bench, node, find));
    }
  } else {
    const { course, stalled } = runOn(bench, sitting, STALLED_MS);
    const last = course.at(-1);
    if (stalled) find('the session stands still without a question', { before: node.path, name: 'time' }, sitting);
    else if (last !== undefined) go({ name: mark(last), apply: () => last }, sitting, {});
    const half = course.length >= 4 ? course[Math.floor(course.length / 2) - 1] : undefined;
    if (half !== undefined) fail(faultsAtOnce(half), half, '@half');
    if (node.wrongs > 0) go(walksUpAndAborts, sitting, { wrongs: node.wrongs - 1 });
  }
  const [usual] = next;
  for (const entry of usual === undefined ? [] : entriesSince(usual.sitting, sitting))
    if (entry.kind === 'command') fail(faultsOfCommand(sitting, entry.equipment, entry.turn), sitting);
  fail(faultsAtOnce(sitting), sitting);
  fail(creepingFaults(sitting), sitting);
  return next;
}

/** Where time alone led, for whoever reads a path. */
const mark = ({ state }: Sitting): string =>
  `→${state.plan.steps[state.stepIndex]?.id ?? state.status}${state.hold === null ? '' : `(${state.hold.reason})`}`;

const signature = ({ state, world }: Sitting): string =>
  `${state.status}|${state.stepIndex}|${state.hold?.reason ?? ''}|${state.prompt?.nonce ?? ''}|${world.linkUp}|${world.serviceUp}`;

/** Time alone, look by look, until something shows. */
function runOn(
  bench: Bench,
  from: Sitting,
  mostMs: number,
  isLong?: boolean,
): { readonly course: readonly Sitting[]; readonly stalled: boolean } {
  const course: Sitting[] = [];
  const before = signature(from);
  for (let now = from; now.world.at - from.world.at < mostMs; ) {
    now = isLong === undefined ? tick(bench, now) : tick(bench, now, isLong);
    course.push(now);
    if (signature(now) !== before) return { course, stalled: false };
  }
  return { course, stalled: true };
}

/** A question nobody answers: the session may go on by itself, or must have called for somebody. */
function silent(bench: Bench, node: Node, find: Find): Node[] {
  const { course, stalled } = runOn(bench, node.sitting, SILENT_MS, true);
  const last = course.at(-1);
  if (last === undefined) return [];
  const path: Path = { before: node.path, name: 'nobody answers' };
  if (!stalled) return [heard(node, last, { wrongs: node.wrongs - 1, path })];
  const called = entriesSince(last, node.sitting).some((entry) => entry.kind === 'said' && entry.what === 'alarm');
  if (!called) find('a question stands unanswered for hours and nobody is called', path, last);
  // From here nothing new comes of waiting: the person comes back and gives up.
  const given = walksUpAndAborts.apply(bench, last);
  return [heard(node, given, { wrongs: node.wrongs - 1, path: { before: path, name: 'aborts' } })];
}
