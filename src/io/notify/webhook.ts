import type { AlarmMessage, AlarmPath, Timers } from '../../ports/index.ts';
import type { DurationMs } from '../../units/index.ts';
import { ask } from './http.ts';
import { createRetry, TRY_AGAIN, type Tried, type TryAgain } from './retry.ts';

/** Each alarm as a POST of JSON. Taken is any answer of the 200s. */
export function createWebhookPath(options: {
  readonly url: string;
  readonly authorization?: string;
  readonly timers: Timers;
  readonly deadlineMs?: DurationMs;
  readonly tryAgain?: TryAgain;
  readonly fetch?: typeof fetch;
}): AlarmPath {
  const { url, authorization, deadlineMs } = options;
  const attempt = async (message: AlarmMessage): Promise<Tried> => {
    const { status, detail } = await ask({
      url,
      method: 'POST',
      body: bodyOf(message),
      ...(authorization === undefined ? {} : { authorization }),
      ...(deadlineMs === undefined ? {} : { deadlineMs }),
      ...(options.fetch === undefined ? {} : { fetch: options.fetch }),
    });
    const sent = status !== null && status >= 200 && status < 300;
    // What is refused as it stands is refused again; too many, too slow and a fault of the other side may pass.
    const again = !sent && (status === null || status === 408 || status === 429 || status >= 500);
    return { sent, again, detail };
  };
  const { send, stop } = createRetry(options.timers, options.tryAgain ?? TRY_AGAIN, attempt);
  return { name: 'webhook', send, stop };
}

const bodyOf = ({ key, kind, title, text, at, tank, simulated }: AlarmMessage) => ({
  key,
  kind,
  title,
  text,
  at: new Date(at).toISOString(),
  tank,
  ...(simulated ? { simulated } : {}),
});
