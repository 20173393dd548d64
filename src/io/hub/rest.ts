import { CallFailure } from './deadline.ts';
import type { HubSetup } from './options.ts';

export type Rest = {
  get<T>(path: string): Promise<T>;
  post<T>(path: string, body: unknown): Promise<T>;
};

/**
 * REST with the token and a deadline. A refusal of the token is told to `onRefused` and nothing more is sent until the
 * next connection: each refused call would count towards a ban of this machine.
 */
export function createRest(setup: HubSetup, isOpen: () => boolean, onRefused: () => void): Rest {
  const ask = async <T>(method: 'GET' | 'POST', path: string, body?: unknown): Promise<T> => {
    if (!isOpen()) throw new CallFailure('not-sent', 'the hub is not connected');
    const answer = await send(setup, method, path, body);
    if (answer.status === 401 || answer.status === 403) onRefused();
    const text = await readText(answer, path);
    if (!answer.ok) {
      throw new CallFailure('refused', `answer ${answer.status} to ${path}: ${messageIn(text)}`, String(answer.status));
    }
    return parse<T>(text);
  };
  return {
    get: (path) => ask('GET', path),
    post: (path, body) => ask('POST', path, body),
  };
}

/**
 * Sent once more where the connection broke: after a restart of the hub the first call often goes out on a kept
 * connection that is no more. Everything asked here may be asked twice.
 */
async function send(setup: HubSetup, method: string, path: string, body: unknown): Promise<Response> {
  const request = () =>
    setup.fetch(setup.url + path, {
      method,
      headers: { authorization: `Bearer ${setup.token}`, 'content-type': 'application/json' },
      ...(body === undefined ? {} : { body: JSON.stringify(body) }),
      signal: AbortSignal.timeout(setup.deadlineMs),
    });
  try {
    return await request();
  } catch (error) {
    const failure = restFailure(error, path);
    if (failure.kind === 'deadline') throw failure;
    return await request().catch((again: unknown) => {
      throw restFailure(again, path);
    });
  }
}

async function readText(answer: Response, path: string): Promise<string> {
  try {
    return await answer.text();
  } catch (error) {
    throw restFailure(error, path);
  }
}

function restFailure(error: unknown, path: string): CallFailure {
  const late = error instanceof Error && error.name === 'TimeoutError';
  return new CallFailure(late ? 'deadline' : 'lost', late ? `no answer to ${path} in time` : `no answer to ${path}`);
}

/** Some answers are bare text (a rendered template), others JSON. */
function parse<T>(text: string): T {
  try {
    return JSON.parse(text) as T;
  } catch {
    return text as T;
  }
}

function messageIn(text: string): string {
  const body = parse<unknown>(text);
  const message = typeof body === 'object' && body !== null ? (body as { message?: unknown }).message : body;
  return String(message ?? '').slice(0, 200);
}
