// The normal distribution far out in its tails, as first-passage times need it.

/** Continued fraction for erfcx far out, series near zero: both to the last digits of a double. */
const NEAR = 2;
const TERMS = 120;

/** exp(x²)·erfc(x) for x ≥ 0: does not fall to zero where erfc does. */
function scaledErfc(x: number): number {
  if (x < NEAR) return Math.exp(x * x) * (1 - erfSeries(x));
  // Lentz is not needed: evaluated from the far end, the fraction x + 1/2/(x + 1/(x + 3/2/(x + …))) settles fast.
  let tail = x;
  for (let term = TERMS; term > 0; term -= 1) tail = x + term / 2 / tail;
  return 1 / (Math.sqrt(Math.PI) * tail);
}

/** 2/√π · Σ (-1)ⁿ x^(2n+1) / (n! (2n+1)), in the form without alternating signs. */
function erfSeries(x: number): number {
  let term = x;
  let sum = x;
  for (let n = 1; Math.abs(term) > 1e-17 * Math.abs(sum) && n < 200; n += 1) {
    term *= (2 * x * x) / (2 * n + 1);
    sum += term;
  }
  return (2 / Math.sqrt(Math.PI)) * Math.exp(-x * x) * sum;
}

/** Share of a standard normal below `z`. */
export function normalBelow(z: number): number {
  const x = Math.abs(z) / Math.SQRT2;
  const beyond = 0.5 * Math.exp(-x * x) * scaledErfc(x);
  return z < 0 ? beyond : 1 - beyond;
}

/** exp(factor) times the share of a standard normal below `z`, also where the first overflows and the second vanishes. */
export function scaledNormalBelow(z: number, factor: number): number {
  if (z >= 0) return Math.exp(factor) * normalBelow(z);
  const x = -z / Math.SQRT2;
  return 0.5 * Math.exp(factor - x * x) * scaledErfc(x);
}
