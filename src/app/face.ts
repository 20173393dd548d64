import { buildPlan, offeredProcedures } from '../procedure/index.ts';
import { dashboardFor } from '../publish/index.ts';
import { actorName } from '../record/index.ts';
import { keeperFace } from './keeper.ts';
import { shownProcedures } from './offers.ts';
import { partNamed, putOffPart, replacePart } from './parts.ts';
import type { Assembled } from './service.ts';
import { statusOf } from './status.ts';
import type { AppFace, SessionView } from './types.ts';
import { whyOf } from './why.ts';

export const DASHBOARD_PATH = 'slackwater-tank';

/** What the edges may ask of the service. Whatever changes something goes through the one loop. */
export function createFace(app: Assembled): AppFace {
  const { config, loop, runner, standings, system, sources, store, session } = app;
  const { tank } = config;
  const now = () => system.clock.now();
  const opened = (view: SessionView | null): SessionView => {
    if (view === null) throw new Error('a session that was just started has no view');
    return view;
  };
  return {
    due: () => standings.evaluate(now(), sources()),
    usage: () => standings.usage(now(), sources()),
    why: (id) => whyOf(partNamed(app, id), standings.lives().get(id) ?? null, sources(), now()),
    condition: () => app.condition.findings(),
    rehearse: (procedure) => buildPlan(procedure, tank, config.rules),
    procedures: () => offeredProcedures(tank, config.rules),
    session,
    startSession: (procedure, actor) =>
      loop.run('start session', () => {
        runner.start(procedure, actor);
        return opened(session());
      }),
    confirm: (confirmation) => loop.run('confirm', () => ({ ...runner.confirm(confirmation), view: session() })),
    abort: (actor) =>
      loop.run('abort', () => {
        runner.abort(actor);
        return session();
      }),
    back: (equipment, actor) =>
      loop.run('back', () => {
        app.leftOut.back(equipment, actor);
        return session();
      }),
    replaced: (part, by, at, note) => loop.run('replaced', () => replacePart(app, part, by, at, note)),
    putOff: (part, by) => loop.run('put off', () => putOffPart(app, part, by)),
    reading: (what, value, unit, by) =>
      loop.run('reading', () => {
        store.append({ v: 1, kind: 'reading', at: now(), what, value, unit, by: actorName(by) });
      }),
    dashboardInstall: async () => {
      const made = dashboardFor({
        tank,
        prefix: config.prefix,
        procedures: shownProcedures(config),
        page: `/${DASHBOARD_PATH}`,
        buttons: app.entities.buttons,
        template: app.dashboard,
      });
      await app.hub.installDashboard(DASHBOARD_PATH, tank.name, made);
      return { path: `/${DASHBOARD_PATH}` };
    },
    status: () => statusOf(app),
    guards: () => app.protection.guards(),
    resetGuard: (guard, by) => loop.run('reset guard', () => app.protection.resetGuard(guard, by)),
    attention: () => app.protection.attention(),
    acclimation: () => app.protection.acclimating.views(),
    startAcclimation: (lamp, by, hours) =>
      loop.run('start acclimation', () => app.protection.acclimating.start(lamp, by, hours)),
    stopAcclimation: (lamp, by) => loop.run('stop acclimation', () => app.protection.acclimating.stop(lamp, by)),
    ...keeperFace(app),
    subscribe: (listener) => {
      app.listeners.add(listener);
      return () => app.listeners.delete(listener);
    },
  };
}
