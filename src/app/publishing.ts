import type { Tank } from '../model/index.ts';
import type { HubPort, PublishedState, System } from '../ports/index.ts';
import type { Shown as ShownStep } from '../procedure/index.ts';
import { entityNames, publishedStates } from '../publish/index.ts';
import type { Standing } from '../remind/index.ts';
import type { AttentionLine } from './protection-types.ts';
import type { PartUsage, SessionView } from './types.ts';

export type Shown = {
  readonly standings: readonly Standing[];
  readonly usages: readonly PartUsage[];
  readonly session: SessionView | null;
  readonly attention: readonly AttentionLine[];
};

export type Publishing = {
  /** Posts what changed. Calls while a post is under way are folded into one that follows it. */
  show(build: () => Shown): void;
  /** What the hub was showing, newest last: a press of a helper button is bound to it. */
  shown(): readonly ShownStep[];
  idle(): Promise<void>;
  /** On the way out: says that nobody keeps this up any more. What it showed stays in the hub as it was. */
  stop(build: () => Shown): Promise<void>;
};

/** Presses are bound to one of the last few steps; older ones are over. */
const KEPT_STEPS = 8;

export function createPublishing(deps: {
  readonly hub: HubPort;
  readonly tank: Tank;
  readonly prefix: string;
  readonly system: System;
  readonly isUp: () => boolean;
}): Publishing {
  const { hub, tank, prefix, system, isUp } = deps;
  let running = false;
  let next: (() => Shown) | null = null;
  let shown: ShownStep[] = [];
  let waiting: (() => void)[] = [];

  const remember = (session: SessionView | null): void => {
    const prompt = session?.prompt ?? null;
    const last = shown.at(-1);
    const nonce = prompt?.nonce ?? null;
    if (last?.nonce === nonce) return;
    const publishedAt = system.clock.now();
    shown = [...shown, { session: session?.id ?? '', step: prompt?.step ?? null, nonce, publishedAt }].slice(
      -KEPT_STEPS,
    );
  };
  const pump = async (): Promise<void> => {
    running = true;
    while (next !== null && isUp()) {
      const build = next;
      next = null;
      const { standings, usages, session, attention } = build();
      try {
        const all = publishedStates({ tank, standings, usages, session, attention, prefix, now: system.clock.now() });
        const { session: main, inProgress, asking, valueAwaited } = entityNames(prefix);
        const own: readonly string[] = [main, inProgress, asking, valueAwaited];
        const isSession = ({ entity }: PublishedState): boolean => own.includes(entity);
        // The session goes first and by itself: a press is bound to what the hub showed, so that moment must be exact.
        if (await hub.publish(all.filter(isSession))) remember(session);
        await hub.publish(all.filter((one) => !isSession(one)));
      } catch (error) {
        system.log.warn(`states could not be posted: ${String(error)}`);
        break;
      }
    }
    running = false;
    const done = waiting;
    waiting = [];
    for (const resolve of done) resolve();
  };
  const idle = (): Promise<void> =>
    running ? new Promise((resolve) => waiting.push(() => resolve())) : Promise.resolve();
  return {
    show: (build) => {
      next = build;
      if (!running && isUp()) void pump();
    },
    shown: () => shown,
    idle,
    stop: async (build) => {
      next = null;
      await idle();
      if (!isUp()) return;
      const last = publishedStates({ tank, ...build(), prefix, now: system.clock.now(), isRunning: false });
      await hub
        .publish(last)
        .catch((error: unknown) => system.log.warn(`the hub was not told of the stop: ${String(error)}`));
    },
  };
}
