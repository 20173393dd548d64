import { normalBelow, scaledNormalBelow } from './normal.ts';

/** A signal that drifts to its limit while it wanders: all per day and in the signal's own unit. */
export type Drift = {
  /** From where it is to the limit; positive. */
  readonly distance: number;
  /** Mean way towards the limit a day; positive. */
  readonly perDay: number;
  /** Standard deviation of what it wanders in a day; positive. */
  readonly wander: number;
};

/**
 * When a drifting, wandering signal first reaches its limit, in days: the inverse Gaussian distribution with mean
 * distance / drift and shape (distance / wander)². Valid where the drift leads to the limit; one that leads away may never
 * reach it.
 */
export function firstPassage({ distance, perDay, wander }: Drift): {
  readonly meanDays: number;
  readonly varianceDays: number;
} {
  const meanDays = distance / perDay;
  return { meanDays, varianceDays: (distance * wander * wander) / perDay ** 3 };
}

/** Probability that the limit is reached within `days`. */
export function passedWithin({ distance, perDay, wander }: Drift, days: number): number {
  if (days <= 0) return distance <= 0 ? 1 : 0;
  const root = wander * Math.sqrt(days);
  const direct = normalBelow((perDay * days - distance) / root);
  const returned = scaledNormalBelow(-(perDay * days + distance) / root, (2 * perDay * distance) / (wander * wander));
  return Math.min(1, direct + returned);
}

const HALVINGS = 200;

/** Days within which the limit is reached with this probability. */
export function passageQuantile(drift: Drift, probability: number): number {
  if (drift.distance <= 0) return 0;
  let high = firstPassage(drift).meanDays;
  while (passedWithin(drift, high) < probability) high *= 2;
  let low = 0;
  for (let step = 0; step < HALVINGS && high - low > 1e-13 * high; step += 1) {
    const middle = (low + high) / 2;
    if (passedWithin(drift, middle) < probability) low = middle;
    else high = middle;
  }
  return (low + high) / 2;
}
