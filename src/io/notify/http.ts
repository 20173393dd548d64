import { type DurationMs, SECOND_MS } from '../../units/index.ts';

export type HttpAsk = {
  readonly url: string;
  readonly method: 'GET' | 'POST';
  readonly body?: unknown;
  readonly authorization?: string;
  readonly deadlineMs?: DurationMs;
  readonly fetch?: typeof fetch;
};

export const DEADLINE_MS: DurationMs = 10 * SECOND_MS;

/** Status of the answer, or why there was none; the address is a secret and in none of the words. */
export async function ask(asked: HttpAsk): Promise<{ readonly status: number | null; readonly detail: string }> {
  const { url, method, body, authorization, deadlineMs = DEADLINE_MS } = asked;
  try {
    const response = await (asked.fetch ?? fetch)(url, {
      method,
      headers: {
        ...(body === undefined ? {} : { 'content-type': 'application/json' }),
        ...(authorization === undefined ? {} : { authorization }),
      },
      body: body === undefined ? null : JSON.stringify(body),
      // A redirect would carry what is told to an address nobody chose.
      redirect: 'error',
      signal: AbortSignal.timeout(deadlineMs),
    });
    await response.body?.cancel();
    return { status: response.status, detail: `answered ${response.status}` };
  } catch (error) {
    return { status: null, detail: reason(error, deadlineMs) };
  }
}

/** The words of an error may hold the address; its code does not. */
function reason(error: unknown, deadlineMs: DurationMs): string {
  if (error instanceof Error && error.name === 'TimeoutError') return `no answer within ${deadlineMs / SECOND_MS} s`;
  const cause = error instanceof Error ? error.cause : undefined;
  const code = codeOf(cause) ?? codeOf(error);
  return code === null ? 'could not be reached' : `could not be reached (${code})`;
}

function codeOf(error: unknown): string | null {
  if (typeof error !== 'object' || error === null || !('code' in error)) return null;
  return typeof error.code === 'string' && /^[A-Z0-9_]+$/.test(error.code) ? error.code : null;
}
