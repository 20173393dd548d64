/** A lamp's light over its lit hours: share = start · exp(-rate · hours). */
export type Fading = { readonly start: number; readonly ratePerHour: number };

/** No life beyond this many times the hours observed is claimed: the limit of the lamp makers' own projections (TM-21). */
export const MOST_TIMES_OBSERVED = 6;

/** Least squares of the logarithm of the light on lit hours. Null where fewer than two different hours were seen. */
export function fitFading(hours: readonly number[], shares: readonly number[]): Fading | null {
  const n = Math.min(hours.length, shares.length);
  const logs = shares.slice(0, n).map(Math.log);
  const x = hours.slice(0, n);
  const meanX = x.reduce((sum, one) => sum + one, 0) / n;
  const meanY = logs.reduce((sum, one) => sum + one, 0) / n;
  let both = 0;
  let square = 0;
  for (let index = 0; index < n; index += 1) {
    both += ((x[index] ?? 0) - meanX) * ((logs[index] ?? 0) - meanY);
    square += ((x[index] ?? 0) - meanX) ** 2;
  }
  if (!(square > 0)) return null;
  const slope = both / square;
  return { start: Math.exp(meanY - slope * meanX), ratePerHour: -slope };
}

export const shareAfter = ({ start, ratePerHour }: Fading, hours: number): number =>
  start * Math.exp(-ratePerHour * hours);

/** Lit hours after which so much of the light is left; infinite where it does not fade. */
export const hoursTo = ({ start, ratePerHour }: Fading, share: number): number =>
  ratePerHour > 0 ? Math.max(0, Math.log(start / share) / ratePerHour) : Number.POSITIVE_INFINITY;

/** The same as may be claimed: never further ahead than six times what was observed. */
export const claimedHours = (hours: number, observedHours: number): number =>
  Math.min(hours, MOST_TIMES_OBSERVED * observedHours);
