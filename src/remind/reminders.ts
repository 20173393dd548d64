import type { PartId, PartLife } from '../model/index.ts';
import { isDue } from './standing.ts';
import type { OpenReminder, Reminder, ReminderAction, ReminderEffect, Standing } from './types.ts';

/**
 * A raised reminder stays until its part is clearly below the limit again, so that a count settling by a few minutes
 * around the limit neither clears nor tells anything twice.
 */
export const KEEP_ABOVE_SHARE = 0.98;

const safe = (id: string): string => id.toLowerCase().replace(/[^a-z0-9]+/g, '_');

/** Stable name of the one notification a part may have in a life; only characters every notifier takes. */
export const reminderKey = (part: PartId, life: number): string => `slackwater_${safe(part)}_${life}`;

export type RemindersInput = {
  readonly open: readonly OpenReminder[];
  readonly standings: readonly Standing[];
  /** Present life per part. */
  readonly lives: ReadonlyMap<PartId, PartLife>;
  readonly newToken: () => string;
};

/** What to raise and what to clear so that the hub shows each part that is due once, and nothing else. */
export const reminders = (input: RemindersInput): readonly ReminderEffect[] => {
  const openByKey = new Map(input.open.map((one) => [one.key, one]));
  const keep = new Set<string>();
  const effects: ReminderEffect[] = [];
  for (const standing of input.standings) {
    const life = input.lives.get(standing.part)?.number ?? 1;
    const key = reminderKey(standing.part, life);
    const open = openByKey.get(key);
    if (standing.putOffUntil !== null) continue;
    if (!isDue(standing.word)) {
      // Unknown is not fine: a reminder is not taken back because the hub can't be read.
      if (open !== undefined && (standing.word === 'unknown' || (standing.share ?? 0) >= KEEP_ABOVE_SHARE))
        keep.add(key);
      continue;
    }
    keep.add(key);
    const isTold =
      open !== undefined && open.state === 'raised' && (open.word === standing.word || open.word === 'overdue');
    if (!isTold)
      effects.push({ kind: 'raise', reminder: reminderOf(standing, key, life, open?.token ?? input.newToken()) });
  }
  for (const { key } of input.open) if (!keep.has(key)) effects.push({ kind: 'clear', key });
  return effects;
};

export const reminderOf = (standing: Standing, key: string, life: number, token: string): Reminder => ({
  key,
  part: standing.part,
  life,
  word: standing.word,
  title: `${standing.word === 'overdue' ? 'Overdue' : 'Due'}: ${standing.name}`,
  message: `${standing.reason}. Answer "done" when it is replaced or serviced, "later" to put it off.`,
  token,
});

/** What a notification's button carries back, followed by the token that makes an answer ours. */
export const ACTION_WORDS: Readonly<Record<ReminderAction, string>> = {
  done: 'SW_DONE_',
  later: 'SW_LATER_',
  open: 'SW_OPEN_',
};

export const actionText = (action: ReminderAction, token: string): string => `${ACTION_WORDS[action]}${token}`;

export type Answer = {
  readonly action: ReminderAction;
  readonly part: PartId;
  readonly life: number;
  readonly key: string;
};

/**
 * Who a pressed notification button belongs to. A token counts only while its reminder is open; "done" and "later"
 * close it, so the same press from a second phone finds nothing.
 */
export const answerOf = (text: string, open: readonly OpenReminder[]): Answer | null => {
  for (const action of ['done', 'later', 'open'] as const) {
    const found = open.find((one) => actionText(action, one.token) === text);
    if (found !== undefined) return { action, part: found.part, life: found.life, key: found.key };
  }
  return null;
};
