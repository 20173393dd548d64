import type { AppEvent, AppFace, PartUsage, SessionView, UsageWhy } from '../app/index.ts';
import type { Finding } from '../condition/index.ts';
import { CATALOGUE, type ErrorCode, type ErrorParams, problem, problemFrom, SlackwaterError } from '../errors/index.ts';
import type { Actor, PartId } from '../model/index.ts';
import type { SessionPlan } from '../procedure/index.ts';
import type { Standing } from '../remind/index.ts';
import { type DurationMs, type InstantMs, SECOND_MS } from '../units/index.ts';
import { eventsIn } from './event-text.ts';
import { type KeeperClient, keeperCalls } from './keeper-client.ts';

export type ApiStatus = ReturnType<AppFace['status']> & { readonly you: Actor };

/** What the API offers, one method a route. Failures are catalogue errors, the service's own among them. */
export type ApiClient = KeeperClient & {
  status(): Promise<ApiStatus>;
  due(): Promise<readonly Standing[]>;
  usage(): Promise<readonly PartUsage[]>;
  why(part: PartId): Promise<readonly UsageWhy[]>;
  condition(): Promise<readonly Finding[]>;
  procedures(): Promise<ReturnType<AppFace['procedures']>>;
  rehearse(procedure: string): Promise<SessionPlan>;
  session(): Promise<SessionView | null>;
  startSession(procedure: string): Promise<SessionView>;
  /** `accepted: false` with its `why` where the session refused it. */
  confirm(confirmation: {
    readonly session: string;
    readonly step: string;
    readonly nonce: string;
    /** Where the step asks for one, in the unit it names. */
    readonly value?: number;
  }): Promise<{ readonly accepted: boolean; readonly why: string; readonly session: SessionView | null }>;
  abort(): Promise<SessionView | null>;
  back(equipment: string): Promise<SessionView | null>;
  replaced(part: PartId, at?: InstantMs, note?: string): Promise<PartUsage>;
  putOff(part: PartId): Promise<Standing>;
  reading(what: string, value: number, unit: string): Promise<void>;
  dashboardInstall(): Promise<{ readonly path: string }>;
  /** Until `signal` aborts or the link ends. `onReady` is called when nothing can be missed any more. */
  events(signal: AbortSignal, onReady?: () => void): AsyncIterable<AppEvent>;
};

const DEADLINE_MS: DurationMs = 10 * SECOND_MS;
/** Starting a session and installing a dashboard wait for the hub. */
const LONG_DEADLINE_MS: DurationMs = 60 * SECOND_MS;

/** Others would be quoted whole in the error of the HTTP client. */
const SENDABLE = /^[A-Za-z0-9._~+/=-]+$/;

export function apiClient(url: string, token: string): ApiClient {
  if (!SENDABLE.test(token)) throw problem('SW-API-002');
  const base = url.replace(/\/+$/, '');
  const get = <T>(path: string): Promise<T> => ask<T>(base, token, 'GET', path, undefined, DEADLINE_MS);
  const post = <T>(path: string, body: unknown = {}): Promise<T> =>
    ask<T>(base, token, 'POST', path, body, LONG_DEADLINE_MS);
  const of = encodeURIComponent;

  return {
    status: () => get('/v1/status'),
    due: async () => (await get<{ due: Standing[] }>('/v1/due')).due,
    usage: async () => (await get<{ usage: PartUsage[] }>('/v1/usage')).usage,
    why: async (part) => (await get<{ why: UsageWhy[] }>(`/v1/usage/${of(part)}/why`)).why,
    condition: async () => (await get<{ findings: Finding[] }>('/v1/condition')).findings,
    procedures: async () => (await get<{ procedures: ReturnType<AppFace['procedures']> }>('/v1/procedures')).procedures,
    rehearse: async (procedure) => (await get<{ plan: SessionPlan }>(`/v1/rehearse/${of(procedure)}`)).plan,
    session: async () => (await get<{ session: SessionView | null }>('/v1/session')).session,
    startSession: async (procedure) =>
      (await post<{ session: SessionView }>('/v1/session/start', { procedure })).session,
    confirm: ({ session, step, nonce, value }) => post('/v1/session/confirm', { session, step, nonce, value }),
    abort: async () => (await post<{ session: SessionView | null }>('/v1/session/abort')).session,
    back: async (equipment) => (await post<{ session: SessionView | null }>('/v1/session/back', { equipment })).session,
    replaced: async (part, at, note) =>
      (await post<{ usage: PartUsage }>(`/v1/parts/${of(part)}/replaced`, { at, note })).usage,
    putOff: async (part) => (await post<{ standing: Standing }>(`/v1/parts/${of(part)}/later`)).standing,
    reading: async (what, value, unit) => {
      await post('/v1/readings', { what, value, unit });
    },
    dashboardInstall: () => post('/v1/dashboard/install'),
    ...keeperCalls(get, post),
    events: (signal, onReady) => events(base, token, signal, onReady),
  };
}

async function ask<T>(
  base: string,
  token: string,
  method: 'GET' | 'POST',
  path: string,
  body: unknown,
  deadlineMs: DurationMs,
): Promise<T> {
  try {
    const response = await fetch(`${base}${path}`, {
      method,
      headers: {
        authorization: `Bearer ${token}`,
        ...(body === undefined ? {} : { 'content-type': 'application/json' }),
      },
      body: body === undefined ? null : JSON.stringify(body),
      // A redirect would carry the credential to an address nobody chose.
      redirect: 'error',
      signal: AbortSignal.timeout(deadlineMs),
    });
    const answer: unknown = await response.json();
    if (!response.ok) throw errorIn(base, answer, response.status);
    return answer as T;
  } catch (error) {
    throw failure(error, base, `${method} ${path}`, deadlineMs);
  }
}

async function* events(
  base: string,
  token: string,
  signal: AbortSignal,
  onReady: (() => void) | undefined,
): AsyncGenerator<AppEvent> {
  const path = '/v1/events';
  try {
    const response = await fetch(`${base}${path}`, {
      headers: { authorization: `Bearer ${token}`, accept: 'text/event-stream' },
      redirect: 'error',
      signal,
    });
    if (!response.ok || response.body === null) throw errorIn(base, await response.json(), response.status);
    for await (const { event, data } of eventsIn(response.body)) {
      if (event === 'ready') onReady?.();
      else if (event !== 'missed') yield JSON.parse(data) as AppEvent;
    }
  } catch (error) {
    if (!signal.aborted) throw failure(error, base, `GET ${path}`, 0);
  }
}

/** The service's own error, worded anew from the same catalogue. */
function errorIn(base: string, answer: unknown, status: number): SlackwaterError {
  const { code, params, message } = (answer ?? {}) as { code?: unknown; params?: unknown; message?: unknown };
  if (typeof code === 'string' && Object.hasOwn(CATALOGUE, code)) {
    return new SlackwaterError(code as ErrorCode, (params ?? {}) as ErrorParams);
  }
  const detail = typeof message === 'string' ? message.replace(/\.$/, '') : `status ${status}`;
  return problem('SW-API-017', { url: base, detail });
}

function failure(error: unknown, base: string, what: string, deadlineMs: DurationMs): SlackwaterError {
  if (error instanceof SlackwaterError) return error;
  if (error instanceof Error && error.name === 'TimeoutError') {
    return problemFrom(error, 'SW-API-015', { url: base, what, deadline: `${deadlineMs / SECOND_MS} s` });
  }
  if (error instanceof SyntaxError) return problemFrom(error, 'SW-API-017', { url: base, detail: 'no JSON' });
  return problemFrom(error, 'SW-CLI-004', { url: base });
}
