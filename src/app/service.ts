import type { Config } from '../config/index.ts';
import type { SlackwaterError } from '../errors/index.ts';
import type { EntityId } from '../model/index.ts';
import type { AlarmPath, Heartbeat, HubInfo, HubPort, StorePort, System } from '../ports/index.ts';
import { engineContext, offeredProcedures } from '../procedure/index.ts';
import { buttonDefs } from '../publish/index.ts';
import type { UsageSources } from '../record/index.ts';
import { type DurationMs, HOUR_MS, type InstantMs, SECOND_MS } from '../units/index.ts';
import { countedTo } from './clock-behind.ts';
import { createClocks } from './clocks.ts';
import { createCounting, historyStart } from './counting.ts';
import { createFace } from './face.ts';
import { createJudging } from './judging.ts';
import { linkHandlers } from './linking.ts';
import { createLoop, type Loop } from './loop.ts';
import { handlePress } from './presses.ts';
import { createPublishing } from './publishing.ts';
import { createReminding } from './reminding.ts';
import { noteSeen, seenBefore } from './seen.ts';
import { createSessions } from './sessions.ts';
import type { createStandings } from './standings.ts';
import type { AppEvent, AppFace } from './types.ts';
import { createTyping } from './typing.ts';
import type { viewOf } from './view.ts';
import { createWatchkeeping, readingsTo } from './watchkeeping.ts';

export type AppOptions = {
  readonly config: Config;
  readonly hub: HubPort;
  readonly store: StorePort;
  readonly system: System;
  readonly simulated: boolean;
  /** 1 in service. Tests on a real hub run waits, time-outs and freshness limits this many times faster. */
  readonly timeFactor?: number;
  /** How often an open session looks at its clocks and readings; a second in service, more on an accelerated clock. */
  readonly tickMs?: DurationMs;
  /** Text of the dashboard template. */
  readonly dashboard: string;
  /** Of the program, for `status`. */
  readonly version?: string;
  /** Where counters read something else than the configuration says. */
  readonly warnings?: readonly string[];
  /** Ways for alarms that do not pass through the hub, and a sign of life for something else to watch. */
  readonly alarmPaths?: readonly AlarmPath[];
  readonly heartbeat?: Heartbeat;
  /** A counter was given another source: it is read from the next start on. */
  readonly onSourcesChanged?: () => void;
};

export type App = AppFace & {
  /** Connects; resolves when the hub has been reached once. */
  start(): Promise<HubInfo>;
  /** Resolves when everything that has arrived is worked off, history included. */
  settled(): Promise<void>;
  /** How far history has been read, 0 to 1; null when nothing is being fetched. */
  progress(): number | null;
  /** Resolves when the past that conditions are learned from has been read. */
  conditionLearned(): Promise<void>;
  /** The store turned out to be damaged: nothing more is counted or switched, and people must learn of it. */
  storeDamaged(error: SlackwaterError): void;
  stop(): Promise<void>;
};

/** Standings change with time alone, too. */
const REVIEW_MS = 60 * SECOND_MS;

/** The pieces of a running service, wired once; `createApp` gives them their life. */
export function assemble(options: AppOptions) {
  const { config, hub, store, system } = options;
  const { tank, prefix } = config;
  const state = {
    link: 'connecting' as 'up' | 'down' | 'refused' | 'connecting',
    info: null as HubInfo | null,
    skewMs: null as DurationMs | null,
    bridgeableMs: null as DurationMs | null,
  };
  const listeners = new Set<(event: AppEvent) => void>();
  const emit = (event: AppEvent): void => {
    for (const listener of listeners) listener(event);
  };
  const loop: Loop = createLoop((name, error) => system.log.error(`${name}: ${String(error)}`));
  const ctx = engineContext(tank, config.rules, config.deputies, options.timeFactor ?? 1);
  const publishing = createPublishing({ hub, tank, prefix, system, isUp: () => state.link === 'up' });
  const reminding = createReminding({ hub, store, system, loop, notifyServices: tank.notifyServices });
  const watchkeeping = createWatchkeeping(options, { loop, emit, show: () => review.show() });
  const { alarms, protection } = watchkeeping;
  const judging = createJudging(options, { loop, watchkeeping, onChange: () => review.soon() });
  const { standings, condition } = judging;
  const counting = createCounting({
    ...{ defs: tank.counters, hub, store, system, loop },
    historyFrom: historyStart(
      tank.parts.map((part) => part.fittedAt),
      system.clock.now(),
    ),
    ...seenBefore(store),
    onCounted: () => review.soon(),
    onCaughtUp: () => {
      // At once, not only by the minute: what a restart of the hub hid is told by it, also in a service killed young.
      noteSeen(store, system.clock.now(), true);
      void hub.leaveMark();
      standings.historyRead();
      lookAtClock();
      review.anew();
      condition.caughtUp();
    },
  });
  const sources = (now: InstantMs = system.clock.now()): UsageSources => counting.sources(now);
  const typing = createTyping({ hub, system });
  const sessions = createSessions({
    ...{ config, hub: protection.hub, store, system, loop, ctx },
    onAlarm: alarms.raise,
    onChange: (view, at) => {
      emit({ kind: 'session', at, view });
      typing.asked(sessions.runner.state()?.prompt?.nonce ?? null);
      watchkeeping.sessionChanged(sessions.runner.state(), at);
    },
    onLeft: protection.leftOut,
    show: () => review.show(),
  });
  const { session } = sessions;
  const buttons = buttonDefs(tank, offeredProcedures(tank, config.rules), prefix);
  const entities = { buttons: new Map() as ReadonlyMap<string, EntityId> };
  const review = createReview({
    ...{ system, standings, sources, publishing, reminding, emit, session, state, loop },
    attention: protection.attention,
  });
  const lookAtClock = (): void => {
    if (state.link === 'up' && counting.isLive())
      protection.clock(countedTo(sources()), system.clock.now() + (state.skewMs ?? 0));
  };
  return {
    ...options,
    ...{ ctx, typing, lookAtClock },
    loop,
    state,
    listeners,
    ...sessions,
    ...watchkeeping,
    counting,
    ...judging,
    publishing,
    reminding,
    review,
    sources,
    buttons,
    entities,
  };
}

export type Assembled = ReturnType<typeof assemble>;

/** Looks at where every part stands, tells what changed, and shows it. */
function createReview(deps: {
  readonly system: System;
  readonly standings: ReturnType<typeof createStandings>;
  readonly sources: () => UsageSources;
  readonly publishing: ReturnType<typeof createPublishing>;
  readonly reminding: ReturnType<typeof createReminding>;
  readonly emit: (event: AppEvent) => void;
  readonly session: () => ReturnType<typeof viewOf> | null;
  readonly state: { readonly link: string };
  readonly loop: Loop;
  readonly attention: () => ReturnType<ReturnType<typeof createWatchkeeping>['protection']['attention']>;
}) {
  const { system, standings, sources, publishing, reminding, emit, session } = deps;
  const words = new Map<string, string>();
  let isDue = false;
  let caughtUp = false;

  const shown = () => {
    const now = system.clock.now();
    const from = sources();
    const attention = deps.attention();
    return {
      standings: standings.evaluate(now, from),
      usages: standings.usage(now, from),
      session: session(),
      attention,
    };
  };
  const show = (): void => publishing.show(shown);
  const now = (): void => {
    isDue = false;
    // Before history has been read every figure is too low, and a reminder raised or taken back would be wrong.
    if (!caughtUp) return;
    const at = system.clock.now();
    const current = standings.evaluate(at, sources());
    for (const standing of current) {
      const before = words.get(standing.part) ?? null;
      if (before === standing.word) continue;
      words.set(standing.part, standing.word);
      emit({ kind: 'standing', at, standing, before: before as typeof standing.word | null });
    }
    if (deps.state.link === 'up') reminding.update(current, standings.lives());
    show();
  };
  return {
    show,
    stop: () => publishing.stop(shown),
    now,
    soon: (): void => {
      if (isDue) return;
      isDue = true;
      deps.loop.enqueue('review', now);
    },
    anew: (): void => {
      caughtUp = true;
      standings.refresh(system.clock.now(), sources());
      now();
    },
  };
}

/** Reports are not kept waiting by it, so that what is over is packed at rest. */
const TIDY_PIECES = 40;

function* tidied(store: StorePort, log: System['log']): Iterable<void> {
  try {
    for (let piece = 0; piece < TIDY_PIECES; piece++) yield store.tidy();
  } catch (error) {
    // What went wrong with the store is told by the store.
    log.warn(`what is over could not be packed: ${String(error)}`);
  }
}

export function createApp(options: AppOptions): App {
  const app = assemble(options);
  const { hub, store, system, loop, state, runner, counting, review } = app;
  const clocks = createClocks(system, loop);
  const { every } = clocks;
  const link = linkHandlers(app);
  const start = async (): Promise<HubInfo> => {
    app.recover();
    // Before the hub is reached: clocks and alarms do not wait for it.
    app.protection.start(runner.state());
    every(options.tickMs ?? SECOND_MS / (options.timeFactor ?? 1), 'session clock', () => runner.tick());
    const info = await hub.start({
      onObservations: (batch) => loop.enqueue('observations', () => counting.take(batch)),
      onReadings: readingsTo(loop, [app.protection.readings, app.takeReadings, app.condition.readings]),
      onPress: (press) => loop.enqueue('press', () => handlePress(app, press)),
      onChange: () => {},
      onLink: (now) => loop.enqueue('link', () => (now.up ? link.up(now) : link.down(now.at, now.reason))),
      // The edge has put it in the log.
      onRefused: () => {
        state.link = 'refused';
      },
      onSkew: (skewMs) => loop.enqueue('clock skew', () => link.skewed(skewMs)),
    });
    state.info = info;
    link.skewed(info.clockSkewMs);
    app.entities.buttons = await hub.ensureButtons(app.buttons);
    every(REVIEW_MS, 'review', () => app.look(review.now));
    every(HOUR_MS / 60, 'last seen', () => {
      if (state.link === 'up') noteSeen(store, system.clock.now(), counting.isLive());
      counting.checkClock();
      app.lookAtClock();
      void loop.aside('tidy', tidied(store, system.log));
    });
    return info;
  };
  return {
    ...createFace(app),
    start,
    settled: async () => {
      await counting.whenLive();
      await loop.idle();
      await app.publishing.idle();
    },
    progress: counting.progress,
    conditionLearned: app.condition.settled,
    storeDamaged: (error) => app.alarms.raise('store-damaged', `${error.message} ${error.whatToDo}`),
    stop: async () => {
      clocks.stop();
      const wasLive = counting.isLive();
      counting.stop();
      app.stopWatch();
      if (state.link === 'up') noteSeen(store, system.clock.now(), wasLive);
      await loop.idle();
      loop.stop();
      await review.stop();
      await hub.stop();
      store.close();
    },
  };
}
