import type { DurationMs, InstantMs } from '../units/index.ts';

export type Clock = {
  /** Wall time, for calendars and records. */
  now(): InstantMs;
  /** Never jumps; for deadlines. */
  monotonicMs(): DurationMs;
  /** Since the machine was started, the time it slept included; where it cannot tell, the other stands in. */
  sinceBootMs?(): DurationMs;
};

export type Timers = {
  /** Runs `fn` once after `delayMs` (of the clock's time). `name` shows in diagnostics. Returns a cancel function. */
  after(delayMs: DurationMs, name: string, fn: () => void): () => void;
};

export type Random = {
  /** Unguessable text, URL-safe, for nonces and tokens. */
  token(): string;
};

export type Log = {
  info(text: string): void;
  warn(text: string): void;
  error(text: string): void;
};

export type System = { readonly clock: Clock; readonly timers: Timers; readonly random: Random; readonly log: Log };
