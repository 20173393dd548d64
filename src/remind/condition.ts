import type { Finding } from '../condition/index.ts';
import type { Foreseen } from '../forecast/index.ts';
import type { Part } from '../model/index.ts';
import type { StandingWord } from './types.ts';

/** A finding with the dates at which it comes to its limit, where a trend leads there. */
export type DatedFinding = Finding & { readonly foreseen?: Foreseen | null };

/** What a finding says of the part's standing; null where it is only a suspicion. */
export type FoundWord = Extract<StandingWord, 'due' | 'near'> | null;

/** From this share of its limit a condition is near it. (common practice, no source) */
const NEAR_SHARE = 0.7;

/**
 * A finding brings a part forward, never back: what usage and age say stands beside it, and the worse word counts. Due is
 * what has reached its own limit, or is there for certain; a part that guards against harm is due when it is only likely.
 */
export function foundWord(part: Pick<Part, 'safety'>, { sure, ofLimit }: Pick<Finding, 'sure' | 'ofLimit'>): FoundWord {
  if (sure === 'suspected') return null;
  const share = ofLimit ?? (sure === 'certain' || part.safety ? 1 : NEAR_SHARE);
  if (share >= 1) return 'due';
  return share >= NEAR_SHARE ? 'near' : null;
}

/** The most pressing finding first; those that are only suspected are left out. */
export function pressing(
  part: Part,
  findings: readonly DatedFinding[],
): readonly (DatedFinding & { readonly word: FoundWord })[] {
  return findings
    .map((finding) => ({ ...finding, word: foundWord(part, finding) }))
    .filter(({ word }) => word !== null)
    .sort((a, b) => Number(b.word === 'due') - Number(a.word === 'due') || a.since - b.since);
}

/** The first of them to come to its limit; null where none has a date. */
export function firstForeseen(findings: readonly DatedFinding[]): Foreseen | null {
  const dated = findings.flatMap(({ foreseen }) => foreseen ?? []);
  return dated.sort((a, b) => a.reach.likely - b.reach.likely)[0] ?? null;
}
