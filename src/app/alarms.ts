import type { HubPort, System } from '../ports/index.ts';
import type { AppEvent } from './types.ts';

const ANSWER = 'slackwater_answer';

type Message = { readonly key: string; readonly title: string; readonly message: string };

/** Alarms go to the log, to every listener and to the hub, whatever else is going on. */
export function createAlarms(deps: {
  readonly hub: HubPort;
  readonly system: System;
  readonly emit: (event: AppEvent) => void;
  readonly notifyServices: readonly string[];
}) {
  const { hub, system, emit, notifyServices } = deps;
  /** Raised while the hub could not take them, the newest of each kind. */
  const untold = new Map<string, Message>();
  let hasAnswered = false;
  const tell = (message: Message): void => {
    hub.tell(message, notifyServices).catch((error: unknown) => {
      untold.set(message.key, message);
      system.log.error(`the alarm did not reach the hub; it is told when the hub is back: ${String(error)}`);
    });
  };
  return {
    raise: (code: string, text: string): void => {
      system.log.error(`ALARM ${text}`);
      emit({ kind: 'alarm', at: system.clock.now(), code, text });
      const message = { key: `slackwater_alarm_${code}`, title: 'Slackwater alarm', message: text };
      untold.delete(message.key);
      tell(message);
    },
    hubCameBack: (): void => {
      const waiting = [...untold.values()];
      untold.clear();
      for (const message of waiting) tell(message);
    },
    /** Not an alarm: an answer for somebody who pressed a button in the hub and sees no console. */
    answer: (text: string): void => {
      system.log.info(text);
      hasAnswered = true;
      hub
        .tell({ key: ANSWER, title: 'Slackwater', message: text }, [])
        .catch((error: unknown) => system.log.warn(`an answer did not reach the hub: ${String(error)}`));
    },
    /** A later press was taken: what the last one was told no longer holds. */
    answerOver: (): void => {
      if (!hasAnswered) return;
      hasAnswered = false;
      hub
        .clearNotification(ANSWER, [])
        .catch((error: unknown) => system.log.warn(`an answer could not be taken back: ${String(error)}`));
    },
  };
}
