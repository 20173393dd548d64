import { createHash, timingSafeEqual } from 'node:crypto';
import type { Actor } from '../model/index.ts';
import type { Clock } from '../ports/index.ts';
import { type DurationMs, MINUTE_MS } from '../units/index.ts';

/** Whom a bearer credential stands for. Two grants may share a name (a person's phone and laptop). */
export type AccessGrant = { readonly name: string; readonly kind: 'person' | 'machine'; readonly token: string };

/** Below this a credential could be guessed by trying; the ones we make have 43 characters. */
export const MIN_TOKEN_LENGTH = 32;

const FAILURES_ALLOWED = 20;
const FAILURE_WINDOW_MS: DurationMs = MINUTE_MS;
/** Enough for any real home; stops a flood of addresses from filling memory. */
const ADDRESSES_KEPT = 1_000;

export type Verdict =
  | { readonly kind: 'let-in'; readonly actor: Actor }
  | { readonly kind: 'no-credential' }
  | { readonly kind: 'wrong-credential' }
  | { readonly kind: 'too-many'; readonly retryAfterMs: DurationMs; readonly first: boolean };

const digest = (text: string): Buffer => createHash('sha256').update(text, 'utf8').digest();

/** Compares with every grant, always: neither which one matched nor how much of it can be read from the time taken. */
export function whoHolds(grants: readonly AccessGrant[]): (token: string) => Actor | null {
  const known = grants.map((grant) => ({ hash: digest(grant.token), actor: actorOf(grant) }));
  return (token) => {
    const hash = digest(token);
    let found: Actor | null = null;
    for (const grant of known) if (timingSafeEqual(grant.hash, hash)) found = grant.actor;
    return found;
  };
}

function actorOf(grant: AccessGrant): Actor {
  return grant.kind === 'person'
    ? { kind: 'person', name: grant.name, via: 'api' }
    : { kind: 'machine', name: grant.name };
}

function bearerOf(header: string | undefined): string | null {
  const match = /^Bearer ([A-Za-z0-9._~+/=-]+)$/i.exec(header ?? '');
  return match?.[1] ?? null;
}

/**
 * Wrong credentials are counted per address and answered with "too many" past the limit. A right one always gets in: with
 * tokens too long to guess, locking it out would only keep a person from aborting a session.
 */
export function doorkeeper(
  grants: readonly AccessGrant[],
  clock: Clock,
): (authorization: string | undefined, address: string) => Verdict {
  const holder = whoHolds(grants);
  const failures = new Map<string, { since: number; count: number }>();

  const failed = (address: string): Verdict => {
    const now = clock.monotonicMs();
    const past = failures.get(address);
    const current = past !== undefined && now - past.since < FAILURE_WINDOW_MS ? past : { since: now, count: 0 };
    current.count += 1;
    failures.delete(address);
    failures.set(address, current);
    const oldest = failures.keys().next();
    if (failures.size > ADDRESSES_KEPT && oldest.done !== true) failures.delete(oldest.value);
    if (current.count <= FAILURES_ALLOWED) return { kind: 'wrong-credential' };
    return {
      kind: 'too-many',
      retryAfterMs: FAILURE_WINDOW_MS - (now - current.since),
      first: current.count === FAILURES_ALLOWED + 1,
    };
  };

  return (authorization, address) => {
    if (authorization === undefined) return { kind: 'no-credential' };
    const token = bearerOf(authorization);
    const actor = token === null ? null : holder(token);
    return actor === null ? failed(address) : { kind: 'let-in', actor };
  };
}

/** True for `localhost` and the loopback addresses; anything else may be a web page's name pointed at this machine. */
export function isLoopbackHost(host: string): boolean {
  const name = host.toLowerCase();
  return name === 'localhost' || name === '::1' || /^127(?:\.\d{1,3}){3}$/.test(name);
}

/** The name in a Host header without its port; null when it is missing or malformed. */
export function hostName(header: string | undefined): string | null {
  const match = /^(?:\[([0-9a-f:.]+)\]|([a-z0-9.-]+))(?::\d{1,5})?$/i.exec(header ?? '');
  return match?.[1] ?? match?.[2] ?? null;
}
