import { problem } from '../errors/index.ts';
import type { Actor, EntityId } from '../model/index.ts';
import { type Reading, withReading } from '../observe/index.ts';
import type { HubPort, StorePort, System } from '../ports/index.ts';
import {
  advance,
  asStarted,
  begin,
  type Confirmation,
  differingFacts,
  type EngineContext,
  judgeConfirmation,
  RESUME_STEP,
  replay,
  type SessionEffect,
  type SessionEvent,
  type SessionPlan,
  type SessionState,
  startedTank,
} from '../procedure/index.ts';
import { actorName, sessionEvents } from '../record/index.ts';
import type { DurationMs, InstantMs } from '../units/index.ts';
import { createForcedReadings } from './forced-readings.ts';
import type { Loop } from './loop.ts';
import { createJumps } from './wall-clock.ts';

/** A session is refused while hub and service disagree on the time by more than this: freshness could not be judged. */
export const MAX_SKEW_MS: DurationMs = 5_000;

export type SessionRunner = {
  state(): SessionState | null;
  start(procedure: string, actor: Actor): SessionState;
  confirm(confirmation: Omit<Confirmation, 'at'>): { readonly accepted: boolean; readonly why: string };
  abort(actor: Actor): SessionState | null;
  readings(readings: readonly Reading[]): void;
  tick(): void;
  hubLost(at: InstantMs): void;
  hubBack(at: InstantMs): void;
  /** Measured when the hub was first reached; no session without it. */
  skew(ms: DurationMs): void;
  /** Replays an unfinished session after a start of the service; it then waits for a person. */
  recover(): void;
};

type Deps = {
  readonly hub: Pick<HubPort, 'command' | 'driver' | 'refresh'>;
  readonly store: StorePort;
  readonly system: System;
  readonly loop: Loop;
  readonly ctx: EngineContext;
  readonly plan: (procedure: string) => SessionPlan;
  /** `at` is the instant of the event that changed it, as journalled: what the change set off is later. */
  readonly onChange: (state: SessionState, at: InstantMs) => void;
  readonly onAlarm: (code: string, text: string) => void;
  readonly onSay: (text: string) => void;
  readonly onRefreshed: (readings: readonly Reading[]) => void;
};

const OVER: readonly SessionState['status'][] = ['complete', 'stopped', 'aborted'];
export const isOver = (state: SessionState): boolean => OVER.includes(state.status);
/** Over, but somebody's claim stands: it is still guarded. */
const isGuarded = (state: SessionState): boolean => !isOver(state) || state.claims.length > 0;

export function createSessionRunner(deps: Deps): SessionRunner {
  const { store, system, ctx } = deps;
  let state: SessionState | null = null;
  const link: LinkKnown = { isUp: false, skewMs: null };
  const collected = collectReadings();
  const refresh = createForcedReadings(deps, '', deps.onRefreshed);
  const jump = createJumps(system.clock);
  const now = (): InstantMs => system.clock.now();
  const nextNonce = (): string => system.random.token();

  /** Stored first, then done: what went out is always on disk. An event that changes nothing leaves no trace. */
  const dispatch = (session: string, event: SessionEvent): void => {
    const [next, effects] =
      event.kind === 'started' ? begin(event, ctx) : state === null ? [null, []] : advance(state, event, ctx);
    if (next === null || (next === state && effects.length === 0)) return;
    store.append({ v: 1, kind: 'session-event', at: event.at, session, event });
    state = next;
    for (const effect of effects) perform(deps, refresh, effect, send);
    deps.onChange(next, event.at);
  };
  const lookAtClock = (): void => {
    const jumpMs = jump();
    if (jumpMs !== 0) send({ kind: 'clock-jumped', at: now(), byMs: jumpMs, nextNonce: nextNonce() });
  };
  /** What was heard before a word or an answer came is taken before it. */
  const deliver = (): void => {
    if (state === null || !isGuarded(state)) return;
    const readings = collected.take();
    if (readings.length > 0) dispatch(state.id, { kind: 'readings', at: now(), readings, nextNonce: nextNonce() });
  };
  const send = (event: SessionEvent): void => {
    // Before anything is dated by a clock that was set, the session hears of that: its times move along.
    if (event.kind !== 'clock-jumped') {
      lookAtClock();
      deliver();
    }
    if (state !== null && isGuarded(state)) dispatch(state.id, event);
  };

  return {
    state: () => state,
    start: (procedure, actor) => {
      refuseStart(state, link, ctx);
      const session = system.random.token();
      const given = { actor, session, plan: deps.plan(procedure), settings: ctx.settings, tank: startedTank(ctx) };
      // The session starts from what is known now, so that the figures before the service are on record.
      collected.again();
      dispatch(session, { kind: 'started', at: now(), nonce: nextNonce(), ...given });
      if (state === null) throw problem('SW-SES-011');
      return state;
    },
    confirm: (given) => {
      if (state === null) throw problem('SW-SES-011');
      lookAtClock();
      deliver();
      const confirmation: Confirmation = { ...given, at: now() };
      const verdict = judgeConfirmation(state, confirmation, asStarted(state, ctx));
      const kind = given.step === RESUME_STEP ? 'resume' : 'confirmed';
      // The engine hears of refused ones too: it tells the person why, and the record shows who tried.
      dispatch(state.id, { kind, at: now(), confirmation, nextNonce: nextNonce() });
      return verdict.ok ? { accepted: true, why: '' } : { accepted: false, why: verdict.why };
    },
    abort: (actor) => {
      send({ kind: 'abort', at: now(), actor, nextNonce: nextNonce() });
      return state;
    },
    readings: collected.add,
    tick: () => {
      send({ kind: 'tick', at: now(), nextNonce: nextNonce() });
    },
    ...tellsOfLink(link, system, send),
    recover: () => {
      state = replayLatest(store, ctx);
      if (state === null || !isGuarded(state)) return;
      system.log.warn(`a session was open when the service stopped: ${state.plan.title}; it waits for a person`);
      send({ kind: 'service-restarted', at: now(), nextNonce: nextNonce(), ...changedSince(state, deps) });
    },
  };
}

/** What has been configured otherwise since the session was started: it keeps to what it knows, and people must learn of it. */
function changedSince({ tank }: SessionState, { ctx, system }: Deps): { readonly changed?: readonly string[] } {
  const changed = tank === undefined ? [] : differingFacts(tank, startedTank(ctx));
  if (changed.length === 0) return {};
  system.log.warn(`it keeps to the tank it was started on; changed since: ${changed.join('; ')}`);
  return { changed };
}

type LinkKnown = { isUp: boolean; skewMs: DurationMs | null };

function tellsOfLink(
  link: LinkKnown,
  { clock, random }: Deps['system'],
  send: (event: SessionEvent) => void,
): Pick<SessionRunner, 'hubLost' | 'hubBack' | 'skew'> {
  return {
    hubLost: (at) => {
      link.isUp = false;
      send({ kind: 'hub-lost', at });
    },
    hubBack: (at) => {
      link.isUp = true;
      send({ kind: 'hub-back', at, nextNonce: random.token() });
    },
    skew: (ms) => {
      link.skewMs = ms;
      send({ kind: 'clock-skew', at: clock.now(), skewMs: ms, nextNonce: random.token() });
    },
  };
}

/** Throws with the reason where no session may start now. */
function refuseStart(state: SessionState | null, link: LinkKnown, ctx: EngineContext): void {
  if (state !== null && !isOver(state))
    throw problem('SW-SES-002', { title: state.plan.title, person: actorName(state.startedBy) });
  const claim = state?.claims[0];
  if (claim !== undefined)
    throw problem('SW-SES-012', {
      why: `${claim.person} still claims ${ctx.equipment[claim.equipment]?.name ?? claim.equipment}`,
      hint: 'The person of the claim releases it first.',
    });
  if (!link.isUp || link.skewMs === null)
    throw problem('SW-SES-012', {
      why: 'the hub is not connected',
      hint: 'Wait until the service has the hub again; nothing can be proved without it.',
    });
  if (Math.abs(link.skewMs) > MAX_SKEW_MS)
    throw problem('SW-HUB-007', {
      skew: `${(link.skewMs / 1000).toFixed(1)} s`,
      allowed: `${MAX_SKEW_MS / 1000} s`,
    });
}

/** The latest session, as its stored events make it; null when there never was one. */
function replayLatest(store: StorePort, ctx: EngineContext): SessionState | null {
  const rows = store.journal(['session-event']);
  const last = rows.at(-1)?.entry;
  return last?.kind === 'session-event' ? replay(sessionEvents(rows, last.session), ctx) : null;
}

/** Readings since the last tick. A plug that chatters costs a few records a tick, not a hundred; what it did stays in them. */
function collectReadings() {
  const latest = new Map<EntityId, readonly Reading[]>();
  let fresh = new Map<EntityId, readonly Reading[]>();
  return {
    add: (readings: readonly Reading[]): void => {
      for (const reading of readings) {
        latest.set(reading.entity, [reading]);
        fresh.set(reading.entity, withReading(fresh.get(reading.entity) ?? [], reading));
      }
    },
    take: (): readonly Reading[] => {
      const readings = [...fresh.values()].flat();
      fresh = new Map();
      return readings;
    },
    again: (): void => {
      fresh = new Map(latest);
    },
  };
}

function perform(
  deps: Deps,
  refresh: (entities: readonly EntityId[]) => void,
  effect: SessionEffect,
  send: (event: SessionEvent) => void,
): void {
  const { hub, loop, system } = deps;
  switch (effect.kind) {
    case 'command':
      void hub
        .command(effect.command)
        .then(({ outcome, detail }) =>
          loop.enqueue('command ended', () =>
            send({ kind: 'command-ended', at: system.clock.now(), command: effect.command, outcome, detail }),
          ),
        );
      return;
    case 'driver':
      void hub.driver(effect.entity, effect.turn).then(({ outcome, detail }) => {
        if (outcome !== 'confirmed')
          loop.enqueue('driver', () =>
            deps.onAlarm('driver', `${effect.entity} could not be ${effect.turn}d (${outcome}): ${detail}`),
          );
      });
      return;
    case 'refresh':
      refresh(effect.entities);
      return;
    case 'alarm':
      deps.onAlarm(effect.code, effect.text);
      return;
    case 'say':
      deps.onSay(effect.text);
      return;
    case 'ended':
      deps.onSay(`session ${effect.result}`);
      return;
  }
}
