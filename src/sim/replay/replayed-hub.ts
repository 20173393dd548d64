// The recorded past lived through again: a hub port without sockets over the recorded rows, as fast as time is moved on.
import { mergeByTime } from '../../observe/index.ts';
import type { HubHandlers, HubInfo, HubPort } from '../../ports/index.ts';
import type { InstantMs } from '../../units/index.ts';
import { type HubRecord, openRecord, pastPort, type ReplayOptions } from './record.ts';
import { READY_AFTER_MS } from './rows.ts';

export type ReplayedHub = HubPort & {
  /** Tells what happened since the last time, up to the clock's present. Move the clock over no two boundaries at once. */
  catchUp(): void;
  /** The next moment after `at` when the hub goes down or is ready again. */
  nextBoundary(at: InstantMs): InstantMs;
};

export function replayedHub(options: ReplayOptions): ReplayedHub {
  const record = openRecord(options);
  const session = createSession(record);
  const info: HubInfo = { version: '2025.4.4', timeZone: options.timeZone, clockSkewMs: 0 };
  const boundaries = options.downs.flatMap(({ from, to }) => [from, to + READY_AFTER_MS]);
  return {
    ...unused,
    ...pastPort(record),
    catchUp: session.catchUp,
    nextBoundary: (at) => boundaries.find((boundary) => boundary > at) ?? Number.POSITIVE_INFINITY,
    start: async (handlers) => {
      session.start(handlers);
      return info;
    },
    stop: async () => session.stop(),
  };
}

/** One client of the hub: connected or not, and up to where it has been told. */
function createSession(record: HubRecord) {
  const { clock, downs, entities } = record;
  let handlers: HubHandlers | null = null;
  let isUp = false;
  let toldTo = 0;
  /** The hub was last heard then, in this session or an earlier one. */
  let heardAt: InstantMs | null = null;

  const goUp = (at: InstantMs): void => {
    const since = heardAt;
    const restarts = since === null ? [] : downs.filter(({ from, to }) => to <= at && from >= since);
    const restartedAt = restarts.at(-1)?.to ?? null;
    isUp = true;
    toldTo = at;
    heardAt = at;
    handlers?.onLink({ up: true, at, hubRestarted: restartedAt !== null, restartedAt });
    handlers?.onObservations(
      entities.flatMap((entity) => {
        const rows = record.rowsOf(entity);
        const index = rows === undefined ? -1 : rows.firstAfter(at) - 1;
        const row = rows !== undefined && index >= 0 ? rows.row(index) : null;
        return row === null ? [] : [record.observation(entity, row.updatedAt, row.state, 'live')];
      }),
    );
  };
  const tell = (to: InstantMs): void => {
    const batch = mergeByTime(entities.map((entity) => record.between(entity, toldTo, to, 'live')));
    toldTo = to;
    heardAt = to;
    if (batch.length > 0) handlers?.onObservations(batch);
  };
  const catchUp = (): void => {
    if (handlers === null) return;
    const now = clock.now();
    const down = downs.find(({ from }) => from > toldTo && from <= now);
    if (isUp && down !== undefined) {
      tell(down.from - 1);
      isUp = false;
      handlers.onLink({ up: false, at: down.from, reason: 'the hub ended' });
    }
    if (isUp) tell(now);
    else if (!record.isDown(now)) goUp(now);
  };
  return {
    catchUp,
    start: (given: HubHandlers): void => {
      handlers = given;
      catchUp();
    },
    stop: (): void => {
      catchUp();
      handlers = null;
      isUp = false;
    },
  };
}

const refused = {
  outcome: 'refused',
  detail: 'nothing can be switched in a past that is lived through again',
} as const;

/** Whatever a past cannot do. */
const unused: Omit<HubPort, 'start' | 'stop' | 'history' | 'statistics' | 'reach'> = {
  refresh: async () => [],
  command: async () => refused,
  driver: async () => refused,
  leaveMark: async () => {},
  publish: async () => true,
  ensureButtons: async () => new Map(),
  notify: async () => ({ existing: false, missingServices: [] }),
  tell: async () => {},
  clearNotification: async () => {},
  installDashboard: async () => {},
};
