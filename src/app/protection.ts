import type { Config } from '../config/index.ts';
import type { Actor, AnsweredQuestion, EquipmentId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import type { Heartbeat, HubPort, StorePort, System } from '../ports/index.ts';
import { acclimationContext } from '../procedure/acclimation/index.ts';
import { afterWatchContext, guardContext, leftOffContext } from '../procedure/guards/index.ts';
import type { SessionState } from '../procedure/index.ts';
import { type DurationMs, formatSpan, type InstantMs } from '../units/index.ts';
import { type Acclimating, createAcclimating } from './acclimating.ts';
import { createAfterWatching } from './after-watch.ts';
import type { createAlarms } from './alarms.ts';
import { createClockBehind } from './clock-behind.ts';
import { createClocks } from './clocks.ts';
import { createForcedReadings } from './forced-readings.ts';
import { createGuarding, heldHub } from './guarding.ts';
import { createHands } from './hands.ts';
import { createLeftOff } from './left-off.ts';
import type { Loop } from './loop.ts';
import type { AttentionLine, GuardView, ProtectionFace } from './protection-types.ts';
import { MAX_SKEW_MS } from './session-runner.ts';
import { createJumps } from './wall-clock.ts';

/** What watches over the tank outside sessions: guards, what was left off, what came back, the hub itself. */
type Own = 'resetGuard' | 'startAcclimation' | 'stopAcclimation' | 'acclimation';

export type Protection = Omit<ProtectionFace, Own> & {
  readonly acclimating: Acclimating;
  /** For sessions: "on" is refused for whatever a guard holds off. */
  readonly hub: Pick<HubPort, 'command' | 'driver' | 'refresh'>;
  /** Begins its clocks, whether the hub can be reached or not. */
  start(latest: SessionState | null): void;
  readings(readings: readonly Reading[]): void;
  link(up: boolean, at: InstantMs): void;
  /** Up to when was counted, by the hub's clock, and what that clock reads now. */
  clock(countedTo: InstantMs, hubNow: InstantMs): void;
  session(state: SessionState | null, at: InstantMs): void;
  /** What sessions left out of service, until it is back: nothing lights it either. */
  leftOut(equipment: readonly EquipmentId[]): void;
  skewed(skewMs: DurationMs): void;
  /** Before the answer is on record: what cannot be done is refused. */
  answered(question: AnsweredQuestion, choice: string, by: Actor): void;
  resetGuard(guard: string, by: Actor): GuardView;
  stop(): void;
};

type Deps = {
  readonly config: Config;
  readonly hub: HubPort;
  readonly store: StorePort;
  readonly system: System;
  readonly loop: Loop;
  readonly alarms: ReturnType<typeof createAlarms>;
  readonly timeFactor: number;
  readonly tickMs: DurationMs;
  readonly heartbeat: Heartbeat | null;
  readonly onChange: () => void;
};

export function createProtection(deps: Deps): Protection {
  const { config, system, loop, alarms, timeFactor } = deps;
  const now = (): InstantMs => system.clock.now();
  const refresh = createForcedReadings(deps, ' for a guard', (readings) => takeReadings(readings));
  const { guards, leftOff, after, acclimating, hub } = createWatches(deps, refresh);
  const jump = createJumps(system.clock);
  const behind = createClockBehind(alarms);
  const silence = createSilence(config.alarms.hubSilentMs, timeFactor, alarms, now());
  const hands = createHands();

  const takeReadings = (readings: readonly Reading[]): void => {
    const at = now();
    for (const each of [guards, leftOff, after, acclimating]) each.step({ kind: 'readings', at, readings });
  };
  /** What a session has in its hands, or a guard holds off, is told there. */
  const tellBusy = (at: InstantMs): void => {
    const latched = guards.latchedEquipment();
    acclimating.step({ kind: 'held', at, held: hands.held(latched) });
    leftOff.step({ kind: 'busy', at, equipment: [...hands.busy(), ...latched, ...acclimating.lamps()] });
  };
  const tick = (): void => {
    const at = now();
    const byMs = jump();
    if (byMs !== 0) for (const each of [guards, leftOff, after, acclimating]) each.step({ kind: 'clock', at, byMs });
    silence.tick(at, byMs);
    guards.step({ kind: 'tick', at });
    tellBusy(at);
    acclimating.step({ kind: 'tick', at });
    after.step({ kind: 'tick', at });
  };
  const clocks = createClocks(system, loop);
  return {
    hub,
    acclimating,
    start: (latest) => {
      after.recover(latest);
      const held = latest === null ? [] : hands.session(latest);
      if (latest !== null) acclimating.offer(latest);
      tellBusy(now());
      guards.step({ kind: 'session', at: now(), equipment: held });
      clocks.every(deps.tickMs, 'protection', tick);
      // Through the loop, so that a service that no longer turns falls silent.
      if (deps.heartbeat !== null)
        clocks.every(deps.heartbeat.everyMs, 'heartbeat', beater(deps, deps.heartbeat, silence.isUp));
    },
    readings: takeReadings,
    link: (up, at) => {
      silence.link(up, at);
      for (const each of [guards, leftOff, acclimating]) each.step({ kind: 'hub', at: now(), up });
    },
    clock: behind.look,
    session: (state, at) => {
      if (state === null) return;
      guards.step({ kind: 'session', at, equipment: hands.session(state) });
      after.session(state, at);
      acclimating.offer(state);
      tellBusy(at);
    },
    leftOut: hands.leftOut,
    skewed: (skewMs) => acclimating.step({ kind: 'skew', at: now(), skewed: Math.abs(skewMs) > MAX_SKEW_MS }),
    answered: (question, choice, by) => {
      acclimating.answered(question, choice, by);
      const { kind, equipment } = question;
      if (kind !== 'left-off' || equipment === undefined) return;
      leftOff.step({ kind: 'answered', at: now(), equipment, meant: choice === 'yes' });
    },
    guards: guards.views,
    resetGuard: guards.reset,
    attention: (): readonly AttentionLine[] =>
      [silence, behind, guards, leftOff, after, acclimating].flatMap((each) => each.attention()),
    stop: () => {
      clocks.stop();
      guards.save();
      after.save();
    },
  };
}

/** Each that watches on its own, over the one store and the one clock. */
function createWatches(deps: Deps, refresh: (entities: readonly string[]) => void) {
  const { config, store, system, loop, alarms, timeFactor, onChange } = deps;
  const { tank, rules } = config;
  const shared = { store, system, alarms, onChange };
  const guards = createGuarding({
    ...shared,
    ctx: guardContext(tank, config.guards, rules, timeFactor),
    hub: deps.hub,
    loop,
    refresh,
  });
  const leftOff = createLeftOff({ ...shared, ctx: leftOffContext(tank, rules, timeFactor) });
  const after = createAfterWatching({ ...shared, ctx: afterWatchContext(tank, rules, timeFactor) });
  const hub = heldHub(deps.hub, guards.heldOff);
  const acclimating = createAcclimating({
    ...{ ...shared, hub, loop, refresh, tank },
    ctx: acclimationContext(tank, rules, timeFactor),
  });
  return { guards, leftOff, after, acclimating, hub };
}

function beater({ config, system }: Deps, heartbeat: Heartbeat, isUp: () => boolean): () => void {
  let wasHeard = true;
  return () => {
    const life = { tank: config.tank.name, at: system.clock.now(), hub: isUp() ? 'up' : 'down' };
    heartbeat.beat(life).then(
      ({ heard, detail }) => {
        if (heard !== wasHeard)
          system.log.warn(heard ? 'the sign of life is heard again' : `the sign of life is not heard: ${detail}`);
        wasHeard = heard;
      },
      (error: unknown) => system.log.warn(`the sign of life failed: ${String(error)}`),
    );
  };
}

const SILENT = 'hub_silent';

/** A hub that is gone shows nothing of itself: after a while that is an alarm on the other ways. */
function createSilence(
  afterMs: DurationMs,
  timeFactor: number,
  alarms: ReturnType<typeof createAlarms>,
  startedAt: InstantMs,
) {
  let since: InstantMs | null = startedAt;
  let isTold = false;
  let at = startedAt;
  const text = (): string => `The hub has not been reached for ${formatSpan((at - (since ?? at)) * timeFactor)}`;
  return {
    isUp: () => since === null,
    link: (up: boolean, when: InstantMs): void => {
      if (up) {
        since = null;
        if (isTold) alarms.over(SILENT);
        isTold = false;
      } else since ??= when;
    },
    tick: (now: InstantMs, jumpMs: DurationMs): void => {
      at = now;
      if (since !== null) since += jumpMs;
      if (since === null || isTold || (now - since) * timeFactor < afterMs) return;
      isTold = true;
      alarms.raise(SILENT, `${text()}: nothing is seen, no guard can act, and nothing is reported. Look at the tank.`);
    },
    attention: (): readonly AttentionLine[] =>
      since === null || !isTold
        ? []
        : [{ kind: 'hub-silent', id: SILENT, since, text: text(), toDo: 'Look at the hub, and at the tank.' }],
  };
}
