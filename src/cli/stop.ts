/** Why a command ended early: somebody asked for it. */
export class StopAsked extends Error {
  override readonly name = 'StopAsked';
}

/** Aborts on the first interrupt or termination. A second one ends the process at once. */
export function stopSignal(): AbortSignal {
  const controller = new AbortController();
  const once = (): void => {
    process.off('SIGINT', once);
    process.off('SIGTERM', once);
    controller.abort(new StopAsked('stopped'));
  };
  process.on('SIGINT', once);
  process.on('SIGTERM', once);
  return controller.signal;
}

/** Resolves when the signal aborts. */
export function untilAborted(signal: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    if (signal.aborted) resolve();
    else signal.addEventListener('abort', () => resolve(), { once: true });
  });
}

/** The work's result, or the signal's reason thrown where that comes first. What the work does then is nobody's concern. */
export async function unlessAborted<T>(work: Promise<T>, signal: AbortSignal | undefined): Promise<T> {
  if (signal === undefined) return work;
  work.catch(() => undefined);
  await Promise.race([work, untilAborted(signal)]);
  signal.throwIfAborted();
  return work;
}
