import type { HubPort, System } from '../ports/index.ts';
import type { AppEvent } from './types.ts';

/** Alarms go to the log, to every listener and to the hub, whatever else is going on. */
export function createAlarms(deps: {
  readonly hub: HubPort;
  readonly system: System;
  readonly emit: (event: AppEvent) => void;
  readonly notifyServices: readonly string[];
}) {
  const { hub, system, emit, notifyServices } = deps;
  return {
    raise: (code: string, text: string): void => {
      system.log.error(`ALARM ${text}`);
      emit({ kind: 'alarm', at: system.clock.now(), code, text });
      hub
        .tell({ key: `slackwater_alarm_${code}`, title: 'Slackwater alarm', message: text }, notifyServices)
        .catch((error: unknown) => system.log.error(`the alarm did not reach the hub: ${String(error)}`));
    },
    /** Not an alarm: an answer for somebody who pressed a button in the hub and sees no console. */
    answer: (text: string): void => {
      system.log.info(text);
      hub
        .tell({ key: 'slackwater_answer', title: 'Slackwater', message: text }, [])
        .catch((error: unknown) => system.log.warn(`an answer did not reach the hub: ${String(error)}`));
    },
  };
}
