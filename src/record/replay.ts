import type { PartId } from '../model/index.ts';
import type { SessionEvent } from '../procedure/index.ts';
import type { OpenReminder } from '../remind/index.ts';
import type { InstantMs } from '../units/index.ts';
import type { JournalRow } from './types.ts';

/**
 * Reminders that were raised and not cleared. One that was being sent when the service stopped is `sending`: it goes out
 * again under its old key and token, where the hub replaces rather than repeats it.
 */
export const openReminders = (rows: readonly JournalRow[]): readonly OpenReminder[] => {
  const open = new Map<string, OpenReminder>();
  for (const { entry } of rows) {
    if (entry.kind !== 'reminder') continue;
    if (entry.change === 'cleared') {
      open.delete(entry.key);
      continue;
    }
    const before = open.get(entry.key);
    open.set(entry.key, {
      key: entry.key,
      part: entry.part ?? before?.part ?? '',
      life: entry.life ?? before?.life ?? 1,
      word: entry.word ?? before?.word ?? 'due',
      token: entry.token,
      state: entry.change,
    });
  }
  return [...open.values()];
};

export type PutOff = { readonly until: InstantMs; readonly by: string; readonly at: InstantMs };

/** The latest "later" of each part. Fitting a new part ends it; taking that back brings it back. */
export const putOffs = (rows: readonly JournalRow[]): ReadonlyMap<PartId, PutOff> => {
  const found = new Map<PartId, PutOff>();
  const ended = new Map<number, PutOff>();
  for (const { seq, entry } of rows) {
    if (entry.kind === 'put-off') found.set(entry.part, { until: entry.until, by: entry.by, at: entry.at });
    if (entry.kind === 'part-fitted' || entry.kind === 'spare-fitted' || entry.kind === 'piece-fitted') {
      const open = found.get(entry.part);
      if (open !== undefined) ended.set(seq, open);
      found.delete(entry.part);
    }
    if (entry.kind === 'part-undone') {
      const open = ended.get(entry.undoes);
      if (open !== undefined) found.set(entry.part, open);
    }
  }
  return found;
};

/** Kinds that `putOffs` goes by. */
export const PUT_OFF_KINDS = ['put-off', 'part-fitted', 'spare-fitted', 'piece-fitted', 'part-undone'] as const;

/** One session's events in the order they were stored. */
export const sessionEvents = (rows: readonly JournalRow[], session: string): readonly SessionEvent[] =>
  rows.flatMap(({ entry }) => (entry.kind === 'session-event' && entry.session === session ? [entry.event] : []));

export type OpenSession = { readonly session: string; readonly events: readonly SessionEvent[] };

/**
 * The session to replay after a start, if the latest one has not ended. Whether it has is the engine's to say: `hasEnded`
 * replays the events. A tank has one session at a time, so older ones have ended.
 */
export const openSession = (
  rows: readonly JournalRow[],
  hasEnded: (events: readonly SessionEvent[]) => boolean,
): OpenSession | null => {
  for (const { entry } of [...rows].reverse()) {
    if (entry.kind !== 'session-event') continue;
    const events = sessionEvents(rows, entry.session);
    return hasEnded(events) ? null : { session: entry.session, events };
  }
  return null;
};
