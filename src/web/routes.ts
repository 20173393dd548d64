import type { FastifyInstance, FastifyRequest } from 'fastify';
import type { z } from 'zod';
import type { AppFace } from '../app/index.ts';
import { problem } from '../errors/index.ts';
import type { Actor } from '../model/index.ts';
import {
  BACK_BODY,
  CONFIRM_BODY,
  EMPTY_BODY,
  explain,
  given,
  PART_PARAMS,
  PERIOD_QUERY,
  PROCEDURE_PARAMS,
  READING_BODY,
  REPLACED_BODY,
  START_BODY,
} from './bodies.ts';
import type { EventStream } from './events.ts';

export type RouteTools = {
  readonly face: AppFace;
  readonly events: EventStream;
  /** Who stands behind an admitted request; throws where nobody does. */
  readonly actorOf: (request: FastifyRequest) => Actor;
};

export function take<T>(schema: z.ZodType<T>, value: unknown): T {
  const result = schema.safeParse(value);
  if (!result.success) throw problem('SW-API-007', explain(result.error, value));
  return result.data;
}

/** What only a person may do: a machine may look, start and abort; its confirmations are judged by the session. */
export function onlyPerson(actor: Actor, what: string): Actor {
  if (actor.kind === 'person') return actor;
  throw problem('SW-API-003', { who: actor.kind === 'machine' ? actor.name : 'an unknown sender', what });
}

export function lookingRoutes(app: FastifyInstance, { face, events, actorOf }: RouteTools): void {
  app.get('/v1/status', (request) => ({ ...face.status(), you: actorOf(request) }));
  app.get('/v1/due', () => ({ due: face.due() }));
  // With a period: the use within it; without: what is on each part now.
  app.get('/v1/usage', (request) => {
    const { period } = take(PERIOD_QUERY, request.query);
    return period === undefined ? { usage: face.usage() } : { period, usage: face.usageIn(period) };
  });
  app.get('/v1/usage/:part/why', (request) => ({ why: face.why(take(PART_PARAMS, request.params).part) }));
  app.get('/v1/condition', () => ({ findings: face.condition() }));
  app.get('/v1/procedures', () => ({ procedures: face.procedures() }));
  app.get('/v1/rehearse/:procedure', (request) => ({
    plan: face.rehearse(take(PROCEDURE_PARAMS, request.params).procedure),
  }));
  app.get('/v1/session', () => ({ session: face.session() }));
  app.get('/v1/events', (request, reply) => {
    const seen = request.headers['last-event-id'];
    if (events.full()) throw problem('SW-API-016', { limit: events.limit });
    reply.hijack();
    reply.raw.writeHead(200, {
      ...(reply.getHeaders() as Record<string, string>),
      'content-type': 'text/event-stream; charset=utf-8',
      'x-accel-buffering': 'no',
    });
    events.attach(reply.raw, typeof seen === 'string' ? seen : undefined);
  });
}

export function sessionRoutes(app: FastifyInstance, { face, actorOf }: RouteTools): void {
  app.post('/v1/session/start', async (request) => {
    const { procedure } = take(START_BODY, request.body);
    return { session: await face.startSession(procedure, actorOf(request)) };
  });
  // A refused confirmation is an answer, not an error: `accepted` and `why` say how it was judged.
  app.post('/v1/session/confirm', async (request) => {
    const { value, ...rest } = take(CONFIRM_BODY, request.body);
    const { accepted, why, view } = await face.confirm({ ...rest, actor: actorOf(request), ...given({ value }) });
    return { accepted, why, session: view };
  });
  app.post('/v1/session/abort', async (request) => {
    take(EMPTY_BODY, request.body ?? {});
    return { session: await face.abort(actorOf(request)) };
  });
  app.post('/v1/session/back', async (request) => {
    const actor = onlyPerson(actorOf(request), 'say that something is back');
    return { session: await face.back(take(BACK_BODY, request.body).equipment, actor) };
  });
}

export function recordRoutes(app: FastifyInstance, { face, actorOf }: RouteTools): void {
  app.post('/v1/parts/:part/replaced', async (request) => {
    const actor = onlyPerson(actorOf(request), 'record a replacement');
    const { part } = take(PART_PARAMS, request.params);
    const { at, note, ...how } = take(REPLACED_BODY, request.body ?? {});
    if (Object.keys(how).length === 0) return { usage: await face.replaced(part, actor, at, note) };
    const when = { ...(at === undefined ? {} : { at }), ...(note === undefined ? {} : { note }) };
    return { usage: await face.fitted(part, actor, { ...when, ...given(how) }) };
  });
  app.post('/v1/parts/:part/later', async (request) => {
    const actor = onlyPerson(actorOf(request), 'put a part off');
    take(EMPTY_BODY, request.body ?? {});
    return { standing: await face.putOff(take(PART_PARAMS, request.params).part, actor) };
  });
  app.post('/v1/readings', async (request) => {
    const actor = onlyPerson(actorOf(request), 'enter a reading');
    const { what, value, unit } = take(READING_BODY, request.body);
    await face.reading(what, value, unit, actor);
    return { taken: { what, value, unit } };
  });
  app.post('/v1/dashboard/install', async (request) => {
    onlyPerson(actorOf(request), 'install a dashboard');
    take(EMPTY_BODY, request.body ?? {});
    return await face.dashboardInstall();
  });
}
