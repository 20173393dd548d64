import { createServer } from 'node:http';
import type { AddressInfo } from 'node:net';
import { type FastifyInstance, type FastifyReply, fastify } from 'fastify';
import type { AppFace } from '../app/index.ts';
import { problem, problemFrom } from '../errors/index.ts';
import type { System } from '../ports/index.ts';
import { type AccessGrant, doorkeeper, isLoopbackHost, MIN_TOKEN_LENGTH } from './access.ts';
import { answerTo, answerToAnything } from './answers.ts';
import { eventStream } from './events.ts';
import { type Gate, gate, SECURITY_HEADERS } from './gate.ts';
import { keeperRoutes } from './keeper-routes.ts';
import { lookingRoutes, recordRoutes, sessionRoutes } from './routes.ts';

/** The largest honest body is a note of 500 characters. */
const BODY_LIMIT_KIB = 16;
const BODY_LIMIT = `${BODY_LIMIT_KIB} KiB`;

export type ApiOptions = {
  readonly face: AppFace;
  /** Loopback only: 127.0.0.1, ::1 or localhost. */
  readonly host: string;
  /** 0 picks a free one. */
  readonly port: number;
  readonly access: readonly AccessGrant[];
  readonly system: System;
};

export type RunningApi = {
  readonly url: string;
  readonly port: number;
  /** Every route there is, as the router knows them. */
  readonly routes: readonly { readonly method: string; readonly path: string }[];
  close(): Promise<void>;
};

/** Starts the loopback API. Rejects with a catalogue error when it cannot be opened safely. */
export async function startApi(options: ApiOptions): Promise<RunningApi> {
  const { face, host, port, access, system } = options;
  refuseUnsafe(options);
  const door = gate(doorkeeper(access, system.clock), system.log);
  const app = router(door);
  const routes: { method: string; path: string }[] = [];
  app.addHook('onRoute', ({ method, url }) => {
    for (const one of [method].flat()) routes.push({ method: one, path: url });
  });
  const events = eventStream(face, system);
  const tools = {
    face,
    events,
    actorOf: (request: { readonly raw: Parameters<Gate['actor']>[0] }) => {
      const actor = door.actor(request.raw);
      if (actor === null) throw problem('SW-API-001');
      return actor;
    },
  };
  politeness(app, system, tools.actorOf);
  lookingRoutes(app, tools);
  sessionRoutes(app, tools);
  recordRoutes(app, tools);
  keeperRoutes(app, tools);

  try {
    await app.listen({ host, port });
  } catch (error) {
    events.close();
    await app.close();
    const detail = error instanceof Error && 'code' in error ? String(error.code) : 'unknown reason';
    throw problemFrom(error, 'SW-API-010', { host, port, detail });
  }
  const bound = app.server.address() as AddressInfo;
  const shown = bound.family === 'IPv6' ? `[${bound.address}]` : bound.address;
  return {
    url: `http://${shown}:${bound.port}`,
    port: bound.port,
    routes,
    async close() {
      events.close();
      await app.close();
    },
  };
}

function refuseUnsafe({ host, access }: ApiOptions): void {
  if (!isLoopbackHost(host)) throw problem('SW-API-014', { host });
  for (const { name, token } of access) {
    if (token.length < MIN_TOKEN_LENGTH) {
      throw problem('SW-API-013', { who: name, found: token.length, needed: MIN_TOKEN_LENGTH });
    }
  }
}

function router(door: Gate): FastifyInstance {
  return fastify({
    logger: false,
    bodyLimit: BODY_LIMIT_KIB * 1024,
    exposeHeadRoutes: false,
    forceCloseConnections: true,
    requestTimeout: 30_000,
    return503OnClosing: true,
    // Keys that could reach a prototype are refused wherever they stand in a body.
    onProtoPoisoning: 'error',
    onConstructorPoisoning: 'error',
    serverFactory: (handler) => {
      const server = createServer({ requestTimeout: 30_000, headersTimeout: 10_000 }, (request, response) => {
        if (door.admit(request, response)) handler(request, response);
      });
      // No upgrade and no tunnel is offered; without a listener Node would hand them on or drop them silently.
      server.on('upgrade', (_request, socket) => socket.end('HTTP/1.1 401 Unauthorized\r\nConnection: close\r\n\r\n'));
      server.on('connect', (_request, socket) => socket.end('HTTP/1.1 401 Unauthorized\r\nConnection: close\r\n\r\n'));
      return server;
    },
    frameworkErrors: (error, _request, reply) => {
      const { answer } = answerToAnything(error, BODY_LIMIT);
      (reply as FastifyReply).code(answer.status).headers(SECURITY_HEADERS).send(answer.body);
    },
  });
}

/** What holds for all routes alike: headers, JSON only, errors in the catalogue's words, a line in the log for each act. */
function politeness(
  app: FastifyInstance,
  system: System,
  actorOf: (request: { readonly raw: Parameters<Gate['actor']>[0] }) => {
    readonly kind: string;
    readonly name?: string;
  },
): void {
  app.addHook('onRequest', async (request, reply) => {
    reply.headers(SECURITY_HEADERS);
    // Also without a body: an act never comes from a plain form or a stray link.
    const type = request.headers['content-type'] ?? '';
    const acts = request.method !== 'GET' && request.method !== 'HEAD';
    if (acts && !/^application\/json\s*(?:;|$)/i.test(type)) {
      const answer = answerTo(problem('SW-API-005'), 415);
      return reply.code(answer.status).send(answer.body);
    }
  });
  app.removeAllContentTypeParsers();
  const parse = app.getDefaultJsonParser('error', 'error');
  app.addContentTypeParser('application/json', { parseAs: 'string' }, (request, body, done) => {
    if (body === '') done(null, {});
    else parse(request, body as string, done);
  });
  app.setNotFoundHandler((request, reply) => {
    const path = request.url.split('?')[0] ?? '';
    const answer = answerTo(problem('SW-API-006', { method: request.method, path: path.slice(0, 80) }));
    return reply.code(answer.status).send(answer.body);
  });
  app.setErrorHandler((error, request, reply) => {
    const { answer, fault } = answerToAnything(error, BODY_LIMIT);
    if (fault) system.log.error(`api: ${request.method} ${request.routeOptions.url ?? '?'} failed: ${String(error)}`);
    return reply.code(answer.status).send(answer.body);
  });
  app.addHook('onResponse', async (request, reply) => {
    if (request.method === 'GET') return;
    const actor = actorOf(request);
    const route = request.routeOptions.url ?? 'an unknown path';
    system.log.info(`api: ${actor.kind} ${actor.name ?? ''} ${request.method} ${route}: ${reply.statusCode}`);
  });
}
