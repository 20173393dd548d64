import { problem } from '../errors/index.ts';
import type { Actor, Bounds, Measure, Part, PartId, PartLife } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { MINUTE_MS } from '../units/index.ts';
import type { JournalEntry } from './types.ts';
import { baselineOf, lifeUsage, type UsageSources, usageBefore } from './usage.ts';

/** Written as who fitted a part that the configuration says was there already. */
export const FROM_CONFIGURATION = 'configuration';

/**
 * All lives of each part, oldest first. What is stored wins; the configuration's date of fitting is life 1, also after
 * later ones were stored, so that the first set's life is not lost to learning.
 */
export const livesFrom = (
  parts: readonly Part[],
  stored: readonly PartLife[],
): ReadonlyMap<PartId, readonly PartLife[]> => {
  const lives = new Map<PartId, readonly PartLife[]>();
  for (const part of parts) {
    const isKept = (life: PartLife): boolean => life.part === part.id && life.undone === undefined;
    const kept = stored.filter(isKept).sort((a, b) => a.number - b.number);
    const next = kept[0];
    const { fittedAt } = part;
    if (fittedAt === undefined || next?.number === 1 || (next !== undefined && fittedAt >= next.fittedAt)) {
      lives.set(part.id, kept);
      continue;
    }
    const first: PartLife = { part: part.id, number: 1, fittedAt, fittedBy: FROM_CONFIGURATION };
    lives.set(part.id, next === undefined ? [first] : [{ ...first, removedAt: next.fittedAt }, ...kept]);
  }
  return lives;
};

/** The life a part is in now; parts nobody gave a date for have none. */
export const presentLives = (lives: ReadonlyMap<PartId, readonly PartLife[]>): ReadonlyMap<PartId, PartLife> => {
  const present = new Map<PartId, PartLife>();
  for (const [part, all] of lives) {
    const last = all.at(-1);
    if (last !== undefined && last.removedAt === undefined) present.set(part, last);
  }
  return present;
};

export const actorName = (actor: Actor): string =>
  actor.kind === 'unknown'
    ? `unknown (${actor.via})`
    : actor.kind === 'machine'
      ? `${actor.name} (machine)`
      : actor.name;

export type FitInput = {
  readonly part: Part;
  readonly present: PartLife | null;
  readonly now: InstantMs;
  /** When it was done; now or earlier, after the present one was fitted. */
  readonly fittedAt?: InstantMs;
  readonly by: Actor;
  readonly note?: string;
  readonly sources: UsageSources;
};

export type Fitted = {
  readonly ended: PartLife | null;
  readonly life: PartLife;
  readonly entry: Extract<JournalEntry, { kind: 'part-fitted' }>;
};

export const dateOf = (at: InstantMs): string => new Date(at).toISOString().slice(0, 16).replace('T', ' ');

/** Refuses what is still to come, and what lies behind the beginning of the one it follows. */
export const checkDate = (part: Part, fittedAt: InstantMs, now: InstantMs, previous: InstantMs | null): void => {
  if (fittedAt > now + MINUTE_MS) throw problem('SW-REC-003', { part: part.name, found: `${dateOf(fittedAt)} UTC` });
  if (previous !== null && fittedAt <= previous)
    throw problem('SW-REC-004', {
      part: part.name,
      found: `${dateOf(fittedAt)} UTC`,
      previous: `${dateOf(previous)} UTC`,
    });
};

/**
 * "Done": the old part's life ends with its usage, a new one begins. A part nobody gave a date for was its first life,
 * so the new one is the second. Back-dating is allowed, into the future or behind the present life is refused.
 */
export const fitPart = (input: FitInput): Fitted => {
  const { part, present, now, sources } = input;
  const fittedAt = input.fittedAt ?? now;
  // In a set of several ages nothing can have replaced a piece before it was there.
  const youngest = present === null ? null : Math.max(present.fittedAt, ...(present.pieces ?? []).map(fittedAtOf));
  checkDate(part, fittedAt, now, youngest);
  const baseline = baselineOf(part, fittedAt, now, sources);
  const life: PartLife = {
    part: part.id,
    number: (present?.number ?? 1) + 1,
    fittedAt,
    fittedBy: actorName(input.by),
    baseline,
    // A new or overhauled one in the same place of the rotation.
    ...(present?.spare === undefined ? {} : { spare: present.spare }),
  };
  const usageAtRemoval = removedUsage(input, life);
  return {
    ended: present === null ? null : { ...present, removedAt: fittedAt, usageAtRemoval },
    life,
    entry: {
      v: 1,
      kind: 'part-fitted',
      at: now,
      part: part.id,
      life: life.number,
      fittedAt,
      by: life.fittedBy,
      note: input.note ?? '',
      usageAtRemoval,
      baseline,
    },
  };
};

const fittedAtOf = ({ fittedAt }: { readonly fittedAt: InstantMs }): InstantMs => fittedAt;

/** What the old one had at its removal: all until now, less what the new one already has when back-dated. */
export const removedUsage = (
  { part, present, now, sources }: Pick<FitInput, 'part' | 'present' | 'now' | 'sources'>,
  fresh: PartLife,
): Readonly<Partial<Record<Measure, Bounds>>> => {
  // Only what the counters add is taken off; a past that the new one brought along is none of the old one's.
  const { carried: _, ...life } = fresh;
  const since = new Map(lifeUsage(part, life, now, sources).map((usage) => [usage.measure, usage]));
  const removed: Partial<Record<Measure, Bounds>> = {};
  for (const whole of lifeUsage(part, present, now, sources)) {
    const later = since.get(whole.measure);
    if (whole.countingSince !== null && later !== undefined) removed[whole.measure] = usageBefore(whole, later);
  }
  return removed;
};
