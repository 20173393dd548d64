import type { Reach } from '../forecast/index.ts';
import { foresee, reachByAge } from '../forecast/index.ts';
import type { Limit, Measure, Part, PartLife, Usage } from '../model/index.ts';
import type { DurationMs, InstantMs } from '../units/index.ts';
import { DAY_MS } from '../units/index.ts';
import { type DatedFinding, firstForeseen, pressing } from './condition.ts';
import { reasonOf } from './reason.ts';
import type { RemindSettings, Standing, StandingWord } from './types.ts';

/** "overdue" from this share of the limit … (common practice, no source) */
export const OVERDUE_SHARE = 1.05;
/** … or when the limit was reached longer ago than this. (common practice, no source) */
export const OVERDUE_AFTER_MS: DurationMs = 7 * DAY_MS;

export type StandingInput = {
  readonly part: Part;
  /** Null: nobody has said when the part was fitted. */
  readonly life: PartLife | null;
  /** Usage in the present life, by measure. */
  readonly usages: readonly Usage[];
  /** Daily use by measure, oldest first, as far back as known; measures without one get no date. */
  readonly dailyUse: Readonly<Partial<Record<Measure, readonly number[]>>>;
  readonly now: InstantMs;
  readonly settings: RemindSettings;
  readonly timeZone: string;
  readonly putOff?: { readonly until: InstantMs; readonly by: string } | null;
  /** What is found of its condition now. It can only bring the part forward. */
  readonly findings?: readonly DatedFinding[];
};

/** One limit of a part, judged by itself. */
export type Judged = {
  readonly measure: Measure;
  readonly used: Usage;
  readonly limit: number;
  readonly share: number;
  readonly reach: Reach | null;
  readonly restsOn: string | null;
  readonly word: StandingWord;
  /** Reached by the upper bound only: a safety part is due then, another may be. */
  readonly maybeReached: boolean;
};

/**
 * Words of a single limit, worst first.
 *
 * - overdue: reached, and by now 5 % past the limit (and at least a day) or reached more than 7 days ago.
 * - due: the best figure has reached the limit; for a safety part already when the upper bound has.
 * - near: from `nearShare` of the limit, or when its likely date is within `nearMs`.
 * - order: the spare's lead time reaches to the likely date or past it.
 * - unknown: nothing was ever counted for the measure, or nobody said when the part was fitted.
 * - fine: none of these.
 *
 * The part takes the worst word of its limits: the first limit reached wins. A limit that can't be judged turns "fine"
 * into "unknown" and never hides anything worse.
 */
const SEVERITY: Readonly<Record<StandingWord, number>> = { fine: 0, unknown: 1, order: 2, near: 3, due: 4, overdue: 5 };

const judge = (limit: Limit, input: StandingInput): Judged => {
  const { part, life, now, settings } = input;
  const found = input.usages.find((usage) => usage.measure === limit.measure);
  const used = found ?? { measure: limit.measure, low: 0, best: 0, high: 0, countingSince: null };
  const ask = { used, limit: limit.amount, now, ...(life === null ? {} : { notBefore: life.fittedAt }) };
  const counted = used.countingSince !== null;
  const foreseen = !counted
    ? null
    : limit.measure === 'days'
      ? { reach: reachByAge(ask), restsOn: null }
      : foresee({ ...ask, dailyUse: input.dailyUse[limit.measure] ?? [] });
  const reach = foreseen?.reach ?? null;
  const share = used.best / limit.amount;
  const isReached = used.best >= limit.amount;
  const maybeReached = !isReached && used.high >= limit.amount;
  const word = ((): StandingWord => {
    if (isReached) return isOverdue(share, reach, now) ? 'overdue' : 'due';
    if (maybeReached && part.safety) return 'due';
    if (share >= settings.nearShare || (reach !== null && reach.likely - now <= settings.nearMs)) return 'near';
    if (reach !== null && part.leadTimeMs !== undefined && reach.likely - part.leadTimeMs <= now) return 'order';
    return counted && life !== null ? 'fine' : 'unknown';
  })();
  return {
    measure: limit.measure,
    used,
    limit: limit.amount,
    share,
    reach,
    restsOn: foreseen?.restsOn ?? null,
    word,
    maybeReached,
  };
};

const isOverdue = (share: number, reach: Reach | null, now: InstantMs): boolean => {
  if (reach === null) return share >= OVERDUE_SHARE;
  const sinceMs = now - reach.likely;
  return sinceMs > OVERDUE_AFTER_MS || (share >= OVERDUE_SHARE && sinceMs >= DAY_MS);
};

/** The worst word decides; among equals the earliest date, then the larger share. */
const firstOf = (judged: readonly Judged[]): Judged | null =>
  [...judged].sort(
    (a, b) =>
      SEVERITY[b.word] - SEVERITY[a.word] ||
      (a.reach?.likely ?? Number.MAX_SAFE_INTEGER) - (b.reach?.likely ?? Number.MAX_SAFE_INTEGER) ||
      b.share - a.share,
  )[0] ?? null;

/** Where a part stands, against whichever of its limits comes first. */
export const standingOf = (input: StandingInput): Standing => {
  const { part, now } = input;
  const judged = part.limits.map((limit) => judge(limit, input));
  const first = firstOf(judged);
  const found = pressing(part, input.findings ?? []);
  const byCondition = firstForeseen(found);
  const isFirst = byCondition !== null && byCondition.reach.likely < (first?.reach?.likely ?? Number.MAX_SAFE_INTEGER);
  const dates = isFirst ? byCondition : first === null ? null : { reach: first.reach, restsOn: first.restsOn };
  const byUsage = first?.word ?? 'unknown';
  const word = found.reduce<StandingWord>((worst, one) => worse(worst, one.word), byUsage);
  const putOff = input.putOff !== undefined && input.putOff !== null && input.putOff.until > now ? input.putOff : null;
  return {
    part: part.id,
    name: part.name,
    word,
    reason: reasonOf({ ...input, putOff, findings: found }, first, judged),
    measure: first?.measure ?? null,
    used: first?.used ?? null,
    limit: first?.limit ?? null,
    share: first === null || first.used.countingSince === null ? null : first.share,
    reachedAt: dates?.reach ?? null,
    restsOn: dates?.restsOn ?? null,
    putOffUntil: putOff?.until ?? null,
    all: judged.map(({ measure, used, limit }) => ({ measure, used, limit })),
    ...(found.length === 0
      ? {}
      : { found: found.map(({ kind, sure, since, evidence }) => ({ kind, sure, since, evidence })) }),
  };
};

const worse = (a: StandingWord, b: StandingWord | null): StandingWord =>
  b !== null && SEVERITY[b] > SEVERITY[a] ? b : a;

/** Is this a word that asks for the job now? */
export const isDue = (word: StandingWord): boolean => word === 'due' || word === 'overdue';

/** Worst first, then the earliest date: the order every list shows. */
export const byUrgency = (a: Standing, b: Standing): number =>
  SEVERITY[b.word] - SEVERITY[a.word] ||
  (a.reachedAt?.likely ?? Number.MAX_SAFE_INTEGER) - (b.reachedAt?.likely ?? Number.MAX_SAFE_INTEGER) ||
  a.name.localeCompare(b.name);
