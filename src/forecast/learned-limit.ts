import { fitWeibull, type Life } from './survival.ts';

/** Of the parts of a kind, this share should outlast the limit. (common practice, no source) */
export const OUTLASTING = 0.9;
/** Fewer that were found worn out show no length of life … */
export const LEAST_WORN = 3;
/** … and a longer limit rests on more lives than a shorter one: what is learned wrong costs more there. */
export const LEAST_LIVES_TO_LENGTHEN = 5;
/** One step does not go further than this from the present limit. (common practice, no source) */
export const LEAST_FACTOR = 0.5;
export const MOST_FACTOR = 1.5;
/** Closer than this to the present limit is not worth a question. */
const WORTH = 0.05;

export type LearnedLimit = {
  /** What is proposed; null = the limit stays, for the reason given. */
  readonly amount: number | null;
  readonly lives: number;
  readonly worn: number;
  readonly why: 'shorter' | 'longer' | 'too-few' | 'too-few-to-lengthen' | 'as-it-is' | 'safety';
  /** What nine of ten like these last, before any bounds; null where nothing could be learned. */
  readonly learned: number | null;
};

/**
 * What the tank's own past parts say of a limit. It is a proposal: only the keeper's consent puts it in force. A safety
 * part's limit may get shorter, never longer.
 */
export function learnedLimit(lives: readonly Life[], limit: number, isSafety: boolean): LearnedLimit {
  const worn = lives.filter((life) => life.worn).length;
  const counts = { lives: lives.length, worn };
  const fitted = worn < LEAST_WORN ? null : (fitWeibull(lives) ?? sameFor(lives));
  if (fitted === null) return { ...counts, amount: null, why: 'too-few', learned: null };
  const learned = fitted.scale * (-Math.log(OUTLASTING)) ** (1 / fitted.shape);
  const amount = Math.min(MOST_FACTOR * limit, Math.max(LEAST_FACTOR * limit, learned));
  if (Math.abs(amount / limit - 1) < WORTH) return { ...counts, amount: null, why: 'as-it-is', learned };
  if (amount < limit) return { ...counts, amount, why: 'shorter', learned };
  if (isSafety) return { ...counts, amount: null, why: 'safety', learned };
  if (lives.length < LEAST_LIVES_TO_LENGTHEN) return { ...counts, amount: null, why: 'too-few-to-lengthen', learned };
  return { ...counts, amount, why: 'longer', learned };
}

/** All were found worn out at the very same amount: that amount. */
function sameFor(lives: readonly Life[]): { readonly shape: number; readonly scale: number } | null {
  const worn = lives.find((life) => life.worn && life.used > 0);
  return worn === undefined ? null : { shape: 100, scale: worn.used };
}
