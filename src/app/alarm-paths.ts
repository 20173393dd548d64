import type { AlarmMessage, AlarmPath, System } from '../ports/index.ts';
import { type InstantMs, MINUTE_MS } from '../units/index.ts';

export type Outside = {
  /** Goes out at once on every path; the same words again within ten minutes do not. */
  tell(kind: AlarmMessage['kind'], key: string, text: string): void;
  readonly names: readonly string[];
  stop(): void;
};

const SAME_AGAIN_MS = 10 * MINUTE_MS;
const STORM_MS = 10 * MINUTE_MS;
const STORM_MOST = 40;

/** Ways to people that do not pass through the hub. Nothing here waits for the hub or for one another. */
export function createOutside({
  paths,
  system,
  tank,
  simulated,
}: {
  readonly paths: readonly AlarmPath[];
  readonly system: System;
  readonly tank: string;
  readonly simulated: boolean;
}): Outside {
  const last = new Map<string, { readonly text: string; readonly at: InstantMs }>();
  let recent: InstantMs[] = [];
  const send = (message: AlarmMessage): void => {
    for (const path of paths)
      path.send(message).then(
        ({ sent, tries, detail }) => {
          const after = tries === 1 ? '' : ` after ${tries} tries`;
          if (sent) system.log.info(`told by ${path.name}${after}: ${detail}`);
          else system.log.error(`not told by ${path.name}${after}: ${detail}`);
        },
        (error: unknown) => system.log.error(`not told by ${path.name}: ${String(error)}`),
      );
  };
  return {
    names: paths.map(({ name }) => name),
    tell: (kind, key, text) => {
      if (paths.length === 0) return;
      const at = system.clock.now();
      const before = last.get(key);
      if (kind === 'alarm' && before?.text === text && Math.abs(at - before.at) < SAME_AGAIN_MS) return;
      if (kind === 'over') {
        if (before === undefined) return;
        last.delete(key);
      } else last.set(key, { text, at });
      recent = recent.filter((one) => Math.abs(at - one) < STORM_MS);
      recent.push(at);
      if (recent.length > STORM_MOST + 1) return;
      const isStorm = recent.length > STORM_MOST;
      const title = kind === 'alarm' ? 'Slackwater alarm' : kind === 'over' ? 'Slackwater, over' : 'Slackwater test';
      // A fault that repeats must not bury the first words of it in a hundred more.
      const told = isStorm ? 'More alarms than can be told one by one; look at the tank and at the service.' : text;
      send({ key: isStorm ? 'storm' : key, kind, title, text: told, at, tank, simulated });
    },
    stop: () => {
      for (const path of paths) path.stop();
    },
  };
}
