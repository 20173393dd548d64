import { createConditionWatch } from './condition.ts';
import { createConditionDates } from './condition-dates.ts';
import type { Loop } from './loop.ts';
import type { AppOptions } from './service.ts';
import { createStandings } from './standings.ts';
import type { createWatchkeeping } from './watchkeeping.ts';

/** Where parts stand by their usage and by what is seen of them, wired to one another. */
export function createJudging(
  { config, hub, store, system }: AppOptions,
  deps: {
    readonly loop: Loop;
    readonly watchkeeping: ReturnType<typeof createWatchkeeping>;
    readonly onChange: () => void;
  },
) {
  const { tank, reminders: settings } = config;
  const { loop, watchkeeping, onChange } = deps;
  const standings = createStandings({
    ...{ parts: tank.parts, store, timeZone: tank.timeZone, settings },
    findings: (part, now) => condition.of(part).map((finding) => dates.of(finding, now)),
  });
  const dates = createConditionDates((equipment) => condition.dailyWatts(equipment));
  const condition = createConditionWatch({ tank, hub, store, system, loop, lives: standings.lives, onChange });
  return {
    standings,
    condition,
    /** Each minute: what came in is judged before the parts are. */
    look: (review: () => void): void => {
      condition.tick();
      review();
    },
    stopWatch: (): void => {
      condition.stop();
      watchkeeping.stopWatch();
    },
  };
}
