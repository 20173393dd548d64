import { NO_ENTITY } from '../record/index.ts';
import type { Assembled } from './service.ts';
import type { AppFace } from './types.ts';

/** What the service says of itself. */
export function statusOf(app: Assembled): ReturnType<AppFace['status']> {
  const { state, store, config } = app;
  const since = [...app.sources().counters.values()]
    .map(({ folded }) => folded.countingSince)
    .filter((at) => at !== null);
  return {
    hub: state.link,
    hubVersion: state.info?.version ?? null,
    tank: config.tank.name,
    simulated: app.simulated,
    clockSkewMs: state.skewMs,
    bridgeableMs: state.bridgeableMs,
    countingSince: since.length === 0 ? null : Math.min(...since),
    leftOut: app.leftOut.list().map(({ equipment, since, driver }) => ({
      equipment,
      name: app.ctx.equipment[equipment]?.name ?? equipment,
      since,
      ...(driver === undefined ? {} : { driver }),
    })),
    attention: app.protection.attention(),
    openQuestions: store.questions('open').length,
    warnings: app.warnings ?? [],
    version: app.version ?? 'unknown',
  };
}

/** How long an absence the hub's history bridges, asked anew at each connection: a keeper may have changed it. */
export function askReach({ hub, loop, state, config, system }: Assembled): void {
  if (hub.reach === undefined) return;
  const entities = [...new Set(config.tank.counters.map((def) => def.source.entity))].filter(
    (entity) => entity !== NO_ENTITY,
  );
  hub.reach(entities).then(
    ({ bridgeableMs }) =>
      loop.enqueue('reach', () => {
        state.bridgeableMs = bridgeableMs;
      }),
    (error: unknown) => system.log.warn(`the hub did not tell how far its history goes: ${String(error)}`),
  );
}
