import { problem } from '../../errors/index.ts';
import type { CompressedEvent, EntityMap } from '../../observe/index.ts';
import type { DurationMs, InstantMs } from '../../units/index.ts';
import { MINUTE_MS } from '../../units/index.ts';
import { seconds, withDeadline } from './deadline.ts';
import type { Feed } from './feed.ts';
import type { Link } from './link.ts';
import type { Names } from './names.ts';
import type { HubSetup } from './options.ts';
import type { Pauses } from './pauses.ts';
import { earliestUpdate } from './restarted.ts';

export type HubConfig = { readonly state: string; readonly version: string; readonly time_zone: string };

export type ClimbDeps = {
  readonly link: Link;
  readonly setup: HubSetup;
  readonly pauses: Pauses;
  readonly feed: Feed;
  readonly names: Names;
};

/** The connection this work was begun for is gone, or the edge was stopped. */
export class Overtaken extends Error {
  override readonly name = 'Overtaken';
}

/** With something unchanged for this long, the hub's start-up is over. */
const OLD_RUN_MS = 2 * MINUTE_MS;
const STARTING_TOLD_AFTER_MS = 30_000;

/** Asks until the hub says RUNNING: before that, entities come and go and mean nothing. */
export async function waitUntilRunning(
  { link, setup, pauses }: ClimbDeps,
  isCurrent: () => boolean,
): Promise<{ readonly config: HubConfig; readonly sawStarting: boolean }> {
  const {
    linkClock,
    system: { log },
  } = setup;
  const began = linkClock.monotonicMs();
  let told = false;
  for (let sawStarting = false; ; sawStarting = true) {
    if (!isCurrent()) throw new Overtaken();
    const config = await link.call<HubConfig>({ type: 'get_config' });
    if (config.state === 'RUNNING') return { config, sawStarting };
    const waitedMs = linkClock.monotonicMs() - began;
    if (!told && waitedMs > STARTING_TOLD_AFTER_MS) {
      told = true;
      log.warn(problem('SW-HUB-004', { url: setup.url, waited: seconds(waitedMs), state: config.state }).message);
    }
    await pauses.wait(setup.retryMs, 'hub: wait until it runs');
  }
}

/** Subscribes to our entities only, and waits for the first snapshot. */
export async function takeSnapshot({ link, setup, feed, names }: ClimbDeps): Promise<EntityMap> {
  const { observe, readings, commandable, drivers } = setup.entities;
  const ours = [...observe, ...readings, ...commandable, ...drivers, setup.marker];
  const entities = [...new Set(ours.map((entity) => names.toHub(entity)))];
  const { take, snapshot } = feed.begin();
  const end = await link.subscribe<CompressedEvent>(
    { type: 'subscribe_entities', entity_ids: entities } as never,
    take,
  );
  try {
    return await withDeadline(setup.linkTimers, setup.deadlineMs, 'the first snapshot', snapshot);
  } catch (error) {
    end();
    throw error;
  }
}

/** Lets a hub that has only just started come to rest. One that has stood for a while needs no waiting. */
export async function settle(
  deps: ClimbDeps,
  sawStarting: boolean,
  hubNow: InstantMs,
  isCurrent: () => boolean,
): Promise<void> {
  const earliest = earliestUpdate(deps.feed.states);
  const isFresh = sawStarting || earliest === null || hubNow - earliest < OLD_RUN_MS;
  const waitMs: DurationMs = isFresh ? deps.setup.settleMs : 0;
  if (waitMs > 0) await deps.pauses.wait(waitMs, 'hub: let it settle');
  if (!isCurrent()) throw new Overtaken();
}
