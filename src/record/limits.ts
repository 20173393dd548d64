import type { Life } from '../forecast/index.ts';
import type { Limit, Measure, Part, PartId, PartLife, Usage } from '../model/index.ts';
import type { InstantMs } from '../units/index.ts';
import { DAY_MS } from '../units/index.ts';
import type { JournalRow } from './types.ts';

/** A limit that a keeper took instead of the configuration's. */
export type AcceptedLimit = {
  readonly part: PartId;
  readonly measure: Measure;
  readonly amount: number;
  /** What the configuration said then. Where it says something else now, that is the newer word. */
  readonly configured: number;
  readonly at: InstantMs;
  readonly by: string;
};

const keyOf = (part: PartId, measure: Measure): string => `${part} ${measure}`;

/** The latest word on each limit; one that was given back to the configuration is gone. */
export const acceptedLimits = (rows: readonly JournalRow[]): readonly AcceptedLimit[] => {
  const found = new Map<string, AcceptedLimit>();
  for (const { entry } of rows) {
    if (entry.kind !== 'limit-set') continue;
    const { part, measure, amount, configured, at, by } = entry;
    if (entry.change === 'given-back') found.delete(keyOf(part, measure));
    else found.set(keyOf(part, measure), { part, measure, amount, configured, at, by });
  }
  return [...found.values()];
};

/** Accepted limits as they apply to a part: a safety part's is never longer than the configuration's. */
export const limitInForce = (part: Part, limit: Limit, accepted: readonly AcceptedLimit[]): AcceptedLimit | null => {
  const own = accepted.find((one) => one.part === part.id && one.measure === limit.measure);
  if (own === undefined || own.configured !== limit.amount) return null;
  return part.safety && own.amount > limit.amount ? null : own;
};

export const withAcceptedLimits = (parts: readonly Part[], accepted: readonly AcceptedLimit[]): readonly Part[] =>
  parts.map((part) => {
    if (!accepted.some((one) => one.part === part.id)) return part;
    const limits = part.limits.map((limit) => ({
      ...limit,
      amount: limitInForce(part, limit, accepted)?.amount ?? limit.amount,
    }));
    return { ...part, limits };
  });

/**
 * What the lives of a part and of those like it (same kind, same limit) say: those found worn out, those ended in time, and
 * the present one, which has lasted so far.
 */
export const livesToLearnFrom = (
  part: Part,
  limit: Limit,
  parts: readonly Part[],
  lives: ReadonlyMap<PartId, readonly PartLife[]>,
  present: (part: Part) => readonly Usage[],
): readonly Life[] =>
  parts
    .filter((one) => one.kind === part.kind && one.limits.some((own) => sameLimit(own, limit)))
    .flatMap((one) => {
      const past = (lives.get(one.id) ?? []).flatMap((life) => pastLife(life, limit.measure));
      const now = present(one).find((usage) => usage.measure === limit.measure);
      const lasts = now === undefined || now.countingSince === null || now.best <= 0 ? [] : [now.best];
      return [...past, ...lasts.map((used) => ({ used, worn: false }))];
    });

const sameLimit = (one: Limit, other: Limit): boolean => one.measure === other.measure && one.amount === other.amount;

const pastLife = (life: PartLife, measure: Measure): readonly Life[] => {
  if (life.removedAt === undefined) return [];
  const age = (life.removedAt - life.fittedAt) / DAY_MS;
  const used = life.usageAtRemoval?.[measure]?.best ?? (measure === 'days' ? age : null);
  return used === null || used <= 0 ? [] : [{ used, worn: life.endedBy === 'worn' }];
};
