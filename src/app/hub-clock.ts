import type { Observation } from '../observe/index.ts';
import type { Clock, HubPort, System } from '../ports/index.ts';
import { type DurationMs, formatSpan, type InstantMs, MINUTE_MS, SECOND_MS } from '../units/index.ts';
import { runningMs } from './wall-clock.ts';

/** What delays and drifting clocks never make; a clock that is further off was set. */
export const ASTRAY_MS = 2 * MINUTE_MS;

/** So long before it was noticed that the hub's clock was set nothing is taken for certain: what came since is dated anew. */
const UNSURE_MS = 10 * SECOND_MS;

type HubClock = {
  /** The hub's clock reads this now. */
  set(hubNow: InstantMs): void;
  /** What it must read now if nobody has set it; null before it was first read. */
  expected(): InstantMs | null;
  /** Whether a moment it gives as the present can be: true where nothing speaks against it. */
  agrees(hubNow: InstantMs): boolean;
};

/** Follows the hub's clock by a clock of ours that nobody can set, so that a jump of it is told from time that has passed. */
function createHubClock(clock: Clock): HubClock {
  let anchor: { readonly hubAt: InstantMs; readonly runMs: number } | null = null;
  const expected = (): InstantMs | null => (anchor === null ? null : anchor.hubAt + runningMs(clock) - anchor.runMs);
  return {
    set: (hubNow) => {
      anchor = { hubAt: hubNow, runMs: runningMs(clock) };
    },
    expected,
    agrees: (hubNow) => {
      const known = expected();
      return known === null || Math.abs(hubNow - known) <= ASTRAY_MS;
    },
  };
}

/** The hub's clock was set: when, by the time as it was, and what it reads and shows now. */
export type ClockSet = {
  /** Until then, by the time before it was set, everything held as it was last seen. */
  readonly until: InstantMs;
  readonly expected: InstantMs;
  readonly hubNow: InstantMs;
  readonly present: readonly Observation[];
};

export type ClockWatch = {
  /** The hub is there anew: whatever its clock reads now is what it goes by. */
  begin(): void;
  skew(ms: DurationMs): void;
  /** Whether the two clocks still go together as they did. */
  isRight(): boolean;
  /** Whether each of these can have happened just now. */
  fits(batch: readonly Observation[]): boolean;
  /** Without those that the hub dates ahead of its own time: they would stop the count until then. */
  withoutFuture(batch: readonly Observation[]): readonly Observation[];
  /** Asks the hub for its time; null: it is right, or nobody can tell. */
  ask(): Promise<ClockSet | null>;
};

export function createClockWatch({ hub, system }: { readonly hub: HubPort; readonly system: System }): ClockWatch {
  const clock = createHubClock(system.clock);
  let skewMs: DurationMs = 0;
  const hubNow = (): InstantMs => Math.floor(system.clock.now() + skewMs);
  return {
    begin: () => clock.set(hubNow()),
    skew: (ms) => {
      skewMs = ms;
    },
    isRight: () => hub.present === undefined || clock.agrees(hubNow()),
    fits: (batch) => hub.present === undefined || batch.every(({ at }) => clock.agrees(at)),
    withoutFuture: (batch) => {
      const known = clock.expected();
      return known === null ? batch : batch.filter(({ at }) => at <= known + ASTRAY_MS);
    },
    ask: async () => {
      const seen = await hub.present?.().catch(() => null);
      const expected = clock.expected();
      if (seen === null || seen === undefined || expected === null) return null;
      const isSet = !clock.agrees(seen.hubNow);
      clock.set(seen.hubNow);
      if (!isSet) return null;
      system.log.warn(
        `the hub's clock was set ${seen.hubNow > expected ? 'ahead' : 'back'} by ${formatSpan(Math.abs(seen.hubNow - expected))}; the count goes on from there, and what was skipped or comes again counts for nothing`,
      );
      return { until: expected - UNSURE_MS, expected, hubNow: seen.hubNow, present: seen.observations };
    },
  };
}
