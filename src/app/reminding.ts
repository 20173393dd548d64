import type { PartId, PartLife } from '../model/index.ts';
import type { HubPort, StorePort, System } from '../ports/index.ts';
import { openReminders } from '../record/index.ts';
import {
  type Answer,
  answerOf,
  type OpenReminder,
  type Reminder,
  reminderOf,
  reminders,
  type Standing,
} from '../remind/index.ts';
import type { Loop } from './loop.ts';

export type Reminding = {
  /** Raises and clears so that the hub shows each part that is due once. */
  update(standings: readonly Standing[], lives: ReadonlyMap<PartId, PartLife>): void;
  /** Whose reminder a notification's button belongs to; null when it is none of ours or already answered. */
  answer(action: string): Answer | null;
  /** Posted notifications do not survive that: the next update posts them again, without pushing them a second time. */
  hubRestarted(): void;
};

type Deps = {
  readonly hub: HubPort;
  readonly store: StorePort;
  readonly system: System;
  readonly loop: Loop;
  readonly notifyServices: readonly string[];
};

/**
 * Each reminder is written down before it is sent and again when the hub has it. One found half-way after a crash is
 * looked up in the hub first, so that nobody is told twice.
 */
export function createReminding({ hub, store, system, loop, notifyServices }: Deps): Reminding {
  let open: readonly OpenReminder[] = openReminders(store.journal(['reminder']));
  /** Told before, but the hub has lost its notification since. */
  const lost = new Set<string>();
  const inFlight = new Set<string>();
  const warned = new Set<string>();

  const journal = (reminder: Reminder, change: 'sending' | 'raised' | 'cleared'): void => {
    const { key, token, part, life, word } = reminder;
    store.append({ v: 1, kind: 'reminder', at: system.clock.now(), key, change, token, part, life, word });
    open = openReminders(store.journal(['reminder']));
  };
  const warnMissing = (services: readonly string[]): void => {
    for (const service of services.filter((one) => !warned.has(one))) {
      warned.add(service);
      system.log.warn(`the hub has no ${service} at the moment; the notification went to the hub itself only`);
    }
  };
  const raise = (reminder: Reminder, services: readonly string[]): void => {
    inFlight.add(reminder.key);
    hub.notify(reminder, services).then(
      ({ missingServices }) =>
        loop.enqueue('reminder raised', () => {
          inFlight.delete(reminder.key);
          journal(reminder, 'raised');
          warnMissing(missingServices);
        }),
      (error: unknown) =>
        loop.enqueue('reminder failed', () => {
          inFlight.delete(reminder.key);
          system.log.warn(`a reminder could not be sent yet: ${String(error)}`);
        }),
    );
  };
  const clear = (key: string): void => {
    const known = open.find((one) => one.key === key);
    if (known === undefined) return;
    journal({ ...known, title: '', message: '' }, 'cleared');
    lost.delete(key);
    hub
      .clearNotification(key, notifyServices)
      .catch((error: unknown) => system.log.warn(`a notification could not be cleared: ${String(error)}`));
  };

  const postAgain = (standing: Standing): void => {
    const known = open.find(({ part, key }) => part === standing.part && lost.has(key));
    if (known === undefined) return;
    lost.delete(known.key);
    hub.notify(reminderOf(standing, known.key, known.life, known.token), []).catch((error: unknown) => {
      lost.add(known.key);
      system.log.warn(`a notification could not be posted again yet: ${String(error)}`);
    });
  };

  return {
    update: (standings, lives) => {
      const effects = reminders({ open, standings, lives, newToken: () => system.random.token() });
      for (const effect of effects) {
        if (effect.kind === 'clear') {
          clear(effect.key);
          continue;
        }
        lost.delete(effect.reminder.key);
        if (inFlight.has(effect.reminder.key)) continue;
        journal(effect.reminder, 'sending');
        raise(effect.reminder, notifyServices);
      }
      for (const standing of standings) postAgain(standing);
    },
    answer: (action) => answerOf(action, open),
    hubRestarted: () => {
      for (const { key } of open) lost.add(key);
    },
  };
}
