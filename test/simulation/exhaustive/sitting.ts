import type { Actor } from '../../../src/model/index.ts';
import type {
  Confirmation,
  EngineContext,
  SessionEffect,
  SessionEvent,
  SessionPlan,
  SessionState,
} from '../../../src/procedure/index.ts';
import type { TraceEntry } from '../trace.ts';
import type { Product } from './product.ts';
import { entriesOf } from './record.ts';
import { obey, pass, startWorld, TICK_MS, tell, truthBetween, type World } from './world.ts';

// A session on the small tank, as values: every step gives a new sitting and leaves the old one as it was, so that each
// can be gone on from in every way there is.

export type Bench = { readonly product: Product; readonly ctx: EngineContext; readonly plan: SessionPlan };

type Tape = { readonly before: Tape; readonly entry: TraceEntry; readonly length: number } | null;

export type Sitting = { readonly state: SessionState; readonly world: World; readonly tape: Tape };

export const ADA: Actor = { kind: 'person', name: 'Ada', via: 'simulated' };
export const BO: Actor = { kind: 'person', name: 'Bo', via: 'simulated' };
export const STRANGER: Actor = { kind: 'unknown', via: 'hub' };
const NOON = Date.UTC(2026, 2, 2, 12);

/** What was noted since an earlier moment of the same story, oldest first. */
export function entriesSince(sitting: Sitting, earlier: Sitting | null): TraceEntry[] {
  const entries: TraceEntry[] = [];
  const until = earlier?.tape ?? null;
  for (let tape = sitting.tape; tape !== null && tape !== until; tape = tape.before) entries.push(tape.entry);
  return entries.reverse();
}

function put(tape: Tape, entries: readonly TraceEntry[]): Tape {
  let grown = tape;
  for (const entry of entries) grown = { before: grown, entry, length: (grown?.length ?? 0) + 1 };
  return grown;
}

export const note = (sitting: Sitting, ...entries: TraceEntry[]): Sitting => ({
  ...sitting,
  tape: put(sitting.tape, entries),
});

/** Something happens to the tank; the judge is told the truth of it. */
export function change(sitting: Sitting, world: World): Sitting {
  return { ...sitting, world, tape: put(sitting.tape, truthBetween(sitting.world, world)) };
}

const nonceAt = (sitting: Sitting | null): string => `n${sitting?.tape?.length ?? 0}`;

export function begin(bench: Bench): Sitting {
  const world = startWorld(NOON);
  const event: SessionEvent = {
    kind: 'started',
    at: NOON,
    actor: ADA,
    session: 's1',
    plan: bench.plan,
    nonce: nonceAt(null),
  };
  const [state, effects] = bench.product.begin(event, bench.ctx);
  const tape = put(put(null, truthBetween(null, world)), entriesOf(null, event, state, effects));
  return effects.reduce<Sitting>(perform, { state, world, tape });
}

export function send(bench: Bench, sitting: Sitting, event: SessionEvent): Sitting {
  const [state, effects] = bench.product.advance(sitting.state, event, bench.ctx);
  if (state === sitting.state && effects.length === 0) return sitting;
  const tape = put(sitting.tape, entriesOf(sitting.state, event, state, effects));
  return effects.reduce<Sitting>(perform, { state, world: sitting.world, tape });
}

const OUTCOMES = { taken: 'confirmed', lost: null, refused: 'refused' } as const;

function perform(sitting: Sitting, effect: SessionEffect): Sitting {
  const { world } = sitting;
  switch (effect.kind) {
    case 'command':
      return change(sitting, {
        ...obey(world, effect.command),
        acks: [...world.acks, { command: effect.command, outcome: OUTCOMES[world.nextCommand] }],
      });
    case 'driver':
      return change(sitting, {
        ...world,
        suspended: { ...world.suspended, [effect.equipment]: effect.turn === 'suspend' },
      });
    case 'refresh':
      return { ...sitting, world: { ...world, asked: [...new Set([...world.asked, ...effect.entities])].sort() } };
    default:
      return sitting;
  }
}

const hears = (world: World): boolean => world.linkUp && world.serviceUp;

/** Where nothing but a wait goes on, a look in three is enough; everything still reports within its time. */
const LONG_LOOK = 3;

function isCalm({ state, world }: Sitting): boolean {
  const longMs = 2 * LONG_LOOK * TICK_MS;
  if (world.backAt !== null) return world.backAt - world.at >= longMs;
  const step = state.plan.steps[state.stepIndex];
  if (state.status !== 'running' || step?.action !== 'wait') return false;
  const from = state.records.find((each) => each.id === (step.waitFrom ?? step.id))?.closedAt ?? world.at;
  return from + (step.waitMs ?? 0) - world.at >= longMs;
}

/** One look: the tank moves, the hub reports, the service looks. */
export function tick(bench: Bench, before: Sitting, isLong = isCalm(before)): Sitting {
  const { acks } = before.world;
  let sitting = change(before, { ...pass(before.world, isLong ? LONG_LOOK : 1), acks: [] });
  const { at } = sitting.world;
  if (hears(sitting.world))
    for (const { command, outcome } of acks) {
      if (outcome === null) continue;
      sitting = send(bench, sitting, { kind: 'command-ended', at, command, outcome, detail: 'as the hub says' });
    }
  const told = tell(sitting.world, isLong);
  sitting = note({ ...sitting, world: told.world }, ...told.entries);
  if (told.readings.length > 0)
    sitting = send(bench, sitting, { kind: 'readings', at, readings: told.readings, nextNonce: nonceAt(sitting) });
  if (sitting.world.serviceUp) sitting = send(bench, sitting, { kind: 'tick', at, nextNonce: nonceAt(sitting) });
  return comeBack(bench, sitting);
}

/** The link or the service is there again when its time has come. */
function comeBack(bench: Bench, sitting: Sitting): Sitting {
  const { world } = sitting;
  if (world.backAt === null || world.at < world.backAt) return sitting;
  const { at } = world;
  const back = { ...world, backAt: null, linkUp: true, serviceUp: true };
  if (!world.serviceUp) {
    const up = note({ ...sitting, world: back }, { kind: 'service', at, state: 'up' });
    return send(bench, up, { kind: 'service-restarted', at, nextNonce: nonceAt(up) });
  }
  const up = note({ ...sitting, world: back }, { kind: 'link', at, state: 'back' });
  return send(bench, up, { kind: 'hub-back', at, nextNonce: nonceAt(up) });
}

export function answer(bench: Bench, sitting: Sitting, actor: Actor, more: Partial<Confirmation> = {}): Sitting {
  const { prompt, id } = sitting.state;
  const { at } = sitting.world;
  const confirmation = { session: id, step: prompt?.step ?? '', nonce: prompt?.nonce ?? '', actor, at, ...more };
  const kind = confirmation.step === '#resume' ? 'resume' : 'confirmed';
  return send(bench, sitting, { kind, at, confirmation, nextNonce: nonceAt(sitting) });
}

export const abort = (bench: Bench, sitting: Sitting): Sitting =>
  send(bench, sitting, { kind: 'abort', at: sitting.world.at, actor: ADA, nextNonce: nonceAt(sitting) });

export const isOver = (sitting: Sitting): boolean => sitting.state.endedAt !== null;
