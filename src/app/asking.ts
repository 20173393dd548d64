import type { Question, StorePort, System } from '../ports/index.ts';
import type { createAlarms } from './alarms.ts';

/** Questions that only a keeper can answer: kept in the store, told once, and on every surface until they are answered. */
export function createAsking({
  store,
  system,
  alarms,
}: {
  readonly store: StorePort;
  readonly system: System;
  readonly alarms: Pick<ReturnType<typeof createAlarms>, 'notice' | 'over'>;
}) {
  return {
    ask(question: Omit<Question, 'askedAt'>): void {
      if (!store.putQuestion({ ...question, askedAt: system.clock.now() })) return;
      alarms.notice(question.id, 'Slackwater asks', `${question.text} ${answerWith('Answer with', question.id)}`);
    },
    /** It was settled without a word. */
    settled(id: string, choice: string): void {
      store.answerQuestion(id, { at: system.clock.now(), by: 'the service', choice });
      alarms.over(id);
    },
  };
}

export const answerWith = (lead: string, id: string): string => `${lead}: slackwater answer ${id} yes`;
