import type { DurationMs, InstantMs } from '../units/index.ts';
import { noteSeen } from './seen.ts';
import type { Assembled } from './service.ts';
import { askReach } from './status.ts';

/** What the coming and going of the hub means to each stage, in the order that matters. */
export function linkHandlers(app: Assembled) {
  const { store, system, state, runner, counting, review, reminding } = app;
  return {
    up: (link: { at: InstantMs; hubRestarted: boolean; restartedAt: InstantMs | null }): void => {
      state.link = 'up';
      noteSeen(store, link.at, false);
      counting.linkUp(link);
      askReach(app);
      runner.hubBack(link.at);
      app.protection.link(true, link.at);
      app.condition.link(true, link.at);
      app.alarms.hubCameBack();
      if (link.hubRestarted) reminding.hubRestarted();
      review.show();
    },
    down: (at: InstantMs, reason: string): void => {
      state.link = 'down';
      noteSeen(store, at, counting.isLive());
      counting.linkDown(at);
      runner.hubLost(at);
      app.protection.link(false, at);
      app.condition.link(false, at);
      system.log.warn(`the hub is gone: ${reason}; counting goes on from its history when it is back`);
    },
    skewed: (skewMs: DurationMs): void => {
      state.skewMs = skewMs;
      counting.skew(skewMs);
      runner.skew(skewMs);
      app.protection.skewed(skewMs);
    },
  };
}
