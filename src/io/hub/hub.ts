import { problem } from '../../errors/index.ts';
import type { EntityId } from '../../model/index.ts';
import type { HourStatistic, Observation, Reading } from '../../observe/index.ts';
import type {
  ButtonDef,
  HistoryRequest,
  HubHandlers,
  HubInfo,
  HubPort,
  HubReach,
  PublishedState,
} from '../../ports/index.ts';
import type { DurationMs, InstantMs } from '../../units/index.ts';
import { ButtonFeed, emptyText, makeButtons } from './buttons.ts';
import { type ClimbDeps, Overtaken, settle, takeSnapshot, waitUntilRunning } from './climb.ts';
import { saveDashboard } from './dashboard.ts';
import { asFailure } from './deadline.ts';
import { Feed } from './feed.ts';
import { createGate, type Gate } from './gate.ts';
import { guardLibrary } from './guard.ts';
import { shieldHandlers } from './handlers.ts';
import { type HistoryDeps, type OnProgress, readHistory } from './history.ts';
import { Link } from './link.ts';
import { createLook, type Look } from './look.ts';
import { reportMissing } from './missing.ts';
import { Names } from './names.ts';
import { createNotifier, type Notifier, takeAnswer } from './notify.ts';
import { fillOptions, type HubOptions, type HubSetup } from './options.ts';
import { createPauses, type Pauses } from './pauses.ts';
import { readPeople } from './people.ts';
import { Publisher } from './publisher.ts';
import { refreshReadings } from './refresh.ts';
import { followRenames, learnNames } from './renames.ts';
import { createRest } from './rest.ts';
import { tellRestart } from './restarted.ts';
import type { SocketTrouble } from './socket.ts';
import { readReach, readStatistics } from './statistics.ts';
import { callProblem, refusedProblem } from './trouble.ts';

/** The port, and what only an edge on a real link can tell. */
export type Hub = Omit<HubPort, 'history' | 'statistics' | 'reach'> & {
  history(request: HistoryRequest, onProgress?: OnProgress): AsyncIterable<readonly Observation[]>;
  statistics(request: HistoryRequest, onProgress?: OnProgress): AsyncIterable<readonly HourStatistic[]>;
  reach(entities: readonly EntityId[]): Promise<HubReach>;
  /** As of the last `up`; null before the first. */
  info(): HubInfo | null;
  /** The hub's name of the person behind a press; null = unknown. */
  personName(userId: string): string | null;
  /** Names by the hub's user id. */
  people(): ReadonlyMap<string, string>;
};

export function createHub(options: HubOptions): Hub {
  return new HubEdge(fillOptions(options));
}

type Phase = 'idle' | 'down' | 'up' | 'ended';

class HubEdge implements Hub {
  readonly #setup: HubSetup;
  readonly #pauses: Pauses;
  readonly #link: Link;
  readonly #names: Names;
  readonly #feed: Feed;
  readonly #look: Look;
  readonly #gate: Gate;
  readonly #publisher: Publisher;
  readonly #notifier: Notifier;
  readonly #buttonFeed: ButtonFeed;
  readonly #climb: ClimbDeps;
  readonly #first = Promise.withResolvers<HubInfo>();
  #handlers: HubHandlers | null = null;
  #phase: Phase = 'idle';
  #info: HubInfo | null = null;
  #people: ReadonlyMap<string, string> = new Map();
  #buttons: readonly ButtonDef[] = [];
  #buttonEntities: ReadonlyMap<string, EntityId> = new Map();
  /** By the hub's clock. */
  #lastSeenAt: InstantMs | null;
  #hadMarker: boolean;
  #wasUp = false;
  #skewMs = 0;
  #unguard: () => void = () => undefined;

  constructor(setup: HubSetup) {
    this.#setup = setup;
    const { clock, log } = setup.system;
    this.#pauses = createPauses(setup.linkTimers);
    this.#link = new Link(setup, this.#pauses, {
      onReady: () => void this.#onReady(this.#link.generation),
      onLost: (reason) => this.#onLost(reason),
      onRefused: (trouble) => this.#onRefused(trouble),
      onUnreachable: (detail) => log.warn(problem('SW-HUB-001', { url: setup.url, detail }).message),
    });
    const rest = createRest(
      setup,
      () => this.#link.connected,
      () => this.#link.drop('the hub refused the token'),
    );
    const { entities } = setup;
    this.#names = new Names(this.#ours(), setup.sources, log);
    this.#feed = new Feed(
      { entities, names: this.#names, clocks: { now: () => clock.now(), hubNow: () => this.#hubNow() } },
      (unmatched) => this.#link.drop(`the states of ${unmatched.join(', ')} got out of step`),
      (fn) => this.#pauses.after(setup.goneMs, 'hub: gone or renamed', fn),
    );
    this.#look = createLook(rest, clock, `sensor.${setup.prefix}_clock`);
    const isUp = (): boolean => this.#phase === 'up' && this.#link.connected;
    this.#gate = createGate({ link: this.#link, entities, names: this.#names }, isUp, () => this.#feed.states);
    this.#publisher = new Publisher(rest, log, isUp, () => this.#flushLater());
    this.#notifier = createNotifier(this.#link, setup);
    this.#buttonFeed = new ButtonFeed(
      (press) => this.#handlers?.onPress(press),
      () => clock.now(),
      log,
    );
    this.#climb = { link: this.#link, setup, pauses: this.#pauses, feed: this.#feed, names: this.#names };
    this.#lastSeenAt = setup.lastSeenAt;
    this.#hadMarker = setup.hadMark;
  }

  start(handlers: HubHandlers): Promise<HubInfo> {
    const { log } = this.#setup.system;
    this.#handlers = shieldHandlers(handlers, log);
    this.#unguard = guardLibrary((text) => log.warn(`hub: the client library dropped a failure: ${text}`));
    this.#phase = 'down';
    void this.#link.open();
    return this.#first.promise;
  }

  async stop(): Promise<void> {
    this.#end();
    this.#first.promise.catch(() => undefined);
    this.#first.reject(problem('SW-HUB-010', { what: 'starting' }));
  }

  history(request: HistoryRequest, onProgress?: OnProgress): AsyncIterable<readonly Observation[]> {
    return readHistory(this.#past(), request, onProgress);
  }

  statistics(request: HistoryRequest, onProgress?: OnProgress): AsyncIterable<readonly HourStatistic[]> {
    return readStatistics(this.#past(), request, onProgress);
  }

  reach(entities: readonly EntityId[]): Promise<HubReach> {
    return this.#say('reading how far its history goes', () => readReach(this.#past(), entities));
  }

  async present(): Promise<{ readonly hubNow: InstantMs; readonly observations: readonly Observation[] } | null> {
    const skewMs = await this.#look.skew();
    if (skewMs === null || this.#phase !== 'up') return null;
    this.#takeSkew(skewMs);
    return { hubNow: this.#hubNow(), observations: this.#feed.present() };
  }

  async refresh(entities: readonly EntityId[]): Promise<readonly Reading[]> {
    const ours = new Set(this.#ours());
    const wanted = entities.filter((entity) => ours.has(entity));
    return refreshReadings({ link: this.#link, look: this.#look, feed: this.#feed, names: this.#names }, wanted);
  }

  command: HubPort['command'] = (command) => this.#gate.command(command);

  driver: HubPort['driver'] = (entity, turn) => this.#gate.driver(entity, turn);

  publish(states: readonly PublishedState[]): Promise<boolean> {
    return this.#publisher.publish(states);
  }

  async ensureButtons(buttons: readonly ButtonDef[]): Promise<ReadonlyMap<string, EntityId>> {
    this.#buttons = buttons;
    return this.#say('keeping the buttons', () => this.#followButtons());
  }

  async emptyField(field: string): Promise<void> {
    const entity = this.#buttonEntities.get(field);
    if (entity !== undefined) await this.#say('emptying a field', () => emptyText(this.#link, entity));
  }

  notify: HubPort['notify'] = (reminder, services) =>
    this.#say('a notification', () => this.#notifier.notify(reminder, services));

  tell: HubPort['tell'] = (message, services) => this.#say('a message', () => this.#notifier.tell(message, services));

  clearNotification: HubPort['clearNotification'] = (key, services) =>
    this.#say('clearing a notification', () => this.#notifier.clearNotification(key, services));

  installDashboard(urlPath: string, title: string, config: unknown): Promise<void> {
    return this.#say('saving the dashboard', () => saveDashboard(this.#link, urlPath, title, config));
  }

  info = (): HubInfo | null => this.#info;

  personName(userId: string): string | null {
    return this.#people.get(userId) ?? null;
  }

  people(): ReadonlyMap<string, string> {
    return this.#people;
  }

  #ours(): readonly EntityId[] {
    const { observe, readings, commandable, drivers } = this.#setup.entities;
    return [...new Set([...observe, ...readings, ...commandable, ...drivers])];
  }

  #past(): HistoryDeps {
    return {
      link: this.#link,
      setup: this.#setup,
      system: this.#setup.system,
      pauses: this.#pauses,
      states: () => this.#feed.states,
      hubNow: () => this.#hubNow(),
      names: this.#names,
    };
  }

  /** In whole milliseconds, as every moment of an observation is; the skew itself is finer. */
  #hubNow(): InstantMs {
    return Math.floor(this.#setup.system.clock.now() + this.#skewMs);
  }

  async #say<T>(what: string, work: () => Promise<T>): Promise<T> {
    try {
      return await work();
    } catch (error) {
      throw callProblem(error, this.#setup, what);
    }
  }

  async #followButtons(): Promise<ReadonlyMap<string, EntityId>> {
    const entities = await makeButtons(this.#link, this.#setup.prefix, this.#buttons);
    this.#buttonEntities = entities;
    await this.#buttonFeed.follow(this.#link, entities);
    return entities;
  }

  #flushLater(): void {
    this.#pauses.after(this.#setup.retryMaxMs, 'hub: publish again', () => void this.#publisher.flush());
  }

  /** Climbs from a bare connection to `up`, again and again while this connection lasts. */
  async #onReady(generation: number): Promise<void> {
    const isCurrent = (): boolean => this.#phase === 'down' && this.#link.generation === generation;
    const { retryMs, retryMaxMs, system } = this.#setup;
    for (let waitMs = retryMs; isCurrent(); waitMs = Math.min(waitMs * 2, retryMaxMs)) {
      try {
        await this.#climbUp(isCurrent);
        return;
      } catch (error) {
        if (error instanceof Overtaken || !isCurrent()) return;
        const text = error instanceof Error ? error.message : String(error);
        if (waitMs === retryMs) system.log.warn(`hub: connected, but not ready yet: ${text}`);
        await this.#pauses.wait(waitMs, 'hub: climb again');
      }
    }
  }

  async #climbUp(isCurrent: () => boolean): Promise<void> {
    const { config, sawStarting } = await waitUntilRunning(this.#climb, isCurrent);
    this.#skewMs = (await this.#look.skew()) ?? this.#skewMs;
    await learnNames(this.#link, this.#names);
    const snapshot = await takeSnapshot(this.#climb);
    const told = tellRestart({
      snapshot,
      marker: this.#setup.marker,
      markerPosted: this.#hadMarker,
      lastSeenAt: this.#lastSeenAt,
    });
    await settle(this.#climb, sawStarting, this.#hubNow(), isCurrent);
    this.#people = await readPeople(this.#link);
    await this.#follow();
    if (!isCurrent()) throw new Overtaken();
    this.#info = { version: config.version, timeZone: config.time_zone, clockSkewMs: this.#skewMs };
    this.#goUp(told);
  }

  /** Subscriptions that a user without all rights may be refused: the rest works without them. */
  async #follow(): Promise<void> {
    const { log, clock } = this.#setup.system;
    const optional = async (what: string, work: () => Promise<unknown>): Promise<void> => {
      try {
        await work();
      } catch (error) {
        if (asFailure(error).kind !== 'refused') throw error;
        log.warn(callProblem(error, this.#setup, what).message);
      }
    };
    await optional('answers to notifications', () =>
      this.#link.subscribe(
        { type: 'subscribe_events', event_type: 'mobile_app_notification_action' } as never,
        (event) => {
          const press = takeAnswer(event, clock.now());
          if (press !== null && this.#phase === 'up') this.#handlers?.onPress(press);
        },
      ),
    );
    await optional('following renames', () => this.#followRenames());
    if (this.#buttons.length > 0) await optional('keeping the buttons', () => this.#followButtons());
  }

  #followRenames(): Promise<void> {
    const { log } = this.#setup.system;
    const onTrouble = (error: unknown): void =>
      log.warn(`hub: a rename could not be followed: ${asFailure(error).message}`);
    return followRenames({
      link: this.#link,
      names: this.#names,
      feed: this.#feed,
      entities: this.#ours(),
      hubNow: () => this.#hubNow(),
      onButton: () => {
        if (this.#buttons.length > 0) this.#followButtons().catch(onTrouble);
      },
      onTrouble,
    });
  }

  /** Clocks drift, and either may be set while the link stands. */
  #measureSkewLater(generation: number): void {
    const isCurrent = (): boolean => this.#phase === 'up' && this.#link.generation === generation;
    const { skewEveryMs } = this.#setup;
    this.#pauses.after(skewEveryMs, 'hub: compare the clocks', async () => {
      const skewMs = isCurrent() ? await this.#look.skew().catch(() => null) : null;
      if (!isCurrent()) return;
      if (skewMs !== null) this.#takeSkew(skewMs);
      this.#measureSkewLater(generation);
    });
  }

  #takeSkew(skewMs: DurationMs): void {
    this.#skewMs = skewMs;
    if (this.#info !== null) this.#info = { ...this.#info, clockSkewMs: skewMs };
    this.#handlers?.onSkew?.(skewMs);
  }

  #goUp(told: { readonly hubRestarted: boolean; readonly restartedAt: InstantMs | null }): void {
    const { log, clock } = this.#setup.system;
    const handlers = this.#handlers;
    if (handlers === null) return;
    this.#phase = 'up';
    log.info(
      `hub: ${this.#wasUp ? 'connected again' : 'connected'}${told.hubRestarted ? '; it restarted meanwhile' : ''}`,
    );
    if (!this.#wasUp) {
      void reportMissing(this.#link, this.#setup.entities, this.#feed.states, log);
      this.#names.tellUnfollowed(this.#feed.states);
    }
    this.#wasUp = true;
    if (told.hubRestarted) this.#publisher.forgetPosted(this.#setup.marker);
    this.#takeSkew(this.#skewMs);
    handlers.onLink({ up: true, at: clock.now(), ...told });
    this.#feed.goLive(handlers);
    this.#measureSkewLater(this.#link.generation);
    if (this.#info !== null) this.#first.resolve(this.#info);
    void this.#publisher.flush();
  }

  /** As long as our sign is in the hub's memory, the hub has not restarted. */
  async leaveMark(): Promise<void> {
    const { marker } = this.#setup;
    if (this.#phase !== 'up') return;
    if (!this.#feed.states.has(marker))
      await this.#publisher.publish([
        { entity: marker, state: 'running', attributes: { friendly_name: 'Slackwater' } },
      ]);
    this.#hadMarker = this.#publisher.hasPosted(marker) || this.#feed.states.has(marker);
  }

  #onLost(reason: string): void {
    this.#feed.stop();
    this.#buttonFeed.stop();
    if (this.#phase !== 'up') return;
    this.#phase = 'down';
    const at = this.#link.heardAt;
    this.#lastSeenAt = at + this.#skewMs;
    this.#setup.system.log.warn(`hub: ${reason}; trying again until it is back`);
    this.#handlers?.onLink({ up: false, at, reason });
  }

  #onRefused(trouble: SocketTrouble): void {
    const refused = refusedProblem(trouble, this.#setup);
    this.#end();
    this.#setup.system.log.error(`${refused.code} ${refused.message} ${refused.whatToDo}`);
    this.#handlers?.onRefused(refused.message);
    this.#first.promise.catch(() => undefined);
    this.#first.reject(refused);
  }

  #end(): void {
    this.#phase = 'ended';
    this.#pauses.cutShort();
    this.#feed.stop();
    this.#buttonFeed.stop();
    this.#link.close();
    this.#unguard();
  }
}
