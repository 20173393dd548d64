import type { Heartbeat } from '../../ports/index.ts';
import type { DurationMs } from '../../units/index.ts';
import { ask } from './http.ts';

/** Called as long as the service's own loop turns; whatever listens there notices when it stops. */
export function createHeartbeat(options: {
  readonly url: string;
  readonly method: 'GET' | 'POST';
  readonly everyMs: DurationMs;
  readonly deadlineMs?: DurationMs;
  readonly fetch?: typeof fetch;
}): Heartbeat {
  const { url, method, everyMs, deadlineMs } = options;
  return {
    everyMs,
    async beat({ tank, at, hub }) {
      const { status, detail } = await ask({
        url,
        method,
        ...(method === 'POST' ? { body: { tank, at: new Date(at).toISOString(), hub } } : {}),
        ...(deadlineMs === undefined ? {} : { deadlineMs }),
        ...(options.fetch === undefined ? {} : { fetch: options.fetch }),
      });
      return { heard: status !== null && status >= 200 && status < 300, detail };
    },
  };
}
