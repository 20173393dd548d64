/**
 * What the nodes read of the API's answers: only the fields they use. A flow gets the whole answer, so a field the service
 * adds later reaches it without a change here.
 */
export type WireStanding = {
  readonly part: string;
  readonly name: string;
  readonly word: string;
  readonly reason: string;
};

export type WireSession = { readonly id: string; readonly status: string; readonly title: string };

export type WireEvent =
  | { readonly kind: 'standing'; readonly at: number; readonly standing: WireStanding; readonly before: string | null }
  | { readonly kind: 'session'; readonly at: number; readonly view: WireSession }
  | { readonly kind: 'alarm'; readonly at: number; readonly code: string; readonly text: string };

/** The standings in a `due` answer; throws where it is something else, since an empty list would read as "nothing due". */
export function standingsIn(answer: unknown): readonly WireStanding[] {
  const due = isRecord(answer) ? answer['due'] : undefined;
  if (!Array.isArray(due) || !due.every(isStanding)) throw new Error('The service sent no list of what is due.');
  return due;
}

/** The session in an answer, null where none is open. */
export function sessionIn(answer: unknown): WireSession | null {
  const session = isRecord(answer) ? answer['session'] : undefined;
  if (session === null) return null;
  if (!isRecord(session) || typeof session['status'] !== 'string') throw new Error('The service sent no session.');
  return session as WireSession;
}

/** Null for a kind this version does not know. */
export function eventIn(kind: string, data: string): WireEvent | null {
  const event: unknown = JSON.parse(data);
  if (!isRecord(event)) return null;
  if (kind === 'standing') return isStanding(event['standing']) ? (event as WireEvent) : null;
  return kind === 'session' || kind === 'alarm' ? (event as WireEvent) : null;
}

function isStanding(value: unknown): value is WireStanding {
  return isRecord(value) && ['part', 'name', 'word', 'reason'].every((key) => typeof value[key] === 'string');
}

export function isRecord(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === 'object' && value !== null && !Array.isArray(value);
}
