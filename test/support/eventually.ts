import { setTimeout as delay } from 'node:timers/promises';

/**
 * Asks again until `probe` gives something other than undefined/false. The limit is only there so that a broken run ends;
 * it is generous because the machine may be busy, and no test may conclude anything from how long it took.
 */
export async function eventually<T>(
  what: string,
  probe: () => Promise<T | undefined | false> | T | undefined | false,
  options: { readonly limitMs?: number; readonly everyMs?: number } = {},
): Promise<T> {
  const { limitMs = 30_000, everyMs = 25 } = options;
  const giveUpAt = performance.now() + limitMs;
  let lastError: unknown;
  for (;;) {
    try {
      const found = await probe();
      if (found !== undefined && found !== false) return found;
      lastError = undefined;
    } catch (error) {
      lastError = error;
    }
    if (performance.now() > giveUpAt) {
      throw new Error(
        `waited ${limitMs / 1000} s in vain: ${what}`,
        lastError === undefined ? {} : { cause: lastError },
      );
    }
    await delay(everyMs);
  }
}
