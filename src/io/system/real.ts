import { randomBytes } from 'node:crypto';
import { uptime } from 'node:os';
import type { Clock, Random, System, Timers } from '../../ports/index.ts';
import { type LogOptions, lineLog } from './log.ts';

/** Node's own limit; a longer delay would fire at once. */
const LONGEST_TIMEOUT_MS = 2_147_483_647;

/** 18 bytes are 24 characters without padding: unguessable and short enough for a notification's action. */
const TOKEN_BYTES = 18;

export const realClock: Clock = {
  now: () => Date.now(),
  monotonicMs: () => performance.now(),
  sinceBootMs: () => uptime() * 1000,
};

export const realRandom: Random = {
  token: () => randomBytes(TOKEN_BYTES).toString('base64url'),
};

export type RealTimers = Timers & {
  /** Names of what is still waiting, for diagnostics. */
  waiting(): readonly string[];
};

export type TimerOptions = {
  /** A waiting timer does not keep the process alive (default: it does). */
  readonly background?: boolean;
};

export function realTimers({ background = false }: TimerOptions = {}): RealTimers {
  const names = new Map<symbol, string>();
  return {
    after(delayMs, name, fn) {
      const key = Symbol(name);
      const dueAt = performance.now() + Math.max(0, delayMs);
      let handle: NodeJS.Timeout;
      const arm = (): void => {
        const left = Math.max(0, dueAt - performance.now());
        handle = setTimeout(left > LONGEST_TIMEOUT_MS ? arm : run, Math.min(left, LONGEST_TIMEOUT_MS));
        if (background) handle.unref();
      };
      const run = (): void => {
        names.delete(key);
        fn();
      };
      names.set(key, name);
      arm();
      return () => {
        names.delete(key);
        clearTimeout(handle);
      };
    },
    waiting: () => [...names.values()],
  };
}

/** Clock, timers, random and log of this machine. */
export function realSystem(options: LogOptions & TimerOptions = {}): System {
  return { clock: realClock, timers: realTimers(options), random: realRandom, log: lineLog(realClock, options) };
}
