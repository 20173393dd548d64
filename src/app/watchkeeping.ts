import type { HubHandlers } from '../ports/index.ts';
import type { SessionState } from '../procedure/index.ts';
import { type InstantMs, SECOND_MS } from '../units/index.ts';
import { createOutside } from './alarm-paths.ts';
import { createAlarms } from './alarms.ts';
import type { Loop } from './loop.ts';
import { createProtection } from './protection.ts';
import type { AppOptions } from './service.ts';
import { createStartUpQuestions } from './start-up-questions.ts';
import type { AppEvent } from './types.ts';

/** Alarms with every way they have, and what watches outside sessions, wired to one another. */
export function createWatchkeeping(
  options: AppOptions,
  { loop, emit, show }: { readonly loop: Loop; readonly emit: (event: AppEvent) => void; readonly show: () => void },
) {
  const { config, hub, store, system, simulated } = options;
  const { name: tank, notifyServices } = config.tank;
  const timeFactor = options.timeFactor ?? 1;
  const outside = createOutside({ paths: options.alarmPaths ?? [], system, tank, simulated });
  const alarms = createAlarms({ hub, system, emit, notifyServices, outside });
  const protection = createProtection({
    ...{ config, hub, store, system, loop, alarms, timeFactor },
    tickMs: options.tickMs ?? SECOND_MS / timeFactor,
    heartbeat: options.heartbeat ?? null,
    onChange: show,
  });
  const askStartUp = createStartUpQuestions({ tank: config.tank, store, system, alarms });
  /** A session changed. */
  const sessionChanged = (state: SessionState | null, at: InstantMs): void => {
    protection.session(state, at);
    if (state !== null) askStartUp(state);
  };
  const stopWatch = (): void => {
    protection.stop();
    outside.stop();
  };
  return { outside, alarms, protection, sessionChanged, stopWatch };
}

type Readings = Parameters<HubHandlers['onReadings']>[0];

/** Guards see every reading first: what they do is a matter of seconds. */
export const readingsTo =
  (loop: Loop, takers: readonly ((readings: Readings) => void)[]): HubHandlers['onReadings'] =>
  (readings) => {
    for (const take of takers) loop.enqueue('readings', () => take(readings));
  };
