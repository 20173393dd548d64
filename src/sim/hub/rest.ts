// The hub's REST side, as far as a client with a token uses it, and the hub's own login by name and password.
import type { IncomingMessage, ServerResponse } from 'node:http';
import { configOf, type HubCore } from './core.ts';
import { asRecord, HubRefusal } from './services.ts';
import type { HubUser } from './users.ts';
import { longState } from './wire.ts';

type Answer = { readonly status: number; readonly body: unknown };
type Request = {
  readonly core: HubCore;
  readonly method: string;
  readonly path: readonly string[];
  readonly text: string;
  readonly user: HubUser | undefined;
};

const MAX_BODY_BYTES = 4_000_000;

export async function serveRest(core: HubCore, request: IncomingMessage, response: ServerResponse): Promise<void> {
  const text = await bodyOf(request);
  const url = new URL(request.url ?? '/', 'http://hub');
  const token = /^Bearer (.+)$/.exec(request.headers.authorization ?? '')?.[1];
  const path = url.pathname
    .split('/')
    .filter((part) => part !== '')
    .map(decodeURIComponent);
  const user = token === undefined ? undefined : core.users.byToken(token);
  const { status, body } = route({ core, method: request.method ?? 'GET', path, text, user });
  response.writeHead(status, { 'content-type': typeof body === 'string' ? 'text/plain' : 'application/json' });
  response.end(typeof body === 'string' ? body : JSON.stringify(body));
}

async function bodyOf(request: IncomingMessage): Promise<string> {
  const chunks: Buffer[] = [];
  let size = 0;
  for await (const chunk of request) {
    size += (chunk as Buffer).length;
    if (size > MAX_BODY_BYTES) break;
    chunks.push(chunk as Buffer);
  }
  return Buffer.concat(chunks).toString('utf8');
}

const NOT_FOUND: Answer = { status: 404, body: { message: 'Not found.' } };

function route(request: Request): Answer {
  const [first, ...rest] = request.path;
  if (first === 'auth') return authRoute(request, rest);
  if (first !== 'api') return NOT_FOUND;
  if (request.user === undefined) return { status: 401, body: '401: Unauthorized' };
  try {
    return apiRoute(request, request.user, rest);
  } catch (error) {
    if (error instanceof SyntaxError) return { status: 400, body: { message: 'Invalid JSON specified.' } };
    if (error instanceof HubRefusal) {
      return { status: error.code === 'not_found' ? 400 : 500, body: { message: error.message } };
    }
    throw error;
  }
}

function apiRoute(request: Request, user: HubUser, [area, ...rest]: readonly string[]): Answer {
  const { core, method } = request;
  const ok = (body: unknown): Answer => ({ status: 200, body });
  if (area === undefined) return ok({ message: 'API running.' });
  if (area === 'config' && method === 'GET') return ok(configOf(core));
  if (area === 'states') return statesRoute(request, user, rest[0]);
  if (area === 'services' && method === 'GET') {
    return ok(Object.entries(core.services.list()).map(([domain, services]) => ({ domain, services })));
  }
  if (area === 'services' && method === 'POST') {
    const before = new Map(core.states.all().map((state) => [state.entity, state]));
    const data = fieldsOf(request);
    core.services.call(rest[0] ?? '', rest[1] ?? '', data, {}, core.states.context(user.id));
    return ok(
      core.states
        .all()
        .filter((state) => before.get(state.entity)?.lastUpdated !== state.lastUpdated)
        .map(longState),
    );
  }
  if (area === 'events' && method === 'POST') {
    if (!user.administrator) return { status: 401, body: '401: Unauthorized' };
    core.states.fire(rest[0] ?? '', fieldsOf(request), core.states.context(user.id));
    return ok({ message: `Event ${rest[0]} fired.` });
  }
  return NOT_FOUND;
}

function statesRoute(request: Request, user: HubUser, entity: string | undefined): Answer {
  const { core, method } = request;
  if (entity === undefined) return { status: 200, body: core.states.all().map(longState) };
  const known = core.states.get(entity);
  if (method === 'GET') {
    return known === undefined
      ? { status: 404, body: { message: 'Entity not found.' } }
      : { status: 200, body: longState(known) };
  }
  if (!user.administrator) return { status: 401, body: '401: Unauthorized' };
  if (method === 'DELETE') {
    if (known === undefined) return { status: 404, body: { message: 'Entity not found.' } };
    core.states.remove(entity);
    return { status: 200, body: { message: 'Entity removed.' } };
  }
  const fields = fieldsOf(request);
  if (fields['state'] === undefined) return { status: 400, body: { message: 'No state specified.' } };
  const next = core.states.set(
    entity,
    String(fields['state']),
    asRecord(fields['attributes']),
    core.states.context(user.id),
  );
  return { status: known === undefined ? 201 : 200, body: longState(next) };
}

function fieldsOf(request: Request): Readonly<Record<string, unknown>> {
  return request.text === '' ? {} : asRecord(JSON.parse(request.text));
}

function authRoute(request: Request, rest: readonly string[]): Answer {
  const { core, method, text } = request;
  if (method !== 'POST') return NOT_FOUND;
  if (rest[0] === 'login_flow' && rest[1] === undefined) {
    return {
      status: 200,
      body: { type: 'form', flow_id: 'simulated', handler: ['homeassistant', null], step_id: 'init' },
    };
  }
  if (rest[0] === 'login_flow') {
    const { username, password } = fieldsOf(request);
    const code = core.users.login(String(username), String(password));
    if (code === undefined) return { status: 200, body: { type: 'form', errors: { base: 'invalid_auth' } } };
    return { status: 200, body: { type: 'create_entry', result: code } };
  }
  if (rest[0] === 'token') {
    const token = core.users.redeem(new URLSearchParams(text).get('code') ?? '');
    if (token === undefined)
      return { status: 400, body: { error: 'invalid_request', error_description: 'Invalid code' } };
    return { status: 200, body: { access_token: token, token_type: 'Bearer', expires_in: 1800 } };
  }
  return NOT_FOUND;
}
