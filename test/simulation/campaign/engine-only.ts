// The engine alone: what it asks to hear is answered straight from a table, time jumps to where something is due. Faults
// come as events. Every session is held against what may never go out; every so-many-th is also traced and judged.
import { ADA, CEM, type Prng, prng, type SessionTank, seedFor, sessionTank } from '../../../src/sim/session/index.ts';
import { checkTrace } from '../checker/index.ts';
import type { Field, Ground } from './cells.ts';
import { type Direct, directSession, isStuck, stepOn, take, tellAll } from './direct.ts';
import { BEGIN_STEP, isEnded, RESUME_STEP } from './engine.ts';
import { note, type Tally } from './tally.ts';

export type EngineOnlyRun = { readonly index: number; carryOut(tally: Tally): void };

/** The tanks on which a session is short. */
const TANKS: ReadonlySet<string> = new Set(['small', 'blind', 'unlearned', 'sparse']);
const LONGEST_PLAN = 40;
const JUDGED_EVERY = 50;
const FAULT_FREE_EVERY = 8;

export function* engineOnlyRuns(field: Field, seed: number): Generator<EngineOnlyRun, void> {
  const grounds = field.grounds.filter(({ tank, plan }) => TANKS.has(tank) && plan.steps.length <= LONGEST_PLAN);
  for (let index = 0; ; index++) {
    const ground = grounds[index % grounds.length];
    if (!ground) return;
    yield { index, carryOut: (tally) => carryOut(ground, seed, index, tally) };
  }
}

function carryOut(ground: Ground, seed: number, index: number, tally: Tally): void {
  const round = Math.floor(index / 64);
  const isFree = round % FAULT_FREE_EVERY === 0;
  const home = sessionTank(ground.tank);
  const random = prng(seedFor(seed, `direct ${index}`));
  const label = `${seed}:${index}`;
  const direct = directSession(home, ground.plan, label, index % JUDGED_EVERY === 0);
  live(direct, home, random, isFree ? 0 : 0.06);
  const where = { run: label, tank: ground.tank, procedure: ground.procedure, faults: direct.faults };
  for (const text of direct.wrong) note(tally, { ...where, invariant: 'engine', at: 0, text });
  tally.runs += 1;
  tally.events += direct.events;
  tally.virtualHours += (direct.at - direct.startedAt) / 3_600_000;
  tally.faults += direct.faults.length;
  for (const fault of direct.faults) tally.byFault[fault] = (tally.byFault[fault] ?? 0) + 1;
  const end = endOf(direct);
  tally.outcomes[end] += 1;
  if (isFree) {
    tally.faultFree.runs += 1;
    if (end === 'complete') tally.faultFree.completed += 1;
    else
      tally.faultFree.notCompleted.push(
        `${label} ${ground.tank} ${ground.procedure}: ${direct.state.hold?.text ?? ''}`,
      );
  }
  const trace = direct.trace();
  if (trace === null) return;
  const verdict = checkTrace(trace);
  for (const { invariant, at, text } of verdict.violations) note(tally, { ...where, invariant, at, text });
  for (const [invariant, count] of Object.entries(verdict.armed)) {
    tally.armed[invariant] = (tally.armed[invariant] ?? 0) + count;
  }
}

const endOf = ({ state }: Direct): 'complete' | 'stopped' | 'aborted' | 'held' =>
  state.status === 'complete' || state.status === 'stopped' || state.status === 'aborted' ? state.status : 'held';

const MOST_RESUMES = 5;

function live(direct: Direct, home: SessionTank, random: Prng, faultShare: number): void {
  let resumes = 0;
  tellAll(direct);
  while (!isEnded(direct.state) && !isStuck(direct)) {
    if (faultShare > 0 && random.next() < faultShare) strike(direct, home, random);
    if (isEnded(direct.state)) return;
    const { prompt } = direct.state;
    if (prompt === null) {
      stepOn(direct);
      continue;
    }
    if (prompt.step === RESUME_STEP) {
      resumes += 1;
      if (resumes > MOST_RESUMES) {
        take(direct, { kind: 'abort', at: direct.at, actor: ADA, nextNonce: direct.nonce() });
        return;
      }
      direct.putRight();
    }
    direct.at += 3_000;
    direct.answer(ADA, prompt.nonce);
  }
}

type Blow = readonly [name: string, strike: (direct: Direct, random: Prng, home: SessionTank) => void];

const BLOWS: readonly Blow[] = [
  ['foreign hand', (direct, random) => direct.foreign(random)],
  [
    'hub lost',
    (direct, random) => {
      take(direct, { kind: 'hub-lost', at: direct.at });
      direct.at += random.next() < 0.5 ? 20_000 : 400_000;
      take(direct, { kind: 'hub-back', at: direct.at, nextNonce: direct.nonce() });
      tellAll(direct);
    },
  ],
  [
    'service restarted',
    (direct) => {
      direct.at += 30_000;
      take(direct, { kind: 'service-restarted', at: direct.at, nextNonce: direct.nonce() });
      take(direct, { kind: 'hub-back', at: direct.at + 1_000, nextNonce: direct.nonce() });
      direct.at += 1_000;
      tellAll(direct);
    },
  ],
  ['refused', (direct) => direct.refuseNext()],
  ['plug sticks', (direct) => direct.stickNext()],
  ['meter gone', (direct, random) => direct.meterGone(random)],
  ['silence', (direct) => direct.silence(200_000)],
  ['old nonce', (direct) => direct.answer(ADA, 'n0')],
  ['other person', (direct) => direct.answerEarly(CEM)],
  ['machine', (direct) => direct.answer({ kind: 'machine', name: 'flow' }, direct.state.prompt?.nonce ?? '')],
  ['wet', (direct) => direct.wet()],
  [
    'abort',
    (direct, random) => {
      if (random.next() < 0.3) take(direct, { kind: 'abort', at: direct.at, actor: ADA, nextNonce: direct.nonce() });
    },
  ],
];

function strike(direct: Direct, home: SessionTank, random: Prng): void {
  const blow = BLOWS[Math.floor(random.next() * BLOWS.length)];
  if (!blow || direct.state.prompt?.step === BEGIN_STEP) return;
  direct.faults.push(blow[0]);
  blow[1](direct, random, home);
}
