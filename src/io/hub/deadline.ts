import type { Timers } from '../../ports/index.ts';
import type { DurationMs } from '../../units/index.ts';

/** How a call to the hub failed, in the words the gate needs to tell "not sent" from "perhaps done". */
export type FailureKind = 'not-sent' | 'lost' | 'deadline' | 'refused';

export class CallFailure extends Error {
  override readonly name = 'CallFailure';
  readonly kind: FailureKind;
  /** The hub's own error code, where it gave one. */
  readonly code: string;
  constructor(kind: FailureKind, message: string, code = '') {
    super(message);
    this.kind = kind;
    this.code = code;
  }
}

export function asFailure(error: unknown): CallFailure {
  if (error instanceof CallFailure) return error;
  return new CallFailure('lost', error instanceof Error ? error.message : String(error));
}

/** Settles as `work` does, or fails after `limitMs`. The late result is dropped; nothing can stop the work itself. */
export async function withDeadline<T>(timers: Timers, limitMs: DurationMs, what: string, work: Promise<T>): Promise<T> {
  const late = Promise.withResolvers<never>();
  const cancel = timers.after(limitMs, `hub: ${what}`, () =>
    late.reject(new CallFailure('deadline', `no answer to ${what} within ${seconds(limitMs)}`)),
  );
  try {
    return await Promise.race([work, late.promise]);
  } finally {
    cancel();
    // Nobody may listen any more to the one that lost.
    work.catch(() => undefined);
  }
}

export function sleep(timers: Timers, ms: DurationMs, name: string): Promise<void> {
  return new Promise((resolve) => {
    timers.after(ms, name, resolve);
  });
}

export function seconds(ms: DurationMs): string {
  return `${Math.round(ms / 100) / 10} s`;
}
