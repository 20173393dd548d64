import type { IncomingMessage, ServerResponse } from 'node:http';
import { problem } from '../errors/index.ts';
import type { Actor } from '../model/index.ts';
import type { Log } from '../ports/index.ts';
import { SECOND_MS } from '../units/index.ts';
import type { doorkeeper } from './access.ts';
import { hostName, isLoopbackHost } from './access.ts';
import { type Answer, answerTo } from './answers.ts';

/** Sent with every answer. Nothing here is for a browser to render, embed, cache or read across origins. */
export const SECURITY_HEADERS: Readonly<Record<string, string>> = {
  'cache-control': 'no-store',
  'content-security-policy': "default-src 'none'; frame-ancestors 'none'",
  'cross-origin-resource-policy': 'same-origin',
  'referrer-policy': 'no-referrer',
  'x-content-type-options': 'nosniff',
  'x-frame-options': 'DENY',
};

export type Gate = {
  /** True when the request may go on to the routes; otherwise it has been answered. */
  admit(request: IncomingMessage, response: ServerResponse): boolean;
  /** Who is behind an admitted request; null for one that did not pass the gate. */
  actor(request: IncomingMessage): Actor | null;
};

/**
 * Stands before the router, so that no route, unknown path, malformed address, upgrade or error page can be reached around
 * it: first the Host, then the credential.
 */
export function gate(judge: ReturnType<typeof doorkeeper>, log: Log): Gate {
  const admitted = new WeakMap<IncomingMessage, Actor>();
  const refuse = (response: ServerResponse, answer: Answer, headers: Record<string, string> = {}): false => {
    const body = JSON.stringify(answer.body);
    // The rest of the request is not read: the connection ends with this answer.
    response.writeHead(answer.status, {
      ...SECURITY_HEADERS,
      ...headers,
      'content-type': 'application/json; charset=utf-8',
      'content-length': Buffer.byteLength(body),
      connection: 'close',
    });
    response.end(body);
    return false;
  };

  return {
    admit(request, response) {
      const host = hostName(request.headers.host);
      if (host === null || !isLoopbackHost(host)) {
        return refuse(response, answerTo(problem('SW-API-004')));
      }
      const address = request.socket.remoteAddress ?? 'unknown';
      const verdict = judge(request.headers.authorization, address);
      if (verdict.kind === 'let-in') {
        admitted.set(request, verdict.actor);
        return true;
      }
      if (verdict.kind === 'too-many') {
        if (verdict.first) log.warn(`api: many wrong credentials from ${address}`);
        const seconds = Math.max(1, Math.ceil(verdict.retryAfterMs / SECOND_MS));
        const answer = answerTo(problem('SW-API-009', { wait: `${seconds} s` }));
        return refuse(response, answer, { 'retry-after': String(seconds) });
      }
      const code = verdict.kind === 'no-credential' ? 'SW-API-001' : 'SW-API-002';
      return refuse(response, answerTo(problem(code)), { 'www-authenticate': 'Bearer realm="slackwater"' });
    },
    actor: (request) => admitted.get(request) ?? null,
  };
}
