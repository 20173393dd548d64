import type { HubPort, System } from '../ports/index.ts';
import type { Outside } from './alarm-paths.ts';
import type { AppEvent } from './types.ts';

const ANSWER = 'slackwater_answer';

const keyOf = (code: string): string => `slackwater_alarm_${code}`;

type Message = { readonly key: string; readonly title: string; readonly message: string };

/** Alarms go to the log, to every listener, to the hub and on every way that does not pass through it. */
export function createAlarms(deps: {
  readonly hub: HubPort;
  readonly system: System;
  readonly emit: (event: AppEvent) => void;
  readonly notifyServices: readonly string[];
  readonly outside?: Outside;
}) {
  const { hub, system, emit, notifyServices, outside } = deps;
  /** Over, but the hub was away and still shows it. */
  const overUntold = new Set<string>();
  /** Raised while the hub could not take them, the newest of each kind. */
  const untold = new Map<string, Message>();
  let hasAnswered = false;
  const tell = (message: Message): void => {
    hub.tell(message, notifyServices).catch((error: unknown) => {
      untold.set(message.key, message);
      system.log.error(`the alarm did not reach the hub; it is told when the hub is back: ${String(error)}`);
    });
  };
  const clear = (key: string): void => {
    hub.clearNotification(key, notifyServices).catch((error: unknown) => {
      overUntold.add(key);
      system.log.warn(`what is over could not be taken back in the hub yet: ${String(error)}`);
    });
  };
  return {
    raise: (code: string, text: string): void => {
      system.log.error(`ALARM ${text}`);
      emit({ kind: 'alarm', at: system.clock.now(), code, text });
      const message = { key: keyOf(code), title: 'Slackwater alarm', message: text };
      untold.delete(message.key);
      overUntold.delete(message.key);
      outside?.tell('alarm', code, text);
      tell(message);
    },
    /** Its cause is gone: it goes wherever it was shown. */
    over: (code: string): void => {
      untold.delete(keyOf(code));
      outside?.tell('over', code, 'This alarm is over.');
      clear(keyOf(code));
    },
    /** Something to know or to answer, not an alarm: shown in the hub and on the phones until it is taken back. */
    notice: (code: string, title: string, text: string): void => {
      system.log.info(text);
      overUntold.delete(keyOf(code));
      tell({ key: keyOf(code), title, message: text });
    },
    hubCameBack: (): void => {
      const waiting = [...untold.values()];
      untold.clear();
      const over = [...overUntold];
      overUntold.clear();
      for (const key of over) clear(key);
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
