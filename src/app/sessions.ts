import type { Config } from '../config/index.ts';
import type { EquipmentId } from '../model/index.ts';
import type { Reading } from '../observe/index.ts';
import type { HubPort, StorePort, System } from '../ports/index.ts';
import { buildPlan, type EngineContext } from '../procedure/index.ts';
import type { InstantMs } from '../units/index.ts';
import { createLeftOut, type LeftOutList } from './left-out.ts';
import type { Loop } from './loop.ts';
import { createSessionRunner, type SessionRunner } from './session-runner.ts';
import type { SessionView } from './types.ts';
import { viewOf } from './view.ts';

export type Sessions = {
  readonly runner: SessionRunner;
  readonly leftOut: LeftOutList;
  /** As every surface shows it; null when there never was one. */
  readonly session: () => SessionView | null;
  readonly takeReadings: (readings: readonly Reading[]) => void;
  /** After a start of the service. */
  readonly recover: () => void;
};

/** The session engine with what it leaves behind, wired to hub and store. */
export function createSessions(deps: {
  readonly config: Config;
  readonly hub: Pick<HubPort, 'command' | 'driver' | 'refresh'>;
  readonly store: StorePort;
  readonly system: System;
  readonly loop: Loop;
  readonly ctx: EngineContext;
  readonly onAlarm: (code: string, text: string) => void;
  readonly onChange: (view: SessionView, at: InstantMs) => void;
  /** What sessions left out of service, now and after each change. */
  readonly onLeft: (equipment: readonly EquipmentId[]) => void;
  readonly show: () => void;
}): Sessions {
  const { config, hub, store, system, loop, ctx } = deps;
  const leftOut = createLeftOut({
    store,
    system,
    ctx,
    onChange: () => {
      tellLeft();
      deps.show();
    },
  });
  const tellLeft = (): void => deps.onLeft(leftOut.list().map(({ equipment }) => equipment));
  tellLeft();
  const runner = createSessionRunner({
    hub,
    store,
    system,
    loop,
    ctx,
    plan: (procedure) => buildPlan(procedure, config.tank, config.rules, { at: system.clock.now() }),
    onChange: (state, at) => {
      leftOut.session(state);
      deps.onChange(viewOf(state, ctx, leftOut.list()), at);
      deps.show();
    },
    onAlarm: deps.onAlarm,
    onSay: (text) => system.log.info(text),
    onRefreshed: (readings) => takeReadings(readings),
  });
  const takeReadings = (readings: readonly Reading[]): void => {
    runner.readings(readings);
    leftOut.readings(readings);
  };
  return {
    runner,
    leftOut,
    takeReadings,
    session: () => {
      const open = runner.state();
      return open === null ? null : viewOf(open, ctx, leftOut.list());
    },
    recover: () => {
      runner.recover();
      const latest = runner.state();
      // Killed between the end of a session and the note of what it left: noted now.
      if (latest !== null) leftOut.session(latest);
    },
  };
}
