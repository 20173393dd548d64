import { didYouMean, listWords, problem } from '../errors/index.ts';
import type { Part, PartLife } from '../model/index.ts';
import { DAY_MS } from '../units/index.ts';
import { type FitInput, fitPart } from './lives.ts';
import type { SpareFitted } from './types.ts';

export type FitSpareInput = FitInput & {
  /** Which of the part's spares goes in. */
  readonly spare: string;
  /** It is new or was overhauled: its own count begins at zero. */
  readonly asNew?: boolean;
  /** All lives of the part so far, oldest first. */
  readonly lives: readonly PartLife[];
};

export type SpareFittedResult = {
  readonly ended: PartLife | null;
  readonly life: PartLife;
  readonly entry: SpareFitted;
};

/** Which spare a life is of; null for a part without rotable spares. */
export const spareOf = (part: Part, life: PartLife | null): string | null =>
  life === null ? null : (life.spare ?? part.spares?.[0] ?? null);

/** What a spare had when it was last taken out; nothing for one that never was in. */
export const carriedBy = (
  part: Part,
  spare: string,
  lives: readonly PartLife[],
): NonNullable<PartLife['usageAtRemoval']> => {
  const last = lives.findLast((life) => life.removedAt !== undefined && spareOf(part, life) === spare);
  if (last === undefined) return {};
  // Its age is the time it was in: on the shelf it does not wear. Kept also where no limit asks for it.
  const before = last.carried?.days;
  const days = ((last.removedAt ?? last.fittedAt) - last.fittedAt) / DAY_MS;
  const age = { low: days + (before?.low ?? 0), best: days + (before?.best ?? 0), high: days + (before?.high ?? 0) };
  return { days: age, ...last.usageAtRemoval };
};

/**
 * A spare takes its turn. The one that comes out keeps what it has; the one that goes in resumes where it was, unless it
 * is as new.
 */
export const fitSpare = (input: FitSpareInput): SpareFittedResult => {
  const { part, spare, present, lives, asNew = false } = input;
  const known = part.spares ?? [];
  if (known.length === 0) throw problem('SW-REC-007', { part: part.name });
  if (!known.includes(spare)) {
    const hint = didYouMean(spare, known, 'Name one of these, or add it to `spares` in the configuration.');
    throw problem('SW-REC-008', { part: part.name, found: spare, known: listWords(known), hint });
  }
  const out = spareOf(part, present);
  if (out === spare && !asNew) throw problem('SW-REC-009', { part: part.name, found: spare });
  const fitted = fitPart(input);
  const carried = asNew ? {} : carriedBy(part, spare, lives);
  const { usageAtRemoval, baseline, ...entry } = fitted.entry;
  return {
    ended: fitted.ended,
    life: { ...fitted.life, spare, ...(Object.keys(carried).length === 0 ? {} : { carried }) },
    entry: { ...entry, kind: 'spare-fitted', spare, carried, removed: out, usageAtRemoval, baseline },
  };
};
